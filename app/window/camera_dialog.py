"""A live camera: see card and tubes, see what is over-exposed, take the photo."""

from datetime import datetime
from pathlib import Path
from threading import Event

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QCloseEvent, QImage, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.window.frame_source import FrameSource, burnt_out
from app.window.labels import muted
from app.window.long_work import WorkBench
from app.window.symbols import symbol
from colorcore.errors import TintwellError

FRAME_S = 0.03
SHOWN_WIDTH = 960
STRIPES = 12  # pixels from one warning stripe to the next


def with_stripes(frame: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Lay black and white stripes over what is burnt out; BGR in and out.

    Examples
    --------
    >>> frame = np.full((24, 24, 3), 255, np.uint8)
    >>> sorted(set(with_stripes(frame).ravel().tolist()))
    [0, 255]
    """
    rows, columns = np.indices(frame.shape[:2])
    stripe = ((rows + columns) // (STRIPES // 2)) % 2 == 0
    shown = frame.copy()
    shown[burnt_out(frame) & stripe] = 0
    return shown


class LiveView(QWidget):
    """Draws the last frame, as large as it fits."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._image = QImage()
        self.setMinimumSize(480, 320)
        self.setAccessibleName("Live picture of the camera")

    def show_frame(self, frame: NDArray[np.uint8]) -> None:
        """Take a frame to show."""
        high, wide = frame.shape[:2]
        shown = with_stripes(frame)
        self._image = QImage(shown.data, wide, high, 3 * wide, QImage.Format.Format_BGR888).copy()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.palette().color(QPalette.ColorRole.Dark))
        if not self._image.isNull():
            size = self._image.size().scaled(self.size(), Qt.AspectRatioMode.KeepAspectRatio)
            left, top = (self.width() - size.width()) / 2, (self.height() - size.height()) / 2
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(QRectF(left, top, size.width(), size.height()), self._image)
        painter.end()


class CameraDialog(QDialog):
    """Shows a camera's picture and takes photos into a folder.

    Signals
    -------
    taken(Path)
        A photo was saved.
    """

    taken = Signal(object)
    _frame = Signal(object)
    _ended = Signal(str)

    def __init__(
        self, source: int | Path, folder: Path, bench: WorkBench, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Camera")
        self.resize(820, 640)
        self._folder = folder
        self._last: NDArray[np.uint8] | None = None
        self._stop, self._bench = Event(), bench
        box = QVBoxLayout(self)
        self.view = LiveView()
        box.addWidget(self.view, 1)
        self.said = muted("Opening the camera…")
        box.addWidget(self.said)
        self.saved = muted()
        box.addWidget(self.saved)
        row = QHBoxLayout()
        self.take = QPushButton(symbol("camera"), "Take photo")
        self.take.setObjectName("main")
        self.take.setEnabled(False)
        self.take.setShortcut("Space")
        self.take.clicked.connect(self.take_photo)
        row.addWidget(self.take)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.close)
        row.addWidget(buttons)
        box.addLayout(row)
        self._frame.connect(self._show)
        self._ended.connect(self._say_end)
        bench.submit(self._run, source)

    def _run(self, source: int | Path) -> None:
        """Run on a thread of the pool until the dialog is closed or the frames end."""
        try:
            camera = FrameSource(source)
        except TintwellError as error:
            self._ended.emit(f"{error.what_happened} {error.what_to_do}")
            return
        try:
            while not self._stop.wait(FRAME_S) and not self._bench.is_closed:
                frame = camera.next_frame()
                if frame is None:
                    self._ended.emit("The camera gives no more pictures.")
                    return
                self._frame.emit(frame)
        finally:
            camera.close()

    def _show(self, frame: NDArray[np.uint8]) -> None:
        self._last = frame
        step = max(1, frame.shape[1] // SHOWN_WIDTH)
        small = np.ascontiguousarray(frame[::step, ::step])
        self.view.show_frame(small)
        share = float(burnt_out(small).mean())
        self.said.setText(
            f"{100 * share:.1f} % of the picture is over-exposed (striped); keep card and liquid "
            "free of stripes."
            if share > 0.0005
            else "Nothing is over-exposed."
        )
        self.take.setEnabled(True)

    def _say_end(self, text: str) -> None:
        self.said.setText(text)
        self.take.setEnabled(False)

    def take_photo(self) -> None:
        """Save the last frame without loss."""
        from colorcore._cv import cv2

        if self._last is None:
            return
        name = datetime.now().strftime("photo-%Y%m%d-%H%M%S-%f.png")
        path = self._folder / name
        done, data = cv2.imencode(".png", self._last)
        try:
            if not done:
                raise OSError(None, "the picture cannot be encoded")
            self._folder.mkdir(parents=True, exist_ok=True)
            part = path.with_name(f".{name}.part")
            part.write_bytes(data.tobytes())
            part.replace(path)
        except OSError as error:
            self.saved.setText(f"The photo cannot be saved in {self._folder} ({error.strerror}).")
            return
        self.saved.setText(f"Saved {name}.")
        self.taken.emit(path)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802 - Qt's name
        """Let go of the camera."""
        self._stop.set()
        super().closeEvent(event)

    def reject(self) -> None:
        """Close on Esc as the button does."""
        self.close()
