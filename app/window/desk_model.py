"""Holds the desk for the window and says what changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import uuid4

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from app.desk import Desk, DeskChart, OpenSurvey, PhotoEdits

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import timedelta
    from pathlib import Path

    from app.bench_clock import BenchClock
    from app.desk import DeskPhoto
    from app.records.record_book import RecordBook
    from app.tasks.read_photo import ReadOrder
    from app.tube_reading import PhotoLook
    from calibration.chart import Chart
    from colorcore.measurement import Triple

PLAIN_CARD: Triple = (0.18, 0.18, 0.18)


class _Edit(QUndoCommand):
    """One change of what was said of some photos; neighbors of one kind become one."""

    def __init__(
        self,
        model: DeskModel,
        before: dict[Path, PhotoEdits],
        after: dict[Path, PhotoEdits],
        text: str,
        kind: int,
    ) -> None:
        super().__init__(text)
        self.model, self.before, self.after, self.kind = model, before, after, kind

    def id(self) -> int:
        return self.kind

    def mergeWith(self, other: QUndoCommand) -> bool:  # noqa: N802 - Qt's name
        if not isinstance(other, _Edit) or self.kind < 0 or set(other.after) != set(self.after):
            return False
        self.after = other.after
        return True

    def undo(self) -> None:
        self.model._apply(self.before)

    def redo(self) -> None:
        self.model._apply(self.after)


class DeskModel(QObject):
    """The desk, with a signal for every kind of change. Belongs to the screen's thread.

    Signals
    -------
    photos_changed()
        Photos came or went.
    photo_changed(Path)
        A photo was looked at, named, kept, or its outlines were moved.
    look_wanted(Path)
        A photo must be looked at again: what was said of it bears on what is read.
    chosen_changed()
        Another photo or tube is chosen.
    charts_changed()
        Charts came, went, or are used or not.
    survey_changed()
        A survey was opened or closed, or something but readings changed in it.
    readings_changed()
        Readings were kept, corrected or withdrawn.
    clocks_changed()
        A clock was started, stopped or taken away.
    clock_set(str, timedelta)
        A photo of the window's clock told how far a camera's clock is ahead.
    """

    photos_changed = Signal()
    photo_changed = Signal(object)
    look_wanted = Signal(object)
    chosen_changed = Signal()
    charts_changed = Signal()
    survey_changed = Signal()
    readings_changed = Signal()
    clocks_changed = Signal()
    clock_set = Signal(str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = Desk()
        self._book: RecordBook | None = None
        self._unread: set[Path] = set()
        self.undo_stack = QUndoStack(self)
        self.look_wanted.connect(self._unread.add)

    @property
    def desk(self) -> Desk:
        """The present state."""
        return self._desk

    @property
    def book(self) -> RecordBook | None:
        """The open survey's book, for the screen's thread alone."""
        return self._book

    def lay_out(self, desk: Desk) -> None:
        """Lay out a desk that was remembered, beside the survey that is open."""
        self._desk = replace(desk, survey=self._desk.survey, person=self._desk.person)
        self.undo_stack.clear()
        for signal in (self.photos_changed, self.charts_changed, self.chosen_changed):
            signal.emit()
        self.clocks_changed.emit()
        self.look_again()

    # -- photos -----------------------------------------------------------------------------

    def add_photos(self, paths: Iterable[Path]) -> tuple[Path, ...]:
        """Lay photos open; returns those that are new."""
        before = {photo.path for photo in self._desk.photos}
        was_chosen = self._desk.chosen
        self._desk = self._desk.with_photos(path.resolve() for path in paths)
        new = tuple(photo.path for photo in self._desk.photos if photo.path not in before)
        if new:
            self.photos_changed.emit()
            for path in new:
                self.look_wanted.emit(path)
        if self._desk.chosen != was_chosen:
            self.chosen_changed.emit()
        return new

    def remove_photos(self, paths: Sequence[Path]) -> None:
        """Take photos off the desk; their files and kept readings stay."""
        self._desk = self._desk.without_photos(paths)
        self.undo_stack.clear()
        self.photos_changed.emit()
        self.chosen_changed.emit()

    def choose(self, path: Path | None, tube: int | None = None) -> None:
        """Show a photo large, and one of its tubes; the first tube where none is named."""
        photo = None if path is None else self._desk.photo(path)
        if photo is not None and tube is None and photo.look is not None:
            tube = next((line.tube for line in photo.look.lines if line.tube is not None), None)
            if tube is None and photo.look.tubes:
                tube = 1
        if (path, tube) == (self._desk.chosen, self._desk.tube):
            return
        self._desk = replace(self._desk, chosen=path, tube=tube)
        self.chosen_changed.emit()

    def set_look(self, path: Path, look: PhotoLook) -> None:
        """Take in what was seen in a photo; one of the window's clock sets its camera's offset."""
        from app.tasks.judge_timing import timed

        if look.clock_shown is not None and look.taken_at is not None and look.camera is not None:
            ahead = look.taken_at.astimezone() - look.clock_shown
            self.set_offset(look.camera, ahead)
            self.clock_set.emit(look.camera, ahead)
        look = timed(look, self._desk)
        self._unread.discard(path)
        self._desk = self._desk.with_photo(path, lambda photo: replace(photo, look=look))
        self.photo_changed.emit(path)
        if path == self._desk.chosen:
            known = self._desk.tube is not None and self._desk.tube <= len(look.tubes)
            if not known:
                self._desk = replace(self._desk, tube=1 if look.tubes else None)
            self.chosen_changed.emit()

    def edit(self, changes: dict[Path, PhotoEdits], text: str, *, kind: int = -1) -> None:
        """Change what is said of photos, so that it can be undone.

        Parameters
        ----------
        changes : dict
            The new words, by photo.
        text : str
            What the menu calls it, such as "move outline".
        kind : int
            Changes of the same kind (>= 0) and photos in a row become one.
        """
        before = {
            photo.path: photo.edits
            for photo in self._desk.photos
            if photo.path in changes and photo.edits != changes[photo.path]
        }
        if before:
            after = {path: changes[path] for path in before}
            self.undo_stack.push(_Edit(self, before, after, text, kind))

    def _apply(self, changes: dict[Path, PhotoEdits]) -> None:
        changed = [
            replace(photo, edits=changes[photo.path])
            for photo in self._desk.photos
            if photo.path in changes
        ]
        self._desk = self._desk.with_changed(changed)
        for photo in changed:
            self.photo_changed.emit(photo.path)
            self.look_wanted.emit(photo.path)

    def look_again(self) -> None:
        """Look at every photo again: charts, card or person changed."""
        for photo in self._desk.photos:
            self.look_wanted.emit(photo.path)

    def is_read(self, path: Path) -> bool:
        """Whether what was seen in a photo already heeds all that was said of it."""
        return path not in self._unread

    def order_for(self, path: Path) -> ReadOrder:
        """Return what a photo is read with."""
        from app.tasks.read_photo import ReadOrder

        desk, photo = self._desk, self._desk.photo(path)
        edits = PhotoEdits() if photo is None else photo.edits
        key = str(path)
        return ReadOrder(
            charts=tuple((chart.name, chart.chart) for chart in desk.charts_in_use),
            entries={(key, tube): entry for tube, entry in edits.entries},
            known={key: edits.known} if edits.known else {},
            reflectance=desk.card_reflectance,
        )

    @property
    def card_reflectance(self) -> Triple:
        """Of the card, for colors that are shown without a chart."""
        charts = self._desk.charts_in_use
        return self._desk.card_reflectance or (
            charts[0].chart.card_reflectance if charts else PLAIN_CARD
        )

    def set_card_reflectance(self, reflectance: Triple | None) -> None:
        """Say what card lies in the photos; None: the chart's."""
        self._desk = replace(self._desk, card_reflectance=reflectance)
        self.look_again()

    def set_person(self, code: str) -> None:
        """Say who is at the desk."""
        self._desk = replace(self._desk, person=code)
        self.survey_changed.emit()

    # -- clocks -----------------------------------------------------------------------------

    def set_clocks(self, clocks: Iterable[BenchClock]) -> None:
        """Put these clocks on the desk in place of those that are there."""
        self._desk = replace(self._desk, clocks=tuple(clocks))
        self._judge_timing()
        self.clocks_changed.emit()

    def set_offset(self, camera: str, ahead: timedelta) -> None:
        """Note how far a camera's clock is ahead of this machine's."""
        offsets = dict(self._desk.offsets) | {camera: ahead}
        self._desk = replace(self._desk, offsets=tuple(sorted(offsets.items())))
        self._judge_timing()

    def _judge_timing(self) -> None:
        """Hold the photos that were read against the clocks again."""
        from app.tasks.judge_timing import timed

        for photo in self._desk.photos:
            if photo.look is None:
                continue
            look = timed(photo.look, self._desk)
            if look != photo.look:
                self._desk = self._desk.with_photo(
                    photo.path,
                    lambda item, look=look: replace(item, look=look),  # type: ignore[misc]
                )
                self.photo_changed.emit(photo.path)

    # -- charts -----------------------------------------------------------------------------

    def add_chart(self, chart: Chart, path: Path | None = None, *, in_use: bool = True) -> None:
        """Lay a chart open."""
        self._desk = self._desk.with_chart(DeskChart(chart=chart, path=path, in_use=in_use))
        self.charts_changed.emit()
        if in_use:
            self.look_again()

    def remove_chart(self, chart_id: str) -> None:
        """Take a chart off the desk; its file stays."""
        self._desk = self._desk.without_chart(chart_id)
        self.charts_changed.emit()
        self.look_again()

    def use_charts(self, chart_ids: Sequence[str]) -> None:
        """Read against these charts and no others."""
        self._desk = self._desk.using_charts(chart_ids)
        self.charts_changed.emit()
        self.look_again()

    # -- survey -----------------------------------------------------------------------------

    def new_survey(self, folder: Path) -> None:
        """Make an empty survey and open it.

        Raises
        ------
        RecordsError
            If the folder is not empty or cannot be written.
        """
        from app.records.record_book import create_survey

        create_survey(folder, id=uuid4().hex, now=datetime.now().astimezone()).close()
        self.open_survey(folder)

    def open_survey(self, folder: Path) -> None:
        """Open a survey; its charts are laid on the desk.

        Raises
        ------
        RecordsError
            If it cannot be opened.
        """
        from app.records.record_book import open_survey

        if self._book is not None and self._book.folder.resolve() == folder.resolve():
            self.refresh_survey()
            return
        book = open_survey(folder)
        self.close_survey()
        self._book = book
        self.refresh_survey()
        assert self._desk.survey is not None
        for chart in self._desk.survey.survey.charts:
            if all(item.chart.id != chart.id for item in self._desk.charts):
                self._desk = self._desk.with_chart(DeskChart(chart=chart))
        self.charts_changed.emit()
        self.readings_changed.emit()
        self.look_again()

    def close_survey(self) -> None:
        """Close the survey; photos and charts stay on the desk."""
        if self._book is None:
            return
        self._book.close()
        self._book = None
        self._desk = replace(
            self._desk,
            survey=None,
            photos=tuple(replace(photo, kept=()) for photo in self._desk.photos),
        )
        self.survey_changed.emit()
        self.readings_changed.emit()

    def refresh_survey(self) -> None:
        """Read sites, samples and the like again after something was written."""
        if self._book is None:
            return
        opened = OpenSurvey(
            folder=self._book.folder,
            survey=self._book.survey(),
            read_only_because=self._book.read_only_because,
            count=self._book.count(),
        )
        self._desk = replace(self._desk, survey=opened)
        self.survey_changed.emit()

    def mark_kept(self, kept: dict[Path, tuple[tuple[int, int], ...]]) -> None:
        """Note which tubes were kept under which number."""
        self._mark(
            [
                replace(photo, kept=tuple(dict((*photo.kept, *kept[photo.path])).items()))
                for photo in self._desk.photos
                if photo.path in kept
            ]
        )

    def withdraw_kept(self, path: Path, tube: int, reason: str) -> None:
        """Say in the survey that the kept reading of a tube no longer stands.

        Raises
        ------
        RecordsError
            If the survey cannot take it.
        """
        photo = self._desk.photo(path)
        if photo is None or self._book is None:
            return
        number = dict(photo.kept)[tube]
        self._book.withdraw(
            number, reason=reason, person=self._desk.person, now=datetime.now().astimezone()
        )
        self._mark([replace(photo, kept=tuple(pair for pair in photo.kept if pair[0] != tube))])

    def _mark(self, changed: Sequence[DeskPhoto]) -> None:
        self._desk = self._desk.with_changed(changed)
        for photo in changed:
            self.photo_changed.emit(photo.path)
        self.refresh_survey()
        self.readings_changed.emit()
