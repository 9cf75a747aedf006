"""A plain table of facts (samples, sites, quality control), sortable and copyable."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
)
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

Place = QModelIndex | QPersistentModelIndex
Fact = str | float | None
WIDEST = 280


def say_fact(fact: Fact) -> str:
    """Write a fact; what is unknown is a dash.

    Examples
    --------
    >>> say_fact(None), say_fact(6.50), say_fact("loam")
    ('–', '6.5', 'loam')
    """
    if fact is None:
        return "–"
    return f"{fact:.6g}" if isinstance(fact, float | int) else fact


class FactsModel(QAbstractTableModel):
    """Rows of facts under headings."""

    def __init__(self, headings: Sequence[str] = ()) -> None:
        super().__init__()
        self._headings = tuple(headings)
        self._rows: tuple[tuple[Fact, ...], ...] = ()

    def put(self, rows: Sequence[Sequence[Fact]], headings: Sequence[str] | None = None) -> None:
        """Show these rows in place of those that are there."""
        self.beginResetModel()
        if headings is not None:
            self._headings = tuple(headings)
        self._rows = tuple(tuple(row) for row in rows)
        self.endResetModel()

    def rowCount(self, parent: Place = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return how many rows there are."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Place = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self._headings)

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the headings."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return self._headings[section]
        return None

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what stands in a cell: as it is said, or as it is sorted."""
        fact = self._rows[index.row()][index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return say_fact(fact)
        if role == Qt.ItemDataRole.UserRole:
            return fact
        if role == Qt.ItemDataRole.TextAlignmentRole and isinstance(fact, float | int):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None


class FactsTable(QTableView):
    """Shows facts; rows can be sorted, and copied with the usual keys."""

    def __init__(self, name: str, headings: Sequence[str] = (), parent: QWidget | None = None):
        super().__init__(parent)
        self.facts = FactsModel(headings)
        self._sorted = QSortFilterProxyModel(self)
        self._sorted.setSourceModel(self.facts)
        self._sorted.setSortRole(Qt.ItemDataRole.UserRole)
        self._sorted.setSortCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.setModel(self._sorted)
        self.setAccessibleName(name)
        dress_table(self)
        self.setSortingEnabled(True)
        self.sortByColumn(0, Qt.SortOrder.AscendingOrder)
        copy = QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self)
        copy.setContext(Qt.ShortcutContext.WidgetShortcut)
        copy.activated.connect(self.copy)

    def put(self, rows: Sequence[Sequence[Fact]], headings: Sequence[str] | None = None) -> None:
        """Show these rows, columns as wide as they need."""
        self.facts.put(rows, headings)
        self.resizeColumnsToContents()
        for column in range(self.facts.columnCount()):
            self.setColumnWidth(column, min(WIDEST, self.columnWidth(column) + 12))

    def chosen_row(self) -> int | None:
        """Return the row of the facts that is chosen, by its place when they were put."""
        rows = self.selectionModel().selectedRows()
        return self._sorted.mapToSource(rows[0]).row() if rows else None

    def copy(self) -> None:
        """Copy the chosen rows as text that a spreadsheet takes."""
        lines = []
        for index in self.selectionModel().selectedRows():
            cells = [
                str(self._sorted.index(index.row(), c).data())
                for c in range(self.facts.columnCount())
            ]
            lines.append("\t".join(" ".join(cell.split()) for cell in cells))
        QGuiApplication.clipboard().setText("\n".join(lines))


def dress_table(table: QTableView) -> None:
    """Give a table the manners that all tables of the window share."""
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.setAlternatingRowColors(True)
    table.setShowGrid(False)
    table.setWordWrap(False)
    table.verticalHeader().hide()
    table.verticalHeader().setDefaultSectionSize(26)
    header = table.horizontalHeader()
    header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
    header.setStretchLastSection(True)
    header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    table.setTabKeyNavigation(False)
