"""Labels and frames with the roles that the theme knows; their text can be selected and copied."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy


def _label(text: str, role: str) -> QLabel:
    label = QLabel(text)
    label.setObjectName(role)
    label.setWordWrap(role in ("muted", "plain"))
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


def heading(text: str = "") -> QLabel:
    """Make the title of a page or pane."""
    return _label(text, "heading")


def subheading(text: str = "") -> QLabel:
    """Make the title of a group."""
    return _label(text, "subheading")


def muted(text: str = "") -> QLabel:
    """Make a quiet explanation; it wraps."""
    return _label(text, "muted")


def plain(text: str = "") -> QLabel:
    """Make running text; it wraps."""
    return _label(text, "plain")


def card() -> QFrame:
    """Make a frame that holds what belongs together."""
    frame = QFrame()
    frame.setObjectName("card")
    return frame


class ElidedLabel(QLabel):
    """One line of text that gives way: what does not fit ends in dots and is in the tip."""

    def __init__(self, role: str = "plain") -> None:
        super().__init__()
        self.setObjectName(role)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Return the height of a line, without any width."""
        return QSize(0, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Write as much as there is room for."""
        area = self.contentsRect()
        text = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, area.width())
        self.setToolTip(self.text() if text != self.text() else "")
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.foregroundRole()))
        painter.drawText(area, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
        painter.end()
