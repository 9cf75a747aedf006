"""Tables of soil science, ours and the user's: every one with source, region, year and unit."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from calibration.errors import TableError
from calibration.table_reader import Table, parse_table

_FOLDER = Path(__file__).parent / "tables"
_NEEDED = ("source", "region", "year", "unit")
_DELIMITERS = (",", ";", "\t")
_DECIMAL_COMMA = re.compile(r"\d+,\d+|\d+(,\d+)?-\d+(,\d+)?", re.A)  # 2,5 and 2,5-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """Where a number stands printed.

    Parameters
    ----------
    source, region, year : str
        Who printed it, where it holds, and when.
    """

    source: str
    region: str
    year: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of a table, which can say where it stands.

    Parameters
    ----------
    table : str
        Name of the table.
    line : int
        Number of the line in the file, from 1.
    cells : tuple of (str, str)
        Headings and what stands under them.
    """

    table: str
    line: int
    cells: tuple[tuple[str, str], ...]

    def text(self, heading: str) -> str:
        """Return the text under a heading, "" where it is blank or there is no such column."""
        return dict(self.cells).get(heading, "").strip()

    def needed(self, heading: str) -> str:
        """Return the text under a heading that must not be blank."""
        text = self.text(heading)
        if not text:
            raise self.error(f"'{heading}' is blank.", f"Fill in the {heading}.")
        return text

    def number(self, heading: str, *, signed: bool = False) -> float:
        """Return the number under a heading, 0 or more unless signed, that must not be blank."""
        return self._number(heading, self.needed(heading), signed=signed)

    def maybe_number(self, heading: str, *, signed: bool = False) -> float | None:
        """Return the number under a heading, None where it is blank."""
        text = self.text(heading)
        return self._number(heading, text, signed=signed) if text else None

    def span(self, heading: str) -> tuple[float, float]:
        """Return both ends of "2-3"; a single number is both."""
        text = self.needed(heading)
        low, dash, high = text.partition("-")
        if not dash or not low:
            return (self._number(heading, text),) * 2
        ends = self._number(heading, low.strip()), self._number(heading, high.strip())
        if ends[0] > ends[1]:
            raise self.error(f"{heading} '{text[:40]}' runs backwards.", "Write the lower first.")
        return ends

    def _number(self, heading: str, text: str, *, signed: bool = False) -> float:
        if len(text) > 20 or re.fullmatch(rf"{'-?' * signed}\d+(\.\d*)?", text, re.A) is None:
            raise self.error(
                f"{heading} '{text[:40]}' is not a number.", "Write a plain number of 0 or more."
            )
        return float(text)

    def error(self, what_happened: str, what_to_do: str) -> TableError:
        """Return an error that names this line."""
        return TableError(f"{self.table}, line {self.line}: {what_happened}", what_to_do=what_to_do)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilTable:
    """A table whose rows know their lines.

    Parameters
    ----------
    table : Table
        The cells, with source, region, year and unit.
    lines : tuple of int
        Line of each row.
    head_line, unit_line : int
        Lines of the headings and of the unit.
    """

    table: Table
    lines: tuple[int, ...]
    head_line: int
    unit_line: int

    def __iter__(self) -> Iterator[Row]:
        for line, cells in zip(self.lines, self.table.rows, strict=True):
            pairs = tuple(zip(self.table.columns, cells, strict=True))
            yield Row(table=self.table.name, line=line, cells=pairs)

    @property
    def unit(self) -> str:
        """The unit alone; what stands behind a semicolon explains it."""
        return self.table.unit.partition(";")[0].strip()

    @property
    def citation(self) -> Citation:
        """Where the table stands printed."""
        return Citation(source=self.table.source, region=self.table.region, year=self.table.year)


