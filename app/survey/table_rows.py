"""A table of the user's, taken apart: columns matched, rows checked, nothing guessed.

The table comes parsed into cells; where it came from (CSV or a workbook) makes no difference.
"""

import re
import sys
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from app.survey.names import tidy_name
from calibration.sheet_reader import plain_text
from colorcore.errors import SheetError

Cell = str | int | float | bool | date | datetime | None
Fields = Mapping[str, tuple[str, ...]]
"""The fields of a thing, and the headings that are taken for each."""
Thing = TypeVar("Thing")

YES_OR_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
ERRORS_SHOWN = 10
_LONGEST = 2_000
_BROKEN = frozenset(("#REF!", "#N/A", "#VALUE!", "#NAME?", "#DIV/0!", "#NUM!", "#NULL!"))
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table as it was read.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    headings : tuple of str
        The first row.
    rows : tuple of (int, tuple of Cell)
        Number of each row in the file, and its cells; rows without anything are left out.
    decimal_comma : bool
        Whether numbers written as text have a decimal comma.
    """

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]
    decimal_comma: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Matching:
    """Which column is what.

    Parameters
    ----------
    columns : dict
        Place of the column of each field that was found.
    unused : tuple of str
        Headings that are nothing to us.
    """

    columns: dict[str, int]
    unused: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The cells of one row by field; a cell that cannot be right raises ValueError."""

    cells: tuple[Cell, ...]
    columns: Mapping[str, int]
    decimal_comma: bool

    def cell(self, field: str) -> Cell:
        """Return what stands under a field, None where it is blank."""
        place = self.columns.get(field)
        cell = None if place is None or place >= len(self.cells) else self.cells[place]
        if isinstance(cell, str):
            cell = plain_text(cell) or None
            if cell in _BROKEN:
                raise ValueError(f"the {field} holds {cell}, an error of the spreadsheet")
            if cell is not None and len(cell) > _LONGEST:
                raise ValueError(f"the {field} has {len(cell)} characters, more than {_LONGEST}")
        return cell

    def text(self, field: str) -> str | None:
        """Read a text; a date is none."""
        cell = self.cell(field)
        if isinstance(cell, date):
            raise ValueError(
                f"the {field} is a date ({cell:%Y-%m-%d}); format the column as text and type it "
                "again"
            )
        if isinstance(cell, float) and cell.is_integer():
            cell = int(cell)  # a workbook keeps the label 12 as 12.0
        return None if cell is None else tidy_name(str(cell)) or None

    def needed(self, field: str) -> str:
        """Read a text that must be there."""
        text = self.text(field)
        if text is None:
            raise ValueError(f"the {field} is blank")
        return text

    def number(self, field: str) -> float | None:
        """Read a number."""
        cell = self.cell(field)
        if cell is None:
            return None
        if isinstance(cell, str):
            plain = cell.replace(",", ".") if self.decimal_comma else cell
            if _NUMBER.fullmatch(plain) and len(plain) <= 40:
                cell = float(plain)
        if (
            isinstance(cell, bool)
            or not isinstance(cell, int | float)
            or not abs(cell) <= sys.float_info.max  # also for whole numbers that no float can hold
        ):
            comma = "; write it with a point" if isinstance(cell, str) and "," in cell else ""
            raise ValueError(f"the {field} '{str(cell)[:40]}' is not a number{comma}")
        return float(cell)

    def yes_or_no(self, field: str) -> bool | None:
        """Read a yes or no."""
        cell = self.cell(field)
        if cell is None or isinstance(cell, bool):
            return cell
        word = str(cell).casefold()
        if word not in YES_OR_NO:
            raise ValueError(f"the {field} '{word[:40]}' is neither yes nor no")
        return YES_OR_NO[word]

    def moment(self, field: str) -> datetime | None:
        """Read a day with its time; without an offset from UTC it is this machine's time."""
        cell = self.cell(field)
        if cell is None:
            return None
        try:
            moment = cell if isinstance(cell, datetime) else datetime.fromisoformat(str(cell))
            if not isinstance(cell, datetime) and len(str(cell)) < len("2026-05-01 09:30"):
                raise ValueError
        except ValueError:
            raise ValueError(
                f"the {field} '{str(cell)[:40]}' is not a day with a time; write it as "
                "2026-05-01 09:30"
            ) from None
        return moment if moment.utcoffset() is not None else moment.astimezone()

    def day(self, field: str) -> date | None:
        """Read a day."""
        cell = self.cell(field)
        if cell is None:
            return None
        if isinstance(cell, datetime):
            return cell.date()
        if isinstance(cell, date):
            return cell
        try:
            if not re.fullmatch(r"\d{4}-\d\d-\d\d", str(cell), re.ASCII):
                raise ValueError
            return date.fromisoformat(str(cell))
        except ValueError:
            raise ValueError(
                f"the {field} '{str(cell)[:40]}' is not a date; write it as 2026-05-01"
            ) from None


