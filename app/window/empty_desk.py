"""What the Photos page shows while no photo lies on the desk: what to do."""

from PySide6.QtCore import SignalInstance
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.window.labels import card, heading, plain
from app.window.symbols import symbol
from app.window.theme import SPACE

WAYS = (
    ("Add photos…", None, "photos"),
    ("Add a folder…", "open", "folder"),
    ("Open the demo survey", "photos", "demo"),
)
STEPS = (
    "Drop photos or a folder anywhere on this window, or paste them. They are read at once "
    "against the charts in use.",
    "A good photo shows the whole grey card flat beside the tubes, in the same light, with nothing "
    "between lamp and card.",
    "Then name the tubes and keep the readings in a survey.",
)


class EmptyDesk(QWidget):
    """Says how photos come onto the desk."""

    def __init__(self, asked: SignalInstance, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        frame: QFrame = card()
        frame.setFixedWidth(560)
        box = QVBoxLayout(frame)
        box.setContentsMargins(4 * SPACE, 4 * SPACE, 4 * SPACE, 4 * SPACE)
        box.setSpacing(2 * SPACE)
        box.addWidget(heading("Drop photos here"))
        for step in STEPS:
            box.addWidget(plain(step))
        row = QHBoxLayout()
        for text, picture, errand in WAYS:
            button = QPushButton(text)
            if picture is None:
                button.setObjectName("main")
            else:
                button.setIcon(symbol(picture))
            button.clicked.connect(lambda _=False, errand=errand: asked.emit(errand))
            row.addWidget(button)
        row.addStretch()
        box.addLayout(row)
        outer = QVBoxLayout(self)
        outer.addStretch(2)
        middle = QHBoxLayout()
        middle.addStretch()
        middle.addWidget(frame)
        middle.addStretch()
        outer.addLayout(middle)
        outer.addStretch(3)
