"""One sheet of a workbook: rows whose texts are safe, cells that show a color, small pictures."""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

from app.exports.cell_text import short_text
from app.exports.reading_columns import Cell
from app.exports.screen_color import ink_on

if TYPE_CHECKING:
    from openpyxl import Workbook

THUMBNAIL_PT = 48
LEAST_WIDTH = 11
"""Of a column, in characters."""
FIRST_SERIAL = date(1900, 3, 1)
"""Earlier days are written as text: spreadsheet programs count them differently."""


class Sheet:
    """A sheet to which rows are added; texts are made safe on the way."""

    def __init__(self, book: "Workbook", title: str, head: Sequence[str]) -> None:
        from openpyxl.styles import Font
        from openpyxl.utils import get_column_letter

        self.sheet: Any = book.create_sheet(title)
        self._bold = Font(bold=True)
        self._filled: dict[tuple[str, int], Any] = {}
        if head:
            self.sheet.freeze_panes = "A2"
            for place, heading in enumerate(head, start=1):
                width = max(LEAST_WIDTH, len(heading) + 2)
                self.sheet.column_dimensions[get_column_letter(place)].width = width
            self.heading(head)

    def heading(self, cells: Sequence[Cell]) -> None:
        """Add a row in bold."""
        self.sheet.append([self._styled(safe_value(cell), font=self._bold) for cell in cells])

    def add(self, cells: Sequence[Cell], colors: dict[int, str] | None = None) -> None:
        """Add a row; `colors` gives the fill of some places as six hexadecimal digits."""
        row: list[Any] = [safe_value(cell) for cell in cells]
        for place, color in (colors or {}).items():
            filled = self._cell_of(color, place)
            filled.value = row[place]
            row[place] = filled
        self.sheet.append(row)

    def picture(self, data: bytes, column: int, row: int) -> None:
        """Lay a small picture on a row."""
        from openpyxl.drawing.image import Image
        from openpyxl.utils import get_column_letter

        image = Image(BytesIO(data))
        image.width = round(image.width * THUMBNAIL_PT / image.height)
        image.height = THUMBNAIL_PT
        self.sheet.add_image(image, f"{get_column_letter(column + 1)}{row}")

    def _styled(self, value: Any, **styles: Any) -> Any:
        from openpyxl.cell import WriteOnlyCell

        cell = WriteOnlyCell(self.sheet, value=value)
        for name, style in styles.items():
            setattr(cell, name, style)
        return cell

    def _cell_of(self, color: str, place: int) -> Any:
        """Return a cell of a color; a row is written at once, so the cell serves again."""
        from openpyxl.styles import Font, PatternFill

        if (color, place) not in self._filled:
            fill = PatternFill("solid", start_color=color, end_color=color)
            ink = Font(color=ink_on(color))
            self._filled[color, place] = self._styled(None, fill=fill, font=ink)
        return self._filled[color, place]


def safe_value(cell: Cell) -> Any:
    """Make a value such as every spreadsheet program takes it."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, str):
        return short_text(cell)
    if isinstance(cell, date):  # a datetime is one too
        if isinstance(cell, datetime) and cell.utcoffset() is not None:
            cell = cell.astimezone(UTC).replace(tzinfo=None)
        day = cell.date() if isinstance(cell, datetime) else cell
        return cell if day >= FIRST_SERIAL else cell.isoformat()
    return cell