def read_soil_table(text: str, name: str) -> SoilTable:
    r"""Turn a table's text into a `SoilTable`: separated by comma, semicolon or tab.

    Separated by semicolon or tab, a comma inside a number is a decimal comma. Lines that a
    spreadsheet program put in quotation marks or filled up with separators are understood.

    Parameters
    ----------
    text : str
        What the file holds.
    name : str
        The file's name, for messages.

    Raises
    ------
    TableError
        If source, region, year or unit is missing, or a row is not whole; the line is named.

    Examples
    --------
    >>> text = "# source: a book\n# region: here\n# year: 1999\n# unit: pH\nx;y\n1;2,5\n"
    >>> [(row.line, row.number("y")) for row in read_soil_table(text, "own.csv")]
    [(6, 2.5)]
    """
    lines = text.removeprefix("\ufeff").splitlines()
    is_note = [line.lstrip('"').startswith("#") for line in lines]
    cells = [line for line, note in zip(lines, is_note, strict=True) if line.strip() and not note]
    delimiter = max(_DELIMITERS, key=cells[0].count) if cells else ","
    notes: dict[str, int] = {}
    tidy, numbers, width = [], [], 0
    for number, (line, note) in enumerate(zip(lines, is_note, strict=True), 1):
        if note:
            tidy.append(_tidy_note(line, delimiter))
            notes.setdefault(tidy[-1].lstrip("# ").partition(":")[0].strip(), number)
        elif line.strip(delimiter + ' "'):
            row = _cells_of(line, delimiter, name, number)
            width = width or len(row)
            if len(row) != width:
                raise TableError(
                    f"{name}, line {number}: it has {len(row)} cells under {width} headings.",
                    what_to_do="Give every line as many cells as there are headings.",
                )
            tidy.append(_joined(row))
            numbers.append(number)
    missing = [key for key in _NEEDED if key not in notes or _is_blank(tidy, key)]
    if missing:
        at = notes.get(missing[0], numbers[0] if numbers else 1)
        raise TableError(
            f"{name}, line {at}: the table's {' and '.join(missing)} must stand above its "
            "headings and does not.",
            what_to_do=f"Add a line '# {missing[0]}: ...' on top of the file.",
        )
    table = parse_table("\n".join(tidy), name)
    return SoilTable(
        table=table,
        lines=tuple(numbers[1:]),
        head_line=numbers[0],
        unit_line=notes["unit"],
    )


def _is_blank(tidy: list[str], key: str) -> bool:
    pattern = re.compile(rf"#+\s*{key}\s*:\s*$")
    return any(pattern.match(line) for line in tidy)


def _tidy_note(line: str, delimiter: str) -> str:
    if line.startswith('"'):
        line = next(csv.reader([line], delimiter=delimiter), [""])[0]
    return line.rstrip(delimiter + " ")


def _cells_of(line: str, delimiter: str, name: str, number: int) -> list[str]:
    try:
        row = next(csv.reader([line], delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise TableError(
            f"{name}, line {number}: the quotation marks do not close.",
            what_to_do="Remove stray quotation marks; keep every row on one line.",
        ) from error
    return [
        cell.replace(",", ".") if delimiter != "," and _DECIMAL_COMMA.fullmatch(cell) else cell
        for cell in map(str.strip, row)
    ]


def _joined(row: list[str]) -> str:
    return ",".join('"' + cell.replace('"', '""') + '"' for cell in row)


@cache
def load_table(name: str) -> SoilTable:
    """Read one of the tables that ship with the program, by its name without ending.

    Examples
    --------
    >>> load_table("sulphur_rhs").unit
    'g/m2'
    """
    try:
        text = (_FOLDER / f"{name}.csv").read_text(encoding="utf-8")
    except OSError as error:
        raise TableError(
            f"The table {name} cannot be read: {error.strerror}.",
            what_to_do="Install the program again.",
        ) from error
    return read_soil_table(text, f"{name}.csv")


@cache
def table_names() -> tuple[str, ...]:
    """Names of the tables that ship with the program, without ending, in order."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.csv")))
