"""A plain table of facts (samples, sites, quality control), sortable and copyable."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from app.window.headed_rows import HeadedRows, Place

Fact = str | float | bool | None
WIDEST = 280
MEASURED_ROWS = 100
"""Rows that the width of a column goes by: measuring thousands would hold up the screen."""


def say_fact(fact: Fact) -> str:
    """Write a fact; what is unknown is a dash.

    Examples
    --------
    >>> say_fact(None), say_fact(6.50), say_fact("loam"), say_fact(True)
    ('–', '6.5', 'loam', 'yes')
    """
    if isinstance(fact, bool):
        return "yes" if fact else "no"
    if fact is None:
        return "–"
    return f"{fact:.6g}" if isinstance(fact, float | int) else fact


class FactsModel(HeadedRows):
    """Rows of facts under headings."""

    def __init__(self, headings: Sequence[str] = ()) -> None:
        super().__init__(headings)
        self.rows: tuple[tuple[Fact, ...], ...] = ()
        self._order: Sequence[int] = ()
        self._sorted_by = (-1, Qt.SortOrder.AscendingOrder)

    def put(self, rows: Sequence[Sequence[Fact]], headings: Sequence[str] | None = None) -> None:
        """Show these rows in place of those that are there."""
        self.beginResetModel()
        if headings is not None:
            self.headings = tuple(headings)
        self.rows = tuple(map(tuple, rows))
        self._order = self._ordered()
        self.endResetModel()

    def place_of(self, row: int) -> int:
        """Return where the facts of a row stood when they were put."""
        return self._order[row]

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; -1 is as they were put."""
        self.layoutAboutToBeChanged.emit()
        before = self.persistentIndexList()
        places = [self._order[index.row()] for index in before]
        self._sorted_by = (column, order)
        self._order = self._ordered()
        row_of = {place: row for row, place in enumerate(self._order)} if places else {}
        after = [
            self.index(row_of[place], index.column())
            for place, index in zip(places, before, strict=True)
        ]
        self.changePersistentIndexList(before, after)
        self.layoutChanged.emit()

    def _ordered(self) -> Sequence[int]:
        column, order = self._sorted_by
        if not 0 <= column < len(self.headings):
            return range(len(self.rows))
        return sorted(
            range(len(self.rows)),
            key=lambda place: sort_key(self.rows[place][column]),
            reverse=order == Qt.SortOrder.DescendingOrder,
        )

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what stands in a cell."""
        fact = self.rows[self._order[index.row()]][index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return say_fact(fact)
        is_number = isinstance(fact, float | int) and not isinstance(fact, bool)
        if role == Qt.ItemDataRole.TextAlignmentRole and is_number:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None


def sort_key(fact: Fact) -> tuple[int, float, str]:
    """Numbers first, then words, what is unknown last."""
    if fact is None:
        return 2, 0.0, ""
    return (1, 0.0, fact.casefold()) if isinstance(fact, str) else (0, fact, "")


class FactsTable(QTableView):
    """Shows facts; rows can be sorted, and copied with the usual keys."""

    def __init__(self, name: str, headings: Sequence[str] = (), parent: QWidget | None = None):
        super().__init__(parent)
        self.facts = FactsModel(headings)
        self.setModel(self.facts)
        self.horizontalHeader().setResizeContentsPrecision(MEASURED_ROWS)
        self.setAccessibleName(name)
        dress_table(self)
        self.setSortingEnabled(True)
        self.sortByColumn(0, Qt.SortOrder.AscendingOrder)
        self.facts.sort(0)  # the header only does so once there are columns
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
        return self.facts.place_of(rows[0].row()) if rows else None

    def copy(self) -> None:
        """Copy the chosen rows as text that a spreadsheet takes."""
        lines = []
        for index in self.selectionModel().selectedRows():
            cells = [
                str(self.facts.index(index.row(), c).data())
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
