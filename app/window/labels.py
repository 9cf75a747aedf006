"""Labels and frames with the roles that the theme knows; their text can be selected and copied."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel


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
