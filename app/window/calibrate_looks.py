"""Looks at the photos of a chart that is being made, and remembers what was seen in them."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.desk import AS_FOUND
from app.desk_outlines import shown_tubes
from app.errors import OrderError
from app.tasks.calibrate_chart import StandardsPhoto
from app.tasks.chart_draft import ChartDraft, card_reflectance
from app.tasks.judge_draft import UnusablePhoto, look_at_all
from app.window.page import Tools
from colorcore.errors import TintwellError


class StandardsLooks(QObject):
    """What was seen in the photos of the draft.

    Attributes
    ----------
    seen : dict of Path to StandardsPhoto
        Each photo as it was looked at last.
    unusable : dict of Path to TintwellError
        Why photos could not be looked at.
    looking : set of Path
        Photos that are being looked at.

    Signals
    -------
    came(Path)
        A photo was looked at.
    ended()
        No photo is being looked at any more.
    """

    came = Signal(object)
    ended = Signal()
    _photo_seen = Signal(str, object)

    def __init__(self, tools: Tools, draft: Callable[[], ChartDraft], parent: QObject) -> None:
        super().__init__(parent)
        self._tools, self._draft = tools, draft
        self.seen: dict[Path, StandardsPhoto] = {}
        self.unusable: dict[Path, TintwellError] = {}
        self.looking: set[Path] = set()
        self._found: dict[Path, StandardsPhoto] = {}  # before anything was drawn over them
        self._card = draft().facts.card
        self._closed = False
        self._photo_seen.connect(self._take)

    # -- what was seen ------------------------------------------------------------------------

    @property
    def fresh(self) -> dict[Path, StandardsPhoto]:
        """The photos that were looked at with all that is drawn over them."""
        draft = self._draft()
        return {path: photo for path, photo in self.seen.items() if photo.hand == draft.hand(path)}

    @property
    def is_renewing(self) -> bool:
        """Whether a photo is looked at again, because something was drawn over it."""
        return bool(self.looking & set(self.seen))

    def look(self, path: Path) -> StandardsPhoto | None:
        """Return what was seen in a photo, as far as known without what is drawn over it."""
        return self._found.get(path, self.seen.get(path))

    def count(self, path: Path) -> int:
        """Return how many tubes of a photo were found or drawn."""
        photo = self.look(path)
        return 0 if photo is None else len(shown_tubes(photo, self._draft().hand(path)))

    # -- looking ------------------------------------------------------------------------------

    def will_draw(self, path: Path) -> None:
        """Hear that something is about to be drawn over a photo."""
        self.unusable.pop(path, None)
        if self.seen[path].hand == AS_FOUND:
            self._found[path] = self.seen[path]

    def forget(self) -> None:
        """Forget all that was seen."""
        for what in (self.seen, self._found, self.unusable):
            what.clear()

    def again(self) -> None:
        """Look again at the photos that were not looked at, or could not be used."""
        self.unusable.clear()
        self.go_on()

    def close(self) -> None:
        """Begin nothing more."""
        self._closed = True

    def go_on(self) -> None:
        """Look at every photo of the draft that was not looked at as it is now."""
        draft = self._draft()
        if draft.facts.card != self._card:
            self._card = draft.facts.card
            self.seen.clear()
            self._found.clear()
        for path, photo in self._found.items():
            if photo.hand == draft.hand(path):
                self.seen[path] = photo
        done = {*self.fresh, *self.unusable, *self.looking}
        wanted = [path for path in draft.photos if path not in done]
        try:
            reflectance = card_reflectance(self._card)
        except OrderError:
            return  # the form says what is wrong with it
        if not wanted or draft.kind == "printed" or self._closed:
            return
        self.looking.update(wanted)
        card = self._card
        self._tools.bench.start(
            "Looking at known tubes",
            look_at_all(
                [(path, draft.hand(path)) for path in wanted],
                reflectance,
                lambda seen: self._photo_seen.emit(card, seen),
            ),
            on_finished=self._finished,
            on_failed=self._failed,
            on_stopped=self._stopped,
        )

    def _take(self, card: str, seen: StandardsPhoto | UnusablePhoto) -> None:
        self.looking.discard(seen.path)
        if card == self._card:  # else it was measured on another reflectance
            if isinstance(seen, UnusablePhoto):
                self.unusable[seen.path] = seen.error
            else:
                self.seen[seen.path] = seen
        self.go_on()  # something may have been drawn meanwhile
        self.came.emit(seen.path)

    def _finished(self, _usable: int) -> None:
        self.ended.emit()

    def _failed(self, error: TintwellError) -> None:
        self._stopped()
        self._tools.messages.complain(error)

    def _stopped(self) -> None:
        stopped = TintwellError(
            "Looking at this photo was stopped.", what_to_do="Choose Look again."
        )
        self.unusable.update(dict.fromkeys(self.looking, stopped))
        self.looking.clear()
        self.ended.emit()
