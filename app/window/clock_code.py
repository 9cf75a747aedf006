"""The machine's time as a code for the phone to photograph: that tells its clock's offset."""

from datetime import UTC, datetime

from PySide6.QtCore import QRectF, Qt, QTimer
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from app.window.labels import muted


class ClockCode(QWidget):
    """The machine's time as a QR code, to be photographed by the phone."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(220, 220)
        self.setAccessibleName("The time as a QR code")
        self._timer = QTimer(self, interval=500)
        self._timer.timeout.connect(self.update)
        self._timer.start()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw the code of this second, black on white in any look."""
        from app.tasks.sample_labels import clock_text, code_modules

        modules = code_modules(clock_text(datetime.now(UTC)))
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor("white"))
        n = modules.shape[0] + 8
        side = min(self.width(), self.height()) / n
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor("black"))
        left, top = (self.width() - n * side) / 2, (self.height() - n * side) / 2
        for row, column in zip(*modules.nonzero(), strict=True):
            painter.drawRect(
                QRectF(left + (column + 4) * side, top + (row + 4) * side, side + 0.4, side + 0.4)
            )
        painter.end()


class ClockCodeDialog(QDialog):
    """Shows the time to be photographed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("The phone's clock")
        self.resize(420, 480)
        box = QVBoxLayout(self)
        box.addWidget(
            muted(
                "Photograph this code with the phone and add the photo like any other. Tintwell "
                "then knows how far the phone's clock is off, and can tell which photos were "
                "taken too early or too late."
            )
        )
        box.addWidget(ClockCode(), 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)
