"""Reads the tables of published values that ship with the program, each with its source."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from calibration.errors import TableError

_FOLDER = Path(__file__).parent / "tables"
_KEYS = ("source", "region", "year", "unit")


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Published values and where they come from.

    Parameters
    ----------
    name : str
        The file's name.
    source, region, year, unit : str
        Who printed the values, where they hold, when, and in what unit.
    columns : tuple of str
        Headings.
    rows : tuple of tuple of str
        The cells as written; an empty cell is a missing value.
    """

    name: str
    source: str
    region: str
    year: str
    unit: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def column(self, heading: str) -> tuple[str, ...]:
        """Return the cells under one heading, top to bottom."""
        at = self.columns.index(heading)
        return tuple(row[at] for row in self.rows)

    def records(self) -> tuple[dict[str, str], ...]:
        """Return the rows as mappings from heading to cell."""
        return tuple(dict(zip(self.columns, row, strict=True)) for row in self.rows)


def parse_table(text: str, name: str) -> Table:
    r"""Turn the text of a table into a `Table`.

    Raises
    ------
    TableError
        If source, region, year or unit is not given, or a row has too few or too many cells.

    Examples
    --------
    >>> text = "# source: a book\n# region: here\n# year: 1999\n# unit: pH\nx,y\n1,2\n"
    >>> parse_table(text, "small").column("y")
    ('2',)
    """
    lines = text.splitlines()
    notes = dict(_note(line) for line in lines if line.startswith("#"))
    missing = [key for key in _KEYS if not notes.get(key)]
    if missing:
        raise TableError(
            f"The table {name} does not give its {' and '.join(missing)}.",
            what_to_do=f"Add a line '# {missing[0]}: ...' on top of the file.",
        )
    cells = [
        tuple(row) for row in csv.reader(line for line in lines if line and line[0] != "#") if row
    ]
    if len(cells) < 2 or any(len(row) != len(cells[0]) for row in cells):
        raise TableError(
            f"The table {name} is damaged: its rows are missing or differ in length.",
            what_to_do="Install the program again, or mend the file.",
        )
    known = {key: notes[key] for key in _KEYS}
    return Table(name=name, columns=cells[0], rows=tuple(cells[1:]), **known)


def _note(line: str) -> tuple[str, str]:
    key, _, text = line.lstrip("# ").partition(":")
    return key.strip(), text.strip()


@cache
def load_table(name: str) -> Table:
    """Read one of the tables that ship with the program.

    Raises
    ------
    TableError
        If the file is absent or `parse_table` refuses it.

    Examples
    --------
    >>> load_table("citrate_phosphate.csv").year
    '1921'
    """
    try:
        text = (_FOLDER / name).read_text(encoding="utf-8")
    except OSError as error:
        raise TableError(
            f"The table {name} cannot be read: {error.strerror}.",
            what_to_do="Install the program again.",
        ) from error
    return parse_table(text, name)
