"""Many rows of a workbook's sheet as XML, written aside and put in at the end.

openpyxl writes a cell through three objects; a hundred thousand readings of forty cells each would
take it a minute. Styles, widths, pictures and all other sheets are still its own.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from tempfile import TemporaryFile
from typing import IO, TYPE_CHECKING, Any
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile

from app.exports.screen_color import ink_on

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

PIECE = 1 << 20
_END = b"</sheetData>"


class SheetRows:
    """Rows that follow on those which a sheet has already; close it, or use it with `with`.

    Parameters
    ----------
    sheet : Worksheet
        Where they belong; gives the styles.
    start : int
        Number of the first row.
    """

    def __init__(self, sheet: "Worksheet", start: int) -> None:
        from openpyxl.utils import get_column_letter

        self._sheet = sheet
        self._row = start
        self._rows: IO[bytes] = TemporaryFile()  # noqa: SIM115 - closed with this object
        self._letters = [get_column_letter(place) for place in range(1, 200)]
        self._styles: dict[tuple[str, str | None], int] = {}

    def __enter__(self) -> "SheetRows":
        return self

    def __exit__(self, *error: object) -> None:
        self._rows.close()

    def add(
        self,
        cells: Sequence[Any],
        colors: Mapping[int, str] | None = None,
        height: float | None = None,
    ) -> None:
        """Add a row of values that are safe already; `colors` gives the fill of some places."""
        number, parts = str(self._row), []
        for place, cell in enumerate(cells):
            color = None if colors is None else colors.get(place)
            if cell is None and color is None:
                continue
            where = f'<c r="{self._letters[place]}{number}"{self._style(cell, color)}'
            if cell is None:
                parts.append(f"{where}/>")
            elif isinstance(cell, str):
                parts.append(f"{where}{_text(cell)}")
            else:
                serial = _serial(cell) if isinstance(cell, date) else cell
                parts.append(f"{where}><v>{serial}</v></c>")
        tall = "" if height is None else f' ht="{height:g}" customHeight="1"'
        self._rows.write(f'<row r="{number}"{tall}>{"".join(parts)}</row>'.encode())
        self._row += 1

    def _style(self, cell: Any, color: str | None) -> str:
        """Return the attribute that names a cell's style; nothing for an ordinary one."""
        kind = "" if not isinstance(cell, date) else _FORMATS[isinstance(cell, datetime)]
        if not kind and color is None:
            return ""
        if (kind, color) not in self._styles:
            self._styles[kind, color] = self._style_number(kind, color)
        return f' s="{self._styles[kind, color]}"'

    def _style_number(self, kind: str, color: str | None) -> int:
        from openpyxl.cell import WriteOnlyCell
        from openpyxl.styles import Font, PatternFill

        cell = WriteOnlyCell(self._sheet)
        if kind:
            cell.number_format = kind
        if color is not None:
            cell.fill = PatternFill("solid", start_color=color, end_color=color)
            cell.font = Font(color=ink_on(color))
        return int(cell.style_id)

    def put_into(self, packed: IO[bytes], target: IO[bytes], sheet_file: str) -> None:
        """Copy a saved workbook, with these rows at the end of one of its sheets."""
        with ZipFile(packed) as old, ZipFile(target, "w", ZIP_DEFLATED) as new:
            for entry in old.infolist():
                with new.open(entry.filename, "w", force_zip64=True) as file:
                    data = old.read(entry)
                    if entry.filename != sheet_file:
                        file.write(data)
                        continue
                    before, end, after = data.partition(_END)
                    file.write(before)
                    self._rows.seek(0)
                    while piece := self._rows.read(PIECE):
                        file.write(piece)
                    file.write(end + after)


_FORMATS = {False: "yyyy-mm-dd", True: "yyyy-mm-dd h:mm:ss"}
"""Of a day, and of a moment."""


@lru_cache(maxsize=4096)
def _text(text: str) -> str:
    return f' t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'


@lru_cache(maxsize=4096)
def _serial(moment: date) -> float:
    from openpyxl.utils.datetime import to_excel

    return float(to_excel(moment))  # type: ignore[no-untyped-call]
