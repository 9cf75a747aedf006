"""The end of the status bar: what is going on, how far it is, and the button that stops it."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QToolButton, QWidget

from app.window.long_work import WorkBench
from app.window.photo_reader import PhotoReader
from app.window.symbols import symbol

PATIENCE_MS = 200  # work that is done sooner is not shown


class WorkBar(QWidget):
    """Shows long work and stops it."""

    def __init__(self, bench: WorkBench, reader: PhotoReader, parent: QWidget | None = None):
        super().__init__(parent)
        self._bench, self._reader = bench, reader
        self._photos = (0, 0)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        self.label = QLabel()
        self.bar = QProgressBar()
        self.bar.setFixedWidth(160)
        self.bar.setTextVisible(False)
        self.button = QToolButton()
        self.button.setIcon(symbol("stop"))
        self.button.setToolTip("Stop (Esc)")
        self.button.setAccessibleName("Stop the work")
        self.button.clicked.connect(self.stop)
        for widget in (self.label, self.bar, self.button):
            row.addWidget(widget)
        self.setVisible(False)
        self._patience = QTimer(self, singleShot=True, interval=PATIENCE_MS)
        self._patience.timeout.connect(self._show)
        bench.changed.connect(self._changed)
        reader.progressed.connect(self._read)

    @property
    def is_busy(self) -> bool:
        """Whether there is anything to stop."""
        return bool(self._bench.works) or self._photos[0] < self._photos[1]

    def stop(self) -> None:
        """Stop everything that is going on."""
        self._reader.stop()
        for work in self._bench.works:
            work.stop()

    def _read(self, done: int, total: int) -> None:
        self._photos = (done, total)
        self._changed()

    def _changed(self) -> None:
        if not self.is_busy:
            self._patience.stop()
            self.setVisible(False)
        elif self.isVisible():
            self._show()
        elif not self._patience.isActive():
            self._patience.start()

    def _show(self) -> None:
        if not self.is_busy:
            return
        done, total = self._photos
        text = f"Reading photos, {done} of {total}"
        if self._bench.works:
            work = self._bench.works[0]
            done, total = (work.step.done, work.step.total) if work.step else (0, 0)
            note = f": {work.step.note}" if work.step and work.step.note else ""
            text = f"{work.title}{note}"
            text = f"Stopping: {work.title}" if work.is_stopping else text
        self.label.setText(text if len(text) < 70 else text[:68] + "…")
        self.bar.setMaximum(total)
        self.bar.setValue(done)
        self.setVisible(True)
