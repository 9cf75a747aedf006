"""What the second steps of a new chart have in common: a photo above, a table below."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLayout, QPushButton, QSplitter, QVBoxLayout, QWidget

from app.window.symbols import symbol
from app.window.theme import SPACE


class PhotoOverTable(QWidget):
    """A photo with what belongs to it, and below it a table.

    Attributes
    ----------
    halves : list of QWidget
        The upper and the lower one.

    Signals
    -------
    photos_asked()
        The user wants to choose photos.
    """

    photos_asked = Signal()

    def lay_out(
        self,
        above: Sequence[QWidget | QLayout],
        below: Sequence[QWidget | QLayout],
        *,
        grows: tuple[QWidget, QWidget],
        heights: tuple[int, int],
    ) -> None:
        """Put parts below each other; one above and one below take the room that is left."""
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        split = QSplitter(Qt.Orientation.Vertical)
        split.setChildrenCollapsible(False)
        column.addWidget(split)
        self.halves: list[QWidget] = []
        margins = ((0, SPACE // 2), (SPACE // 2, 0))
        for parts, large, (top, bottom) in zip((above, below), grows, margins, strict=True):
            half = QWidget()
            box = QVBoxLayout(half)
            box.setContentsMargins(SPACE, top, SPACE, bottom)
            for part in parts:
                if isinstance(part, QWidget):
                    box.addWidget(part, 1 if part is large else 0)
                else:
                    box.addLayout(part)
            split.addWidget(half)
            self.halves.append(half)
        split.setSizes(list(heights))


def push_button(text: str, picture: str | None, slot: Callable[[], object]) -> QPushButton:
    """Make a button, with a symbol where it has one."""
    button = QPushButton(text)
    if picture is not None:
        button.setIcon(symbol(picture))
    button.clicked.connect(lambda: slot())
    return button
