"""Looks at the desk's photos on the work bench, a few at a time, newest wish first honored."""

from collections import OrderedDict
from concurrent.futures import Future
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.tube_reading import PhotoLook
from app.window.desk_model import DeskModel
from app.window.long_work import WorkBench

SOON_MS = 60  # several changes in a row make one look


class PhotoReader(QObject):
    """Takes wishes to look at photos from the desk and brings back what was seen.

    Signals
    -------
    progressed(int, int)
        Photos done and in all since there was last nothing to do.
    """

    progressed = Signal(int, int)
    _looked = Signal(object, object, int)

    def __init__(self, model: DeskModel, bench: WorkBench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model, self._bench = model, bench
        self._wanted: OrderedDict[Path, None] = OrderedDict()
        self._running: dict[Path, int] = {}
        self._busy = 0  # also those whose wish has grown old meanwhile
        self._turn = 0
        self._done = 0
        self._closed = False
        self._timer = QTimer(self, singleShot=True, interval=SOON_MS)
        self._timer.timeout.connect(self._begin)
        self._looked.connect(self._take)
        model.look_wanted.connect(self._want)

    @property
    def is_idle(self) -> bool:
        """Whether nothing is being looked at or waits for it."""
        return not self._wanted and not self._running

    def stop(self) -> None:
        """Forget what has not begun."""
        self._wanted.clear()
        self._tell()

    def close(self) -> None:
        """Stop for good."""
        self._closed = True
        self._wanted.clear()

    def _want(self, path: Path) -> None:
        self._wanted[path] = None
        self._running.pop(path, None)  # what comes back of an older wish is not taken
        if not self._timer.isActive():
            self._timer.start()

    def _begin(self) -> None:
        while self._wanted and self._busy < self._bench.workers and not self._closed:
            chosen = self._model.desk.chosen
            path = chosen if chosen in self._wanted else next(iter(self._wanted))
            assert path is not None
            del self._wanted[path]
            photo = self._model.desk.photo(path)
            if photo is None:
                continue
            self._turn += 1
            self._running[path] = self._turn
            self._busy += 1
            order = self._model.order_for(path)
            future = self._bench.submit(
                _look, path, order, photo.edits.hand, self._model.card_reflectance
            )
            turn = self._turn
            future.add_done_callback(
                lambda done, path=path, turn=turn: self._bring(done, path, turn)  # type: ignore[misc]
            )
        self._tell()

    def _bring(self, done: "Future[PhotoLook]", path: Path, turn: int) -> None:
        """Run on a thread of the pool: hand over by signal."""
        if not done.cancelled() and not self._closed:
            self._looked.emit(path, done.result(), turn)

    def _take(self, path: Path, look: PhotoLook, turn: int) -> None:
        self._busy -= 1
        if self._running.get(path) == turn:
            del self._running[path]
            self._done += 1
            self._model.set_look(path, look)
        self._begin()

    def _tell(self) -> None:
        left = len(self._wanted) + len(self._running)
        if left == 0:
            self._done = 0
        self.progressed.emit(self._done, self._done + left)


def _look(path: Path, order: object, hand: object, reflectance: object) -> PhotoLook:
    """Look at a photo; what it needs is loaded only now, on a thread of the pool."""
    from app.tasks.look_at_photo import guarded_look

    return guarded_look(path, order, hand, reflectance)  # type: ignore[arg-type]
