"""The charts on the desk as a table."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from app.desk import DeskChart
from app.window.chart_facts import chart_words
from app.window.desk_model import DeskModel

COLUMNS = ("In use", "Name", "Measures", "Unit", "Span", "Made on", "Tubes")
USE, NAME = 0, 1
WIDTHS = (70, 240, 150, 80, 110, 100, 70)
Index = QModelIndex | QPersistentModelIndex


class ChartTable(QAbstractTableModel):
    """The charts in the order in which they came."""

    def __init__(self, model: DeskModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.charts: tuple[DeskChart, ...] = model.desk.charts
        model.charts_changed.connect(self._take)

    def _take(self) -> None:
        self.beginResetModel()
        self.charts = self._model.desk.charts
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of charts."""
        return 0 if parent.isValid() else len(self.charts)

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
        return flags | Qt.ItemFlag.ItemIsUserCheckable if index.column() == USE else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell."""
        item = self.charts[index.row()]
        if role == Qt.ItemDataRole.CheckStateRole and index.column() == USE:
            return Qt.CheckState.Checked if item.in_use else Qt.CheckState.Unchecked
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            words = chart_words(item.chart)
            use = "yes" if item.in_use else "no"
            cells = (use, words.name, words.quantity, words.unit, words.span, words.made_on,
                     words.tubes)  # fmt: skip
            return cells[index.column()]
        return None

    def setData(  # noqa: N802 - Qt's name
        self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Use a chart, or no longer."""
        if role != Qt.ItemDataRole.CheckStateRole or index.column() != USE:
            return False
        self.use(self.charts[index.row()], Qt.CheckState(value) == Qt.CheckState.Checked)
        return True

    def use(self, item: DeskChart, in_use: bool) -> None:
        """Read against a chart, or no longer."""
        used = {chart.chart.id for chart in self.charts if chart.in_use}
        used = used | {item.chart.id} if in_use else used - {item.chart.id}
        self._model.use_charts([c.chart.id for c in self.charts if c.chart.id in used])


class ChartListView(QTableView):
    """The table of charts."""

    def __init__(self, table: ChartTable, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._table = table
        self.setModel(table)
        self.setAccessibleName("Charts on the desk")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(28)
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        for column, width in enumerate(WIDTHS):
            self.setColumnWidth(column, width)

    @property
    def chosen(self) -> DeskChart | None:
        """The chart that is chosen."""
        index = self.currentIndex()
        return self._table.charts[index.row()] if index.isValid() else None

    def choose(self, chart_id: str | None) -> None:
        """Choose a chart, the last one where it is not there."""
        rows = [i for i, item in enumerate(self._table.charts) if item.chart.id == chart_id]
        if self._table.charts:
            row = rows[0] if rows else len(self._table.charts) - 1
            self.setCurrentIndex(self._table.index(row, NAME))
