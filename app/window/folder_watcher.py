"""Reads photos as they arrive in a folder, once they are whole."""

from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.tasks.watch_folder import FolderWatch, Stamp, begin_watch, look_in, stamps
from app.window.long_work import WorkBench

EVERY_MS = 1500


class FolderWatcher(QObject):
    """Looks into a folder again and again, off the screen's thread.

    A network drive tells nobody of new files, so the folder is listed; slow drives delay only the
    next look.

    Signals
    -------
    arrived(tuple of Path)
        Photos that are new and whole.
    lost(str)
        The folder can no longer be read; the watch has ended.
    """

    arrived = Signal(object)
    lost = Signal(str)
    _listed = Signal(object, object)

    def __init__(self, bench: WorkBench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._watch: FolderWatch | None = None
        self._timer = QTimer(self, singleShot=True, interval=EVERY_MS)
        self._timer.timeout.connect(self._list)
        self._listed.connect(self._take)

    @property
    def folder(self) -> Path | None:
        """The watched folder."""
        return None if self._watch is None else self._watch.folder

    def start(self, folder: Path, *, take_present: bool = False) -> None:
        """Begin to watch a folder in place of the one before.

        Raises
        ------
        OSError
            If the folder cannot be read.
        """
        self._watch = begin_watch(folder, take_present=take_present)
        self._timer.start(0)

    def stop(self) -> None:
        """Watch no longer."""
        self._watch = None
        self._timer.stop()

    def _list(self) -> None:
        if self._watch is not None:
            self._bench.submit(self._stamp, self._watch.folder)

    def _stamp(self, folder: Path) -> None:
        """Run on a thread of the pool."""
        try:
            found: dict[Path, Stamp] | str = stamps(folder)
        except OSError as error:
            found = f"The watched folder {folder} cannot be read ({error.strerror})."
        self._listed.emit(folder, found)

    def _take(self, folder: Path, found: dict[Path, Stamp] | str) -> None:
        if self._watch is None or folder != self._watch.folder:
            return
        if isinstance(found, str):
            self.stop()
            self.lost.emit(found)
            return
        self._watch, new = look_in(self._watch, found)
        if new:
            self.arrived.emit(new)
        self._timer.start()
