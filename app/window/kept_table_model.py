"""Kept readings as a table that asks the survey for the pages that are looked at."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt

from app.window.headed_rows import HeadedRows, Place

if TYPE_CHECKING:
    from app.records.record_book import RecordBook
    from app.survey.kept_reading import KeptReading, ReadingFilter, SortKey
    from calibration.chart import Chart

PAGE = 200
PAGES_KEPT = 20
HEADINGS: tuple[tuple[str, SortKey | None], ...] = (
    ("No.", "kept"),
    ("Sample", "sample"),
    ("Rep.", None),
    ("Test", "quantity"),
    ("Value", "value"),
    ("Sure", "confidence"),
    ("Standing", "status"),
    ("Photo", "photo"),
    ("Tube", None),
    ("Taken", "taken"),
    ("By", "person"),
)


class KeptTableModel(HeadedRows):
    """The readings that a filter wants, page by page."""

    def __init__(self) -> None:
        super().__init__([heading for heading, _ in HEADINGS])
        self._book: RecordBook | None = None
        self._filter: ReadingFilter | None = None
        self._sort: SortKey = "kept"
        self._descending = True
        self._pages: OrderedDict[int, tuple[KeptReading, ...]] = OrderedDict()

    def ask(self, book: RecordBook | None, wanted: ReadingFilter | None) -> None:
        """Show what a filter wants of a survey; nothing without one."""
        self.beginResetModel()
        self._book, self._filter = book, wanted
        self._pages.clear()
        self.rows = range(0 if book is None or wanted is None else book.count(wanted))
        self.endResetModel()

    def reading_at(self, row: int) -> KeptReading | None:
        """Return the reading of a row."""
        if self._book is None or self._filter is None or row not in self.rows:
            return None
        number, place = divmod(row, PAGE)
        page = self._pages.get(number)
        if page is None:
            page = self._book.readings(
                self._filter,
                sort=self._sort,
                descending=self._descending,
                offset=number * PAGE,
                limit=PAGE,
            )
            self._pages[number] = page
            if len(self._pages) > PAGES_KEPT:
                self._pages.popitem(last=False)
        return page[place] if place < len(page) else None

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column that can be sorted by."""
        key = HEADINGS[column][1] if 0 <= column < len(HEADINGS) else None
        if key is None:
            return
        self.beginResetModel()
        self._sort, self._descending = key, order == Qt.SortOrder.DescendingOrder
        self._pages.clear()
        self.endResetModel()

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what stands in a cell."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return None
        kept = self.reading_at(index.row())
        if kept is None:
            return None
        return cells_of(kept)[index.column()]


def cells_of(kept: KeptReading) -> tuple[str, ...]:
    """Return what the table says of a reading, in the order of its headings."""
    from app.wording import say_value

    line, reading = kept.line, kept.line.reading
    taken = kept.taken_at
    standing: str = reading.status
    if not kept.stands:
        standing = "withdrawn" if kept.withdrawn else "replaced"
    elif kept.corrects is not None:
        standing = f"{standing}, corrects {kept.corrects}"
    sure = "" if reading.confidence is None else f"{100 * reading.confidence:.0f} %"
    return (
        str(kept.id),
        line.entry.sample or "",
        line.entry.replicate or "",
        _test_of(line.chart),
        "" if line.chart is None else say_value(reading, line.chart),
        sure,
        standing,
        line.photo,
        "" if line.tube is None else str(line.tube),
        "" if taken is None else taken.strftime("%Y-%m-%d %H:%M"),
        kept.person,
    )


def _test_of(chart: Chart | None) -> str:
    if chart is None:
        return ""
    return "pH" if chart.analyte.is_ph else chart.analyte.quantity or chart.name
