"""Moves outlines by numbers: which one, its four corners, and what else can be done with it."""

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.desk_outlines import CARD_PLACE
from app.window.labels import card, muted
from app.window.outline_editor import OutlineEditor
from app.window.theme import SPACE
from colorcore.geometry import Quad

CORNERS = ("Upper left", "Upper right", "Lower right", "Lower left")
HINT = (
    "Drag a corner or the whole outline; arrow keys move it by 1 pixel, with Shift by 10; "
    "Tab goes from corner to corner."
)
DRAW_HINT = "Drag over the liquid to draw a region, or press Enter for one in the middle."
CARD_HINT = "Drag over the grey of the card, or press Enter for a place in the middle."


class OutlinePanel(QWidget):
    """Stands under the photo while outlines are moved."""

    def __init__(
        self, editor: OutlineEditor, actions: tuple[QAction, ...], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._editor = editor
        self.setAccessibleName("Outlines")
        frame = card()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, SPACE, 0, 0)
        outer.addWidget(frame)
        box = QVBoxLayout(frame)
        box.setContentsMargins(SPACE, SPACE, SPACE, SPACE)
        box.setSpacing(SPACE)
        self.which = QComboBox()
        self.which.setAccessibleName("Outline that is moved")
        self.which.activated.connect(lambda: editor.choose(self.which.currentData()))
        top = QHBoxLayout()
        top.addWidget(self.which)
        top.addStretch()
        for action in actions:
            button = QToolButton()
            button.setDefaultAction(action)
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            top.addWidget(button)
        box.addLayout(top)
        self.numbers: list[tuple[QDoubleSpinBox, QDoubleSpinBox]] = []
        grid = QGridLayout()
        grid.setHorizontalSpacing(SPACE)
        grid.setVerticalSpacing(SPACE // 2)
        for corner, words in enumerate(CORNERS):
            self._add_corner(grid, corner, words)
        grid.setColumnStretch(7, 1)
        box.addLayout(grid)
        self.hint = muted(HINT)
        box.addWidget(self.hint)
        editor.changed.connect(self._show)
        self._show()

    def _add_corner(self, grid: QGridLayout, corner: int, words: str) -> None:
        row, column = divmod((0, 1, 3, 2)[corner], 2)
        label = QLabel(words)
        grid.addWidget(label, row, 3 * column)
        pair = []
        for axis, name in enumerate(("x", "y")):
            number = QDoubleSpinBox()
            number.setDecimals(0)
            number.setRange(0, 99_999)
            number.setPrefix(f"{name} ")
            number.setKeyboardTracking(False)
            number.setAccessibleName(f"{words} corner, {name}, pixels")
            number.valueChanged.connect(lambda _, corner=corner: self._put(corner))
            grid.addWidget(number, row, 3 * column + 1 + axis)
            pair.append(number)
        label.setBuddy(pair[0])
        self.numbers.append((pair[0], pair[1]))

    def _put(self, corner: int) -> None:
        quad = self._editor.quad()
        if quad is None:
            return
        x, y = self.numbers[corner]
        points = list(quad)
        points[corner] = (x.value(), y.value())
        new: Quad = (points[0], points[1], points[2], points[3])
        self._editor.put(new)

    def _show(self) -> None:
        editor = self._editor
        self.setVisible(editor.is_on)
        if not editor.is_on:
            return
        drawing = CARD_HINT if editor.place == CARD_PLACE else DRAW_HINT
        self.hint.setText(drawing if editor.is_drawing else HINT)
        places = editor.places()
        with QSignalBlocker(self.which):
            self.which.clear()
            for place in places:
                card_name = "Grey card" if editor.has_card else "Grey card (draw it)"
                name = card_name if place == CARD_PLACE else f"Region of tube {place}"
                self.which.addItem(name, place)
            self.which.setCurrentIndex(places.index(editor.place) if editor.place in places else -1)
        quad = editor.quad()
        for corner, numbers in enumerate(self.numbers):
            for axis, number in enumerate(numbers):
                number.setEnabled(quad is not None and not editor.is_drawing)
                with QSignalBlocker(number):
                    number.setValue(0 if quad is None else quad[corner][axis])
