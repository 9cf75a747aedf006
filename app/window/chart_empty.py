"""What the Charts page says while no chart lies on the desk."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.window.labels import card, heading, muted, plain
from app.window.symbols import symbol
from app.window.theme import SPACE

WHAT = (
    "A chart tells what the colors of an indicator mean. It is made from tubes of known value, "
    "photographed beside a grey card, or from a photo of a printed chart."
)
HOW = (
    "You need: the grey card with its label, two known solutions or more (five are better), the "
    "indicator, and clear tubes. Photograph the tubes beside the whole card, each value twice."
)


class NoCharts(QWidget):
    """Says what a chart is and how to come by one.

    Signals
    -------
    asked(str)
        "new", "open" or "demo".
    """

    asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        outer = QGridLayout(self)
        frame = card()
        frame.setMinimumWidth(560)
        frame.setMaximumWidth(640)
        for side in (0, 2):
            outer.setColumnStretch(side, 1)
            outer.setRowStretch(side, 1)
        outer.addWidget(frame, 1, 1)
        box = QVBoxLayout(frame)
        box.setContentsMargins(4 * SPACE, 3 * SPACE, 4 * SPACE, 3 * SPACE)
        box.setSpacing(2 * SPACE)
        box.addWidget(heading("No chart yet"))
        box.addWidget(plain(WHAT))
        box.addWidget(muted(HOW))
        row = QHBoxLayout()
        row.setSpacing(SPACE)
        for way, text, picture in (
            ("new", "&Make a chart", ""),
            ("open", "&Open a chart…", "open"),
            ("demo", "Open the &demo survey", "photos"),
        ):
            button = QPushButton(text)
            if way != "new":
                button.setIcon(symbol(picture))
            else:
                button.setObjectName("main")
                self.setFocusProxy(button)
            button.clicked.connect(lambda _=False, way=way: self.asked.emit(way))
            row.addWidget(button)
        row.addStretch()
        box.addLayout(row)