def plain_heading(heading: str) -> str:
    """Reduce a heading to words.

    Examples
    --------
    >>> plain_heading(" Depth_top (cm)"), plain_heading("Latitude [°]")
    ('depth top cm', 'latitude')
    """
    folded = unicodedata.normalize("NFKC", heading).casefold()
    return " ".join(re.sub(r"[\W_]+", " ", folded).split())


def guess_columns(headings: Sequence[str], fields: Fields) -> Matching:
    """Find the column of each field by its heading; of two that fit the first is taken.

    Examples
    --------
    >>> found = guess_columns(["Plot", "Owner"], {"name": ("site", "plot"), "crop": ()})
    >>> found.columns, found.unused
    ({'name': 0}, ('Owner',))
    """
    words = [plain_heading(heading) for heading in headings]
    columns: dict[str, int] = {}
    for field, known in fields.items():
        accepted = (plain_heading(field), *known)
        free = (i for i, w in enumerate(words) if w in accepted and i not in columns.values())
        place = next(free, None)
        if place is not None:
            columns[field] = place
    return Matching(columns=columns, unused=_rest(headings, columns))


def match_columns(table: Table, fields: Fields, said: Mapping[str, str] | None = None) -> Matching:
    """Match columns as the user said; what is left open is guessed.

    Parameters
    ----------
    table : Table
        The table.
    fields : mapping
        Of what the table lists.
    said : mapping, optional
        Heading by field.

    Raises
    ------
    SheetError
        If a field or heading that was said is not there.
    """
    columns: dict[str, int] = {}
    for field, heading in (said or {}).items():
        if field not in fields:
            raise SheetError(
                f"There is no field '{field}'.", what_to_do=f"Use one of {', '.join(fields)}."
            )
        if heading not in table.headings:
            raise SheetError(
                f"{table.name} has no column '{heading}'.",
                what_to_do=f"Its columns are {', '.join(table.headings)}.",
            )
        columns[field] = table.headings.index(heading)
    taken = set(columns.values())
    open_fields = {field: words for field, words in fields.items() if field not in columns}
    headings = ["" if i in taken else heading for i, heading in enumerate(table.headings)]
    columns |= guess_columns(headings, open_fields).columns
    return Matching(columns=columns, unused=_rest(table.headings, columns))


def _rest(headings: Sequence[str], columns: Mapping[str, int]) -> tuple[str, ...]:
    used = set(columns.values())
    return tuple(h for i, h in enumerate(headings) if i not in used and h.strip())


def read_rows(
    table: Table, matching: Matching, keys: Sequence[str], make: Callable[[Row], Thing]
) -> tuple[Thing, ...]:
    """Make a thing of each row; `keys` are the fields that together name one.

    Raises
    ------
    SheetError
        If a column of the keys is missing, or rows cannot be right; each is named with its number.
    """
    for key in keys:
        if key not in matching.columns:
            heads = ", ".join(table.headings)
            raise SheetError(
                f"{table.name} has no column for the {key} (its columns: {heads}).",
                what_to_do=f"Call one of them '{key}', or say which one it is.",
            )
    made: list[Thing] = []
    wrong: list[str] = []
    seen: dict[str, int] = {}
    for number, cells in table.rows:
        row = Row(cells=cells, columns=matching.columns, decimal_comma=table.decimal_comma)
        try:
            thing = make(row)
            name = ", ".join(str(getattr(thing, key)) for key in keys)
            if name in seen:
                raise ValueError(f"'{name}' stands in row {seen[name]} already")
        except ValueError as error:
            wrong.append(f"Row {number}: {error}.")
            continue
        seen[name] = number
        made.append(thing)
    if wrong:
        more = len(wrong) - ERRORS_SHOWN
        rest = f" And {more} more rows." if more > 0 else ""
        raise SheetError(
            f"{len(wrong)} of {len(table.rows)} rows of {table.name} cannot be used. "
            f"{' '.join(wrong[:ERRORS_SHOWN])}{rest}",
            what_to_do="Correct them and add the table again; nothing was added.",
        )
    return tuple(made)
