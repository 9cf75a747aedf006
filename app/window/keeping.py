"""Keeps the desk's readings in the open survey, and takes them back with a reason."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QInputDialog, QMessageBox, QWidget

from app.desk import DeskPhoto
from app.window.page import Tools
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.tasks.keep_photos import KeptPhotos


class Keeper(QObject):
    """Keeps and takes back.

    Signals
    -------
    asked(str)
        A survey is to be made ("survey") or opened ("open survey").
    """

    asked = Signal(str)

    def __init__(self, tools: Tools, parent: QWidget) -> None:
        super().__init__(parent)
        self._tools, self._window = tools, parent
        self._is_busy = False
        self._waiting: tuple[Path, ...] = ()
        tools.model.photo_changed.connect(self._go_on)

    def keep(self, photos: Sequence[DeskPhoto]) -> None:
        """Keep the readings of photos: accepted and doubtful ones that name a sample.

        A photo that has just been named or whose outlines were just moved is read first.
        """
        model, messages = self._tools.model, self._tools.messages
        self._waiting = ()
        if self._is_busy or not self._has_survey():
            return
        if any(not model.is_read(photo.path) for photo in photos):
            self._waiting = tuple(photo.path for photo in photos)
            messages.tell("The readings are kept as soon as these photos are read.")
            return
        looked = [photo for photo in photos if photo.look is not None and photo.look.lines]
        named = any(line.entry.sample for p in looked if p.look for line in p.look.lines)
        if not named:
            messages.complain(
                TintwellError(
                    "None of these tubes has a sample's name.",
                    what_to_do="Choose Name tubes, or write a name into the table under the photo.",
                )
            )
            return
        book = model.book
        assert book is not None
        from app.tasks.keep_photos import PhotoToKeep, keep_photos

        work = keep_photos(
            book.open_again,
            [
                PhotoToKeep(
                    path=photo.path,
                    lines=photo.look.lines,
                    order=model.order_for(photo.path),
                )
                for photo in looked
                if photo.look is not None
            ],
            person=model.desk.person,
            now=datetime.now().astimezone(),
        )
        self._is_busy = True
        self._tools.bench.start(
            "Keeping readings",
            work,
            on_finished=self._take,
            on_failed=self._fail,
            on_stopped=self._stop,
        )

    def _go_on(self) -> None:
        model = self._tools.model
        if self._waiting and all(model.is_read(path) for path in self._waiting):
            wanted = set(self._waiting)
            self.keep([photo for photo in model.desk.photos if photo.path in wanted])

    def take_back(self) -> None:
        """Ask why, then say in the survey that the chosen tube's reading no longer stands."""
        model, messages = self._tools.model, self._tools.messages
        photo, tube = model.desk.chosen_photo, model.desk.tube
        if photo is None or tube is None or tube not in dict(photo.kept):
            messages.tell("The reading of this tube is not kept.")
            return
        reason, said = QInputDialog.getText(
            self._window,
            "Take back kept reading",
            f"Reading {dict(photo.kept)[tube]} stays in the survey, marked as taken back.\nWhy?",
        )
        if not said:
            return
        try:
            model.withdraw_kept(photo.path, tube, reason)
        except TintwellError as error:
            messages.complain(error)
            return
        messages.tell("The reading was taken back; the survey says so with your reason.")

    def _has_survey(self) -> bool:
        """Tell whether a survey can take readings; offer to make or open one."""
        model = self._tools.model
        if model.desk.survey is None:
            self._offer_survey()
        survey = model.desk.survey
        if survey is not None and survey.read_only_because is not None:
            self._tools.messages.complain(
                TintwellError(
                    f"Nothing can be kept in this survey. {survey.read_only_because}",
                    what_to_do="Open another survey, or make a new one.",
                )
            )
            return False
        return survey is not None

    def _offer_survey(self) -> None:
        box = QMessageBox(self._window)
        box.setWindowTitle("Tintwell")
        box.setIcon(QMessageBox.Icon.Question)
        box.setText("No survey is open.")
        box.setInformativeText("Readings are kept in a survey: a folder with their photos.")
        new = box.addButton("New survey…", QMessageBox.ButtonRole.AcceptRole)
        old = box.addButton("Open survey…", QMessageBox.ButtonRole.AcceptRole)
        box.addButton(QMessageBox.StandardButton.Cancel)
        box.exec()
        if box.clickedButton() is new:
            self.asked.emit("survey")
        elif box.clickedButton() is old:
            self.asked.emit("open survey")

    def _take(self, kept: "KeptPhotos") -> None:
        from app.tasks.keep_photos import say_kept

        self._is_busy = False
        self._tools.model.mark_kept(kept.kept)
        self._tools.messages.tell(say_kept(kept))

    def _fail(self, error: TintwellError) -> None:
        self._is_busy = False
        self._tools.messages.complain(error)

    def _stop(self) -> None:
        self._is_busy = False
        self._tools.model.refresh_survey()
        self._tools.messages.tell("Stopped. What had been kept until then stays kept.")
