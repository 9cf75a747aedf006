"""The patches of a printed chart as a table: their values, and their places by numbers."""

from dataclasses import replace
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from app.tasks.chart_draft import ChartDraft, DraftPatch
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_table_model import number_of
from colorcore.geometry import Quad, box_of

COLUMNS = ("Patch", "Value", "Label", "Left", "Top", "Width", "Height")
NUMBER, VALUE, LABEL, LEFT = range(4)
Index = QModelIndex | QPersistentModelIndex


class PatchTable(QAbstractTableModel):
    """The patches with their places, editable by keyboard."""

    def __init__(self, model: CalibrateModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._count = 0
        model.changed.connect(self._take)

    @property
    def patches(self) -> tuple[DraftPatch, ...]:
        """The patches of the draft."""
        return self._model.draft.patches

    def _take(self) -> None:
        if len(self.patches) != self._count:
            self.beginResetModel()
            self._count = len(self.patches)
            self.endResetModel()
        elif self._count:
            last = self.index(self._count - 1, len(COLUMNS) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of patches."""
        return 0 if parent.isValid() else self._count

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the columns' headings."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return COLUMNS[section]
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return what can be done with a cell."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags if index.column() == NUMBER else flags | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return None
        patch, column = self.patches[index.row()], index.column()
        if column == NUMBER:
            return str(index.row() + 1)
        if column == VALUE:
            return "" if patch.value is None else f"{patch.value:.6g}"
        if column == LABEL:
            return patch.label or ""
        return f"{box_of(patch.quad)[column - LEFT]:.0f}"

    def setData(  # noqa: N802 - Qt's name
        self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Take what was typed."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        patch, column, text = self.patches[index.row()], index.column(), str(value)
        try:
            if column == VALUE:
                new = replace(patch, value=number_of(text))
            elif column == LABEL:
                new = replace(patch, label=" ".join(text.split()) or None)
            else:
                new = replace(patch, quad=_placed(patch.quad, column - LEFT, number_of(text)))
        except ValueError:
            self._model.tell(f"'{text}' is no number that can stand there; nothing was changed.")
            return False
        self.put(index.row(), new)
        return True

    def put(self, row: int, patch: DraftPatch | None) -> None:
        """Change one patch; None takes it away."""
        patches = list(self.patches)
        patches[row : row + 1] = [] if patch is None else [patch]
        self.say(tuple(patches), "change a patch")

    def add(self, quad: Quad) -> None:
        """Add a patch behind the others."""
        self.say((*self.patches, DraftPatch(quad=quad)), "mark a patch")

    def say(self, patches: tuple[DraftPatch, ...], text: str) -> None:
        """Say of the draft that these are its patches."""
        draft: ChartDraft = replace(self._model.draft, patches=patches)
        self._model.edit(draft, text)


def _placed(quad: Quad, which: int, number: float | None) -> Quad:
    """Move or stretch a patch so that one number of its box is the given one."""
    if number is None or (which >= 2 and not number > 0):
        raise ValueError("a place has a number, a size is above zero")
    box = list(box_of(quad))
    old = tuple(box)
    box[which] = number
    x, y, w, h = box

    def moved(point: tuple[float, float]) -> tuple[float, float]:
        return (
            x + (point[0] - old[0]) * w / max(old[2], 1e-9),
            y + (point[1] - old[1]) * h / max(old[3], 1e-9),
        )

    one, two, three, four = (moved(point) for point in quad)
    return one, two, three, four
