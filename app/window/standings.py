"""Where photos and readings stand: a symbol and a word, and only then a color."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.window.symbols import draw_symbol
from app.window.theme import current_tones

STANDING_WORDS = {
    "waiting": "Waiting",
    "found": "Not read",
    "accepted": "Accepted",
    "doubtful": "Doubtful",
    "refused": "Refused",
    "note": "Note",
}
SYMBOLS = {"note": "help"}


def standing_color(standing: str) -> QColor:
    """Return the color in which a standing is drawn in the present look."""
    tones = current_tones()
    by_name = {"accepted": tones.good, "doubtful": tones.doubt, "refused": tones.bad}
    return QColor(by_name.get(standing, tones.muted))


def draw_standing(
    painter: QPainter, standing: str, rect: QRectF, ink: QColor | None = None
) -> None:
    """Draw the symbol of a standing."""
    draw_symbol(painter, SYMBOLS.get(standing, standing), rect, ink or standing_color(standing))


def standing_picture(standing: str, side: int, ratio: float) -> QPixmap:
    """Return the symbol of a standing as a picture, for item views."""
    picture = QPixmap(round(side * ratio), round(side * ratio))
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    draw_standing(painter, standing, QRectF(0, 0, side, side))
    painter.end()
    return picture


class StandingMark(QWidget):
    """The symbol of a standing; its word stands beside it in a label."""

    def __init__(self, side: int = 20, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side, self._standing = side, ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_standing(self, standing: str) -> None:
        """Show this standing, or nothing."""
        self._standing = standing
        self.setAccessibleName(STANDING_WORDS.get(standing, ""))
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Return the size of the symbol."""
        return QSize(self._side, self._side)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw the symbol."""
        if self._standing:
            painter = QPainter(self)
            draw_standing(painter, self._standing, QRectF(self.rect()))
            painter.end()
