"""The patches of a printed chart as a table: their values, and their places by numbers."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QObject, Qt

from app.tasks.chart_draft import DraftPatch
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_typing import number_of
from app.window.headed_rows import HeadedRows, Place
from colorcore.errors import TintwellError
from colorcore.geometry import Quad, box_of

COLUMNS = ("Patch", "Value", "±", "Label", "Left", "Top", "Width", "Height")
NUMBER, VALUE, PLUS_MINUS, LABEL, LEFT, TOP, WIDTH, HEIGHT = range(len(COLUMNS))


class PatchTable(HeadedRows):
    """The patches with their places, editable by keyboard."""

    rows: tuple[DraftPatch, ...]

    def __init__(self, model: CalibrateModel, parent: QObject | None = None) -> None:
        super().__init__(COLUMNS, parent)
        self._model = model
        self.rows = ()
        model.changed.connect(self._take)

    def _take(self) -> None:
        patches = self._model.draft.patches
        if len(patches) != len(self.rows):
            self.show_rows(patches)
        elif patches:
            self.rows = patches
            last = self.index(len(patches) - 1, len(COLUMNS) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def flags(self, index: Place) -> Qt.ItemFlag:
        """Return what can be done with a cell."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags if index.column() == NUMBER else flags | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return None
        patch, column = self.rows[index.row()], index.column()
        if column == NUMBER:
            return str(index.row() + 1)
        if column == LABEL:
            return patch.label or ""
        if column >= LEFT:
            return f"{box_of(patch.quad)[column - LEFT]:.0f}"
        number = patch.value if column == VALUE else patch.uncertainty
        return "" if number is None else f"{number:.6g}"

    def setData(  # noqa: N802 - Qt's name
        self, index: Place, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Take what was typed; what cannot be right is not taken, and said."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        try:
            new = _typed(self.rows[index.row()], index.column(), str(value))
        except TintwellError as error:
            self._model.tell_error(error)
            return False
        self.put(index.row(), new)
        return True

    def put(self, row: int, patch: DraftPatch | None) -> None:
        """Change one patch; None takes it away."""
        patches = list(self.rows)
        patches[row : row + 1] = [] if patch is None else [patch]
        self._say(tuple(patches), "change a patch")

    def add(self, quad: Quad) -> None:
        """Add a patch behind the others."""
        self._say((*self.rows, DraftPatch(quad=quad)), "mark a patch")

    def _say(self, patches: tuple[DraftPatch, ...], text: str) -> None:
        self._model.edit(replace(self._model.draft, patches=patches), text)


def _typed(patch: DraftPatch, column: int, text: str) -> DraftPatch:
    if column == VALUE:
        return replace(patch, value=number_of(text))
    if column == PLUS_MINUS:
        return replace(patch, uncertainty=number_of(text, above_zero=True))
    if column == LABEL:
        return replace(patch, label=" ".join(text.split()) or None)
    number = number_of(text, above_zero=column >= WIDTH)
    return patch if number is None else replace(patch, quad=_placed(patch.quad, column, number))


def _placed(quad: Quad, column: int, number: float) -> Quad:
    """Move or stretch a patch so that one number of its box is the given one."""
    box = list(box_of(quad))
    old = tuple(box)
    box[column - LEFT] = number
    x, y, w, h = box

    def moved(point: tuple[float, float]) -> tuple[float, float]:
        return (
            x + (point[0] - old[0]) * w / max(old[2], 1e-9),
            y + (point[1] - old[1]) * h / max(old[3], 1e-9),
        )

    one, two, three, four = (moved(point) for point in quad)
    return one, two, three, four
