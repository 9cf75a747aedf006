"""Looks after the open survey: checked, backed up, restored, joined with another, people named."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.window.hand_over import no_survey
from app.window.page import Tools, make_action
from app.wording import say_count
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QAction

    from app.desk import OpenSurvey
    from app.records.health import Health
    from app.records.merging import Merged
    from app.records.record_book import RecordBook
    from app.tasks.step import Task

SHOWN_FAULTS = 5


class SurveyCare(QObject):
    """What is done to a survey as a whole; long work goes to the work bench."""

    def __init__(self, tools: Tools, window: QWidget) -> None:
        super().__init__(window)
        self._tools, self._window = tools, window
        self.check_action = make_action(self, "Check the sur&vey", self.check)
        self.backup_action = make_action(self, "&Back up the survey…", self.ask_backup)
        self.restore_action = make_action(self, "Re&store a backup…", self.ask_restore)
        self.merge_action = make_action(self, "&Join another survey to this one…", self.ask_merge)
        self.people_action = make_action(self, "Name &people…", self.ask_people)
        self.suspect_action = make_action(
            self, "C&ontamination is suspected everywhere", self.mark_suspicion, checkable=True,
            tip="No amounts are advised for a survey of suspected ground",
        )  # fmt: skip

    def actions(self) -> Sequence[QAction | None]:
        """Return what stands in the menu."""
        return (
            self.suspect_action, self.people_action, None, self.merge_action, self.check_action,
            self.backup_action, self.restore_action,
        )  # fmt: skip

    def allow(self, opened: OpenSurvey | None) -> None:
        """Offer what can be done to a survey."""
        writable = opened is not None and opened.read_only_because is None
        for action in (self.check_action, self.backup_action):
            action.setEnabled(opened is not None)
        for action in (self.suspect_action, self.people_action, self.merge_action):
            action.setEnabled(writable)
        suspected = opened is not None and opened.survey.suspected_contamination
        self.suspect_action.setChecked(bool(suspected))

    # -- one after another ------------------------------------------------------------------

    def check(self) -> None:
        """Compare database and photos with what was kept."""
        from app.tasks.survey_care import check_survey

        self._work("Checking the survey", check_survey, self._tell_health)

    def _tell_health(self, health: Health) -> None:
        faults = [*health.database, *map(str, health.photos)]
        if faults:
            more = len(faults) - SHOWN_FAULTS
            listed = "; ".join(faults[:SHOWN_FAULTS]) + (f"; and {more} more" if more > 0 else "")
            self._tools.messages.complain(
                TintwellError(
                    f"Found {say_count(len(faults), 'fault')}: {listed}.",
                    what_to_do="Restore a backup, or put the named photos back.",
                )
            )
        else:
            self._tools.messages.tell("Database and photos are sound.")

    def ask_backup(self) -> None:
        """Let the user choose where a copy of the survey goes."""
        opened = self._tools.model.desk.survey
        if opened is None:
            return
        target = self._tools.messages.ask_new_file(
            "Back up the survey", "backup", f"{opened.survey.name} {datetime.now():%Y-%m-%d}",
            "Folder (*)",
        )  # fmt: skip
        if target is not None:
            self.back_up(target)

    def back_up(self, target: Path) -> None:
        """Copy the survey, with its plan, to a new folder."""
        from app.tasks.survey_care import back_up_survey

        self._work("Backing up", lambda book: back_up_survey(book, target), self._tell_backup)

    def _tell_backup(self, faults: Sequence[object]) -> None:
        without = f" without {say_count(len(faults), 'damaged photo')}" if faults else ""
        self._tools.messages.tell(f"The survey was backed up{without}.")

    def ask_restore(self) -> None:
        """Let the user choose a backup, and the folder of the survey that is made of it."""
        messages = self._tools.messages
        backup = messages.ask_folder("Folder of the backup", "backup")
        if backup is None:
            return
        folder = messages.ask_new_file("Restore to", "survey", f"{backup.name} again", "Folder (*)")
        if folder is not None:
            self.restore(backup, folder)

    def restore(self, backup: Path, folder: Path) -> None:
        """Make a survey of a backup and open it."""
        from app.tasks.survey_care import restore_backup

        now, person = datetime.now().astimezone(), self._tools.model.desk.person
        self._tools.bench.start(
            "Restoring",
            restore_backup(backup, folder, person=person, now=now),
            on_finished=self._open,
            on_failed=self._tools.messages.complain,
        )

    def _open(self, folder: Path) -> None:
        try:
            self._tools.model.open_survey(folder)
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        self._tools.preferences.remember_survey(folder)
        self._tools.messages.tell(f"The survey was restored to {folder} and opened.")

    def ask_merge(self) -> None:
        """Let the user choose a survey whose readings are taken over."""
        other = self._tools.messages.ask_folder("Folder of the other survey", "survey")
        if other is not None:
            self.merge(other)

    def merge(self, other: Path) -> None:
        """Take over everything from another survey: all of it, or nothing."""
        from app.tasks.step import Step
        from app.tasks.survey_care import take_over

        now, person = datetime.now().astimezone(), self._tools.model.desk.person

        def work(book: RecordBook) -> Task[Merged]:
            yield Step(done=0, total=1, note=other.name)
            return take_over(book, other, person=person, now=now)

        self._work("Joining surveys", work, self._tell_merged)

    def _tell_merged(self, merged: Merged) -> None:
        model = self._tools.model
        model.refresh_survey()
        model.readings_changed.emit()
        said = f"{say_count(merged.new, 'reading')} came over"
        said += f"; {merged.same} here already" if merged.same else ""
        self._tools.messages.tell(f"{said}.")

    # -- at once ----------------------------------------------------------------------------

    def ask_people(self) -> None:
        """Let the user give names to codes, or blank them."""
        from app.window.people_dialog import PeopleDialog

        if self._tools.model.book is not None:
            PeopleDialog(self._tools, self._window).open()

    def mark_suspicion(self) -> None:
        """Mark all ground of the survey as suspected, or take the mark away."""
        model, book = self._tools.model, self._tools.model.book
        if book is None:
            return
        try:
            book.suspect_contamination(
                self.suspect_action.isChecked(),
                person=model.desk.person,
                now=datetime.now().astimezone(),
            )
        except TintwellError as error:
            self._tools.messages.complain(error)
        model.refresh_survey()

    def _work(
        self, title: str, work: Callable[[RecordBook], Task[Any]], then: Callable[[Any], None]
    ) -> None:
        book = self._tools.model.book
        if book is None:
            self._tools.messages.complain(no_survey())
            return
        open_book = book.open_again

        def task() -> Task[Any]:
            with open_book() as other:
                return (yield from work(other))

        self._tools.bench.start(
            title, task(), on_finished=then, on_failed=self._tools.messages.complain
        )
