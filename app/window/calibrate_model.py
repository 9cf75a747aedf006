"""Holds the chart that is being made: looks at its photos, judges it, saves and restores it."""

from collections.abc import Iterable, Mapping
from concurrent.futures import Future
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from shutil import rmtree
from uuid import uuid4

from PySide6.QtCore import QObject, QStandardPaths, QTimer, Signal
from PySide6.QtGui import QUndoCommand

from app.errors import OrderError
from app.tasks.calibrate_chart import Calibration, StandardsPhoto
from app.tasks.chart_draft import ChartDraft, DraftFacts, DraftTube, card_reflectance
from app.tasks.chart_quality import ChartQuality, judge_chart
from app.tasks.draft_file import forget_draft, load_draft, save_draft
from app.tasks.judge_draft import UnusablePhoto, judge_draft, look_at_all
from app.tasks.step import Step, Task
from app.window.page import Tools
from calibration.chart import Chart
from colorcore.errors import TintwellError

SOON_MS = 150  # typing in a row makes one judgement
SAVE_MS = 600
PREVIEW = "0" * 32


def draft_folder() -> Path:
    """Return where a chart that is being made is kept."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    return Path(QStandardPaths.writableLocation(place)) / "chart-draft"


def set_draft_aside() -> None:
    """Make room for a new draft; the one that is there is kept beside it, in place of an older."""
    aside = draft_folder().with_name("chart-draft-before")
    if aside.exists():
        rmtree(aside)
    draft_folder().rename(aside)


class _DraftEdit(QUndoCommand):
    """One change of the draft; neighbors of one kind become one."""

    def __init__(
        self, model: "CalibrateModel", before: ChartDraft, after: ChartDraft, text: str, kind: int
    ) -> None:
        super().__init__(text)
        self.model, self.before, self.after, self.kind = model, before, after, kind

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
    _photo_seen = Signal(str, object)
    _judgement = Signal(int, object)

    def __init__(self, tools: Tools, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self.draft = ChartDraft()
        self.seen: dict[Path, StandardsPhoto] = {}
        self.unusable: dict[Path, TintwellError] = {}
        self.looking: set[Path] = set()
        self.quality: ChartQuality | None = None
        self.trouble: TintwellError | None = None
        self.temperature_c = 25.0
        self._card = self.draft.facts.card
        self._turn = self._judged_turn = 0
        self._closed = False
        self._judge_timer = QTimer(self, singleShot=True, interval=SOON_MS)
        self._judge_timer.timeout.connect(self._judge)
        self._save_timer = QTimer(self, singleShot=True, interval=SAVE_MS)
        self._save_timer.timeout.connect(self.save)
        self._photo_seen.connect(self._take_photo)
        self._judgement.connect(self._take_judgement)

    def tell(self, text: str) -> None:
        """Say something in the status bar."""
        self._tools.messages.tell(text)

    # -- the draft ----------------------------------------------------------------------------

    def edit(self, draft: ChartDraft, text: str) -> None:
        """Change the draft so that it can be undone."""
        if draft != self.draft:
            self._tools.model.undo_stack.push(_DraftEdit(self, self.draft, draft, text, -1))

    def say_tubes(self, tubes: Iterable[DraftTube], text: str) -> None:
        """Say something else of tubes."""
        self.edit(self.draft.with_tubes(tubes), text)

    def say_facts(self, facts: DraftFacts) -> None:
        """Say something else of the chart."""
        self.edit(replace(self.draft, facts=facts), "change what is said of the chart")

    def _set(self, draft: ChartDraft) -> None:
        self.draft = draft
        for photo in self.seen.values():
            self.draft = self.draft.renumbered(photo)
        if draft.facts.card != self._card:
            self._card = draft.facts.card
            self.seen.clear()
        self._look()
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
        self.unusable.clear()
        self._look()
        self.changed.emit()

    def _look(self) -> None:
        wanted = [
            path
            for path in self.draft.photos
            if path not in self.seen and path not in self.unusable and path not in self.looking
        ]
        try:
            reflectance = card_reflectance(self.draft.facts.card)
        except OrderError:
            return  # the form says what is wrong with it
        if not wanted or self.draft.kind == "printed" or self._closed:
            return
        self.looking.update(wanted)
        card = self._card
        self._tools.bench.start(
            "Looking at known tubes",
            look_at_all(wanted, reflectance, lambda seen: self._photo_seen.emit(card, seen)),
            on_finished=self._looked,
            on_failed=self._failed,
            on_stopped=self._stopped,
        )

    def _take_photo(self, card: str, seen: StandardsPhoto | UnusablePhoto) -> None:
        self.looking.discard(seen.path)
        if card != self._card:
            return  # measured on another reflectance; it is looked at again
        if isinstance(seen, UnusablePhoto):
            self.unusable[seen.path] = seen.error
        else:
            self.seen[seen.path] = seen
            self.draft = self.draft.renumbered(seen)
        self._changed()

    def _looked(self, _usable: int) -> None:
        self.looking.clear()
        self._look()
        self.changed.emit()

    def _failed(self, error: TintwellError) -> None:
        self._stopped()
        self._tools.messages.complain(error)

    def _stopped(self) -> None:
        stopped = TintwellError(
            "Looking at this photo was stopped.", what_to_do="Choose Look again."
        )
        self.unusable.update(dict.fromkeys(self.looking, stopped))
        self.looking.clear()
        self.changed.emit()

    # -- judging and making -------------------------------------------------------------------

    @property
    def is_judging(self) -> bool:
        """Whether a judgement is on its way."""
        return self._judge_timer.isActive() or self._turn != self._judged_turn or bool(self.looking)

    def _judge(self) -> None:
        if self._closed:
            return
        self._turn += 1
        turn, draft, seen = self._turn, self.draft, dict(self.seen)
        future = self._tools.bench.submit(_judged, draft, seen)
        future.add_done_callback(lambda done: self._bring(done, turn))

    def _bring(self, done: "Future[ChartQuality | TintwellError]", turn: int) -> None:
        """Run on a thread of the pool: hand over by signal."""
        if not done.cancelled() and not self._closed:
            self._judgement.emit(turn, done.result())

    def _take_judgement(self, turn: int, judged: ChartQuality | TintwellError) -> None:
        if turn != self._turn:
            return
        self._judged_turn = turn
        self.quality = judged if isinstance(judged, ChartQuality) else None
        self.trouble = judged if isinstance(judged, TintwellError) else None
        self.judged.emit()

    def make(self) -> None:
        """Make the chart for good."""
        self._tools.bench.start(
            "Making the chart",
            _making(self.draft, dict(self.seen)),
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
        self.seen.clear()
        self.unusable.clear()
        self._tools.model.undo_stack.clear()
        self._set(ChartDraft())
        self.save()

    def close(self) -> None:
        """Save for the last time and begin nothing more."""
        if not self._closed and self._save_timer.isActive():
            self.save()
        self._closed = True
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
