"""Reads a table of the user's from a file: CSV text, or the first sheet of a workbook."""

import csv
import io
import warnings
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from pathlib import Path
from xml.etree.ElementTree import ParseError

from app.records.geojson_in import geojson_rows
from app.survey.table_rows import Cell, Table
from calibration.sheet_reader import bytes_of, text_of
from colorcore.errors import SheetError

MAX_BYTES = 20_000_000
MAX_UNPACKED = 200_000_000
MAX_ROWS = 100_000
MAX_COLUMNS = 200
_DELIMITERS = (",", ";", "\t")
_BROKEN_WORKBOOK = (
    *(zipfile.BadZipFile, zlib.error, ParseError, OSError, EOFError),
    *(KeyError, ValueError, TypeError, AttributeError, IndexError, RuntimeError),
)
"""What openpyxl lets through of a workbook that is damaged, locked by a password or none at all."""


def read_table(path: Path) -> Table:
    """Read a table: headings in the first row, then one thing a row.

    CSV with comma, semicolon or tab, in UTF-8 or UTF-16; or XLSX; or the points of a GeoJSON file.

    Raises
    ------
    SheetError
        If the file is no such table, or too large.
    """
    data = bytes_of(path, most=MAX_BYTES)
    if data.startswith(b"PK"):
        rows = _workbook_rows(data, path.name)
        comma = False
    elif data.startswith(b"\xd0\xcf\x11\xe0"):
        raise SheetError(
            f"{path.name} is a workbook of an old kind, or locked by a password.",
            what_to_do="Save it as XLSX without a password.",
        )
    elif data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        rows, comma = geojson_rows(data, path.name), False
    else:
        rows, comma = _text_rows(data, path.name)
    if not rows:
        raise SheetError(f"{path.name} is empty.", what_to_do="Choose a file with a table.")
    (_, head), *rest = rows
    if not rest:
        raise SheetError(
            f"{path.name} has headings but no rows.", what_to_do="Add a row for each one."
        )
    return Table(
        name=path.name,
        headings=tuple("" if cell is None else str(cell).strip() for cell in head),
        rows=tuple(rest),
        decimal_comma=comma,
    )


def _numbered(
    rows: Iterable[tuple[int, tuple[Cell, ...]]], name: str
) -> list[tuple[int, tuple[Cell, ...]]]:
    """Keep rows that hold anything, with their numbers, up to a limit."""
    kept = []
    for number, cells in rows:
        if any(cell is not None and cell != "" for cell in cells):
            kept.append((number, cells))
        if len(kept) > MAX_ROWS or number > 10 * MAX_ROWS:
            raise SheetError(
                f"{name} has more than {MAX_ROWS} rows.", what_to_do="Split it into smaller tables."
            )
    return kept


def _text_rows(data: bytes, name: str) -> tuple[list[tuple[int, tuple[Cell, ...]]], bool]:
    try:
        text = text_of(data, name)
    except SheetError as error:
        raise SheetError(
            f"{name} is not text in UTF-8 or UTF-16, and no workbook.",
            what_to_do="Save it as XLSX or as 'CSV UTF-8' in the spreadsheet program.",
        ) from error
    first = text.lstrip("\r\n").split("\n", 1)[0]
    delimiter = max(_DELIMITERS, key=first.count)

    def rows() -> Iterator[tuple[int, tuple[Cell, ...]]]:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        line = 1
        try:
            for cells in reader:
                yield line, tuple(cell.strip() for cell in cells)
                line = reader.line_num + 1
        except csv.Error as error:
            raise SheetError(
                f"Row {line} of {name}: the quotation marks do not close ({error}).",
                what_to_do="Remove stray quotation marks, or double those inside a quoted cell.",
            ) from error

    return _numbered(rows(), name), delimiter != ","


def _workbook_rows(data: bytes, name: str) -> list[tuple[int, tuple[Cell, ...]]]:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            unpacked = sum(part.file_size for part in packed.infolist())
        if unpacked > MAX_UNPACKED:
            raise SheetError(
                f"{name} unpacks to {unpacked / 1e6:.0f} MB.",
                what_to_do="Take out pictures and sheets that are not needed.",
            )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of decorations that openpyxl does not know
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            try:
                sheet = book.worksheets[0]
                cells = sheet.iter_rows(values_only=True, max_col=MAX_COLUMNS)
                return _numbered(((n, _trimmed(row)) for n, row in enumerate(cells, 1)), name)
            finally:
                book.close()
    except _BROKEN_WORKBOOK as error:
        raise SheetError(
            f"{name} cannot be read as a workbook ({type(error).__name__}).",
            what_to_do="Open it in the spreadsheet program and save it as XLSX without a password.",
        ) from error


def _trimmed(row: Iterable[object]) -> tuple[Cell, ...]:
    """Make cells of whatever the workbook holds, without the blank ones at the end."""
    cells = [_cell(value) for value in row]
    while cells and cells[-1] is None:
        cells.pop()
    return tuple(cells)


def _cell(value: object) -> Cell:
    from openpyxl.utils.escape import unescape

    if isinstance(value, str):
        return str(unescape(value)) if "_x" in value else value
    if value is None or isinstance(value, bool | int | float | date | datetime):
        return value
    return str(value)
