"""The first page: what to do next, and the surveys that were open lately."""

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.window.labels import card, heading, muted, subheading
from app.window.page import Page, Tools
from app.window.symbols import symbol
from app.window.theme import SPACE

WAYS = (
    ("demo", "Open the demo survey", "photos",
     "An invented survey with photos, two charts and three photos that must be refused. "
     "Nothing of yours is touched."),
    ("calibrate", "Calibrate a chart", "charts",
     "Photograph tubes of known value beside the grey card, then tell Tintwell what they are."),
    ("photos", "Read photos", "open",
     "Drop photos anywhere on this window, paste them, or choose them here."),
    ("survey", "New survey", "samples",
     "A folder that keeps readings with their photos, samples and sites."),
)  # fmt: skip

SAFETY = (
    "Color tests are a screening. Wear goggles and gloves with indicators and buffers; large "
    "amounts of lime or fertilizer, crop sale and drinking water need a certified laboratory."
)


class StartPage(Page):
    """Says what to do next.

    Signals
    -------
    survey_asked(Path)
        A recent survey was chosen.
    """

    name = "Start"
    symbol_name = "start"
    survey_asked = Signal(object)

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        area = QScrollArea()
        area.setAccessibleName("Start")
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        outer.addWidget(area)
        inside = QWidget()
        area.setWidget(inside)
        column = QVBoxLayout(inside)
        column.setContentsMargins(4 * SPACE, 4 * SPACE, 4 * SPACE, 4 * SPACE)
        column.setSpacing(2 * SPACE)
        column.addWidget(heading("What would you like to do?"))
        self._ways = QGridLayout()
        self._ways.setSpacing(2 * SPACE)
        column.addLayout(self._ways)
        for place, way in enumerate(WAYS):
            self._ways.addWidget(self._card(*way), place // 2, place % 2)
        column.addWidget(subheading("Recent surveys"))
        self._recent = QVBoxLayout()
        self._recent.setSpacing(SPACE // 2)
        column.addLayout(self._recent)
        column.addStretch()
        column.addWidget(muted(SAFETY))
        self.shown()

    def _card(self, way: str, title: str, picture: str, text: str) -> QFrame:
        frame = card()
        frame.setMaximumWidth(560)
        box = QVBoxLayout(frame)
        box.setContentsMargins(2 * SPACE, 2 * SPACE, 2 * SPACE, 2 * SPACE)
        button = QPushButton(symbol(picture), title)
        button.setIconSize(QSize(24, 24))
        button.setObjectName("way")
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        button.setAccessibleDescription(text)
        button.clicked.connect(lambda: self.asked.emit(way))
        box.addWidget(button)
        box.addWidget(muted(text))
        return frame

    def shown(self) -> None:
        """List the recent surveys anew."""
        while (item := self._recent.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        recent = self.tools.preferences.recent
        for folder in recent:
            button = QPushButton(symbol("open"), f"{folder.name}   {folder.parent}")
            button.setObjectName("quiet")
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            button.clicked.connect(lambda _=False, folder=folder: self.survey_asked.emit(folder))
            self._recent.addWidget(button)
        if not recent:
            self._recent.addWidget(muted("None yet."))
