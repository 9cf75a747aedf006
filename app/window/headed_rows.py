"""What the tables of the window have in common: rows under headings."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

Place = QModelIndex | QPersistentModelIndex


class HeadedRows(QAbstractTableModel):
    """Rows under headings; what stands in a cell is for each table to say.

    Attributes
    ----------
    headings : tuple of str
        Of the columns.
    rows : sequence
        What the rows are about.
    """

    def __init__(self, headings: Sequence[str], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.headings = tuple(headings)
        self.rows: Sequence[Any] = ()

    def show_rows(self, rows: Sequence[Any]) -> None:
        """Show these rows in place of those that are there."""
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: Place = QModelIndex()) -> int:  # noqa: B008, N802 - Qt's way
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Place = QModelIndex()) -> int:  # noqa: B008, N802 - Qt's way
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self.headings)

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the headings."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return self.headings[section]
        return None
