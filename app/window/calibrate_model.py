"""Holds the chart that is being made: changes it, judges it, saves and restores it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoCommand

from app.desk_outlines import Redrawn
from app.tasks.calibrate_chart import Calibration, StandardsPhoto
from app.tasks.chart_draft import ChartDraft, DraftFacts, DraftTube
from app.tasks.chart_quality import ChartQuality, judge_chart
from app.tasks.draft_file import forget_draft, load_draft, save_draft
from app.tasks.judge_draft import judge_draft
from app.tasks.step import Step, Task
from app.window.calibrate_folder import draft_folder
from app.window.calibrate_looks import StandardsLooks
from app.window.last_wish import LastWish
from app.window.page import Tools
from calibration.chart import Chart
from colorcore.errors import TintwellError

SOON_MS = 150  # typing in a row makes one judgement
SAVE_MS = 600
PLACES = 10_000  # more than the kinds of moving the outlines of one photo
PREVIEW = "0" * 32


class _DraftEdit(QUndoCommand):
    """One change of the draft; neighbors of one kind become one."""

    def __init__(
        self, model: "CalibrateModel", before: ChartDraft, after: ChartDraft, text: str, kind: int
    ) -> None:
        super().__init__(text)
        self.model, self.before, self.after, self.kind = model, before, after, kind

    def id(self) -> int:
        return self.kind

    def mergeWith(self, other: QUndoCommand) -> bool:  # noqa: N802 - Qt's name
        if not isinstance(other, _DraftEdit) or self.kind < 0:
            return False
        self.after = other.after
        return True

    def undo(self) -> None:
        self.model._set(self.before)

    def redo(self) -> None:
        self.model._set(self.after)


class CalibrateModel(QObject):
    """The draft, what was seen in its photos, and how good its chart is.

    Signals
    -------
    changed()
        The draft or what was seen in its photos.
    judged()
        The chart of the draft was judged anew.
    made(Chart)
        The chart was made.
    """

    changed = Signal()
    judged = Signal()
    made = Signal(object)

    def __init__(self, tools: Tools, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self.draft = ChartDraft()
        self.looks = StandardsLooks(tools, lambda: self.draft, self)
        self.quality: ChartQuality | None = None
        self.trouble: TintwellError | None = None
        self.temperature_c = 25.0
        self._closed = False
        self._judge_timer = QTimer(self, singleShot=True, interval=SOON_MS)
        self._judge_timer.timeout.connect(self._judge)
        self._save_timer = QTimer(self, singleShot=True, interval=SAVE_MS)
        self._save_timer.timeout.connect(self.save)
        self.looks.came.connect(self._take_photo)
        self.looks.ended.connect(self._changed)
        self._judgement = LastWish(tools.bench, self)
        self._judgement.came.connect(self._take_judgement)

    def tell(self, text: str) -> None:
        """Say something in the status bar."""
        self._tools.messages.tell(text)

    def tell_error(self, error: TintwellError) -> None:
        """Say in the status bar why something was not taken."""
        self.tell(f"{error.what_happened} {error.what_to_do}")

    # -- the draft ----------------------------------------------------------------------------

    def edit(self, draft: ChartDraft, text: str, *, kind: int = -1) -> None:
        """Change the draft so that it can be undone; neighbors of one kind >= 0 become one."""
        if draft != self.draft:
            self._tools.model.undo_stack.push(_DraftEdit(self, self.draft, draft, text, kind))

    def say_tubes(self, tubes: Iterable[DraftTube], text: str) -> None:
        """Say something else of tubes."""
        self.edit(self.draft.with_tubes(tubes), text)

    def say_facts(self, facts: DraftFacts) -> None:
        """Say something else of the chart."""
        self.edit(replace(self.draft, facts=facts), "change what is said of the chart")

    def redraw(self, path: Path, drawn: Redrawn, text: str, kind: int) -> None:
        """Draw something else over a photo; `kind` is that of one outline of the photo."""
        if kind >= 0:
            kind += PLACES * self.draft.photos.index(path)
        self.looks.will_draw(path)
        self.edit(self.draft.redrawn(path, drawn), text, kind=kind)

    def _set(self, draft: ChartDraft) -> None:
        self.draft = draft
        self.looks.go_on()
        for photo in self.looks.fresh.values():
            self.draft = self.draft.renumbered(photo)
        self._changed()

    def _changed(self) -> None:
        if self._closed:
            return
        self.changed.emit()
        self._judge_timer.start()
        self._save_timer.start()

    # -- photos -------------------------------------------------------------------------------

    def add_photos(self, paths: Iterable[Path]) -> None:
        """Add photos; they are looked at on the work bench."""
        self.edit(self.draft.with_photos(path.resolve() for path in paths), "add photos")

    def look_again(self) -> None:
        """Look again at the photos that were not looked at, or could not be used."""
        self.looks.again()
        self.changed.emit()

    def _take_photo(self, path: Path) -> None:
        photo = self.looks.fresh.get(path)
        if photo is not None:
            self.draft = self.draft.renumbered(photo)
        self._changed()

    # -- judging and making -------------------------------------------------------------------

    @property
    def is_judging(self) -> bool:
        """Whether a judgement is on its way."""
        return (
            self._judge_timer.isActive() or self._judgement.is_waiting or bool(self.looks.looking)
        )

    def _judge(self) -> None:
        if not self.looks.is_renewing:  # else what an outline holds now is known in a moment
            self._judgement.wish(_judged, self.draft, self.looks.fresh)

    def _take_judgement(self, judged: ChartQuality | TintwellError) -> None:
        self.quality = judged if isinstance(judged, ChartQuality) else None
        self.trouble = judged if isinstance(judged, TintwellError) else None
        self.judged.emit()

    def make(self) -> None:
        """Make the chart for good."""
        self._tools.bench.start(
            "Making the chart",
            _making(self.draft, self.looks.fresh),
            on_finished=self.made.emit,
            on_failed=self._tools.messages.complain,
        )

    # -- keeping ------------------------------------------------------------------------------

    def save(self) -> None:
        """Save the draft, so that it survives a crash."""
        self._save_timer.stop()
        if self.draft.is_blank:
            forget_draft(draft_folder())
            return
        try:
            save_draft(self.draft, draft_folder())
        except TintwellError as error:
            self._tools.messages.tell(f"The draft was not saved. {error.what_happened}")

    def restore(self) -> None:
        """Take up the draft that was saved.

        Raises
        ------
        TintwellError
            If its files are damaged.
        """
        draft = load_draft(draft_folder())
        if draft is not None:
            self._set(draft)

    def start_anew(self) -> None:
        """Forget the draft and begin another one."""
        self.looks.forget()
        self._tools.model.undo_stack.clear()
        self._set(ChartDraft())
        self.save()

    def close(self) -> None:
        """Save for the last time and begin nothing more."""
        if not self._closed and self._save_timer.isActive():
            self.save()
        self._closed = True
        self.looks.close()
        self._judge_timer.stop()


def _judged(draft: ChartDraft, seen: Mapping[Path, StandardsPhoto]) -> ChartQuality | TintwellError:
    try:
        made = judge_draft(draft, seen, PREVIEW, datetime.now().astimezone())
        return judge_chart(made.chart, made.left_out)
    except TintwellError as error:
        return error


def _making(draft: ChartDraft, seen: Mapping[Path, StandardsPhoto]) -> Task[Chart]:
    yield Step(done=0, total=1, note=draft.facts.name)
    made: Calibration = judge_draft(draft, seen, uuid4().hex, datetime.now().astimezone())
    return made.chart
