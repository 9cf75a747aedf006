"""The swatches of a chart in order, each with its value printed below it."""

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.window.theme import SPACE, SURROUND, current_tones

HEIGHT = 56
WIDEST = 96


class SwatchStrip(QWidget):
    """Draws the swatches side by side on neutral grey."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._swatches: tuple[tuple[str, str], ...] = ()
        self._unit = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_swatches(self, swatches: tuple[tuple[str, str], ...], unit: str) -> None:
        """Show swatches, each with its name and six hexadecimal digits of sRGB."""
        self._swatches, self._unit = swatches, unit
        names = ", ".join(name for name, _ in swatches)
        self.setAccessibleName(f"Swatches in order: {names} {unit}".rstrip())
        self.setToolTip(f"{names} {unit}".rstrip())
        self.setMinimumWidth(min(len(swatches), 12) * 34 + 2 * SPACE)
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Return the height of the colors with their values."""
        return QSize(400, HEIGHT + 2 * SPACE + self.fontMetrics().height() + SPACE)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw colors and values."""
        painter = QPainter(self)
        if not self._swatches:
            return
        width = min((self.width() - 2 * SPACE) / len(self._swatches), WIDEST)
        ground = QRect(0, 0, round(width * len(self._swatches)) + 2 * SPACE, HEIGHT + 2 * SPACE)
        painter.fillRect(ground, QColor(SURROUND))
        font = QFont(self.font())
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(QColor(current_tones().text))
        below = ground.bottom() + SPACE // 2
        for place, (name, color) in enumerate(self._swatches):
            left = SPACE + round(place * width)
            right = SPACE + round((place + 1) * width)
            painter.fillRect(QRect(left, SPACE, right - left, HEIGHT), QColor(f"#{color}"))
            words = painter.fontMetrics().elidedText(
                name, Qt.TextElideMode.ElideRight, right - left - 2
            )
            line = QRect(left, below, right - left, painter.fontMetrics().height())
            painter.drawText(line, Qt.AlignmentFlag.AlignHCenter, words)
        if self._unit and ground.right() + 60 < self.width():
            painter.setFont(self.font())
            line = QRect(ground.right() + SPACE, below, 160, painter.fontMetrics().height())
            painter.drawText(line, Qt.AlignmentFlag.AlignLeft, self._unit)
        painter.end()
