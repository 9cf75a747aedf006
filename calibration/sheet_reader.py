"""Reads a table of the user's, whatever spreadsheet program wrote it, into named cells."""

import csv
import difflib
import io
import math
import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from colorcore.errors import SheetError

MAX_BYTES = 1_000_000
MAX_ROWS = 20_000

_DELIMITERS = (",", ";", "\t")
FORMULA_STARTS = tuple("=+-@\t\r\n\0＝＋－＠")
"""What a spreadsheet may take for a formula (OWASP)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """One line of a sheet.

    Parameters
    ----------
    line : int
        Number of the line in the file, from 1.
    cells : tuple of (str, str)
        Known headings and what stands under them, stripped; only cells that are not blank.
    decimal_comma : bool
        Whether numbers may be written with a comma.
    """

    line: int
    cells: tuple[tuple[str, str], ...]
    decimal_comma: bool

    def text(self, heading: str) -> str | None:
        """Return the text under a heading, None where it is blank."""
        return dict(self.cells).get(heading)

    def needed(self, heading: str) -> str:
        """Return the text under a heading that must not be blank."""
        text = self.text(heading)
        if text is None:
            raise self.error(f"'{heading}' is blank.", f"Fill in the {heading}.")
        return text

    def number(self, heading: str) -> float | None:
        """Return the finite number under a heading, None where it is blank."""
        text = self.text(heading)
        if text is None:
            return None
        plain = text.replace(",", ".") if self.decimal_comma else text
        is_number = re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?", plain, re.I | re.A)
        value = float(plain) if is_number and len(plain) <= 40 else math.nan
        if not math.isfinite(value):
            comma = " with a point, not a comma" if "," in text else ""
            raise self.error(
                f"{heading} '{text[:40]}' is not a number.", f"Write a plain number{comma}."
            )
        return value

    def whole_number(self, heading: str) -> int:
        """Return the whole number of at least 1 under a heading."""
        text = self.needed(heading)
        if re.fullmatch(r"[1-9]\d{0,3}", text, re.A) is None:
            raise self.error(
                f"{heading} '{text[:40]}' is not a whole number from 1.",
                "Count from the left, from 1, in the upright photo.",
            )
        return int(text)

    def one_of(self, heading: str, known: Collection[str]) -> str | None:
        """Return one of the known words under a heading, None where it is blank."""
        text = self.text(heading)
        if text is None:
            return None
        word = text.casefold().replace("-", "_").replace(" ", "_")
        if word not in known:
            raise self.error(
                f"{heading} '{text[:40]}' is not known.", f"Use one of {', '.join(known)}."
            )
        return word

    def error(self, what_happened: str, what_to_do: str) -> SheetError:
        """Return an error that names this line."""
        return SheetError(f"Line {self.line}: {what_happened}", what_to_do=what_to_do)


def read_sheet(
    path: Path, *, required: Collection[str], optional: Collection[str] = ()
) -> tuple[SheetRow, ...]:
    """Read a sheet's lines: comma, semicolon or tab; UTF-8 or UTF-16; any line ends.

    Headings may be in any case. Columns that are not known are left alone, unless their heading
    looks like a misspelt one.

    Parameters
    ----------
    path : Path
        The file.
    required, optional : collection of str
        Headings that must, and that may, be there.

    Raises
    ------
    SheetError
        If the file cannot be read as such a table; the line is named.
    """
    text = text_of(bytes_of(path), path.name)
    delimiter, header = _header_of(text, required, path.name)
    headings = _known_headings(header, required, optional, path.name)
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    try:
        for cells in reader:
            if line > 1 and any(cell.strip() for cell in cells):
                if len(cells) > len(headings) and any(c.strip() for c in cells[len(headings) :]):
                    raise _too_many_cells(line, len(cells), len(headings), delimiter)
                named = tuple(
                    (heading, cell)
                    for heading, raw in zip(headings, cells, strict=False)
                    if heading is not None and (cell := plain_text(raw))
                )
                rows.append(SheetRow(line=line, cells=named, decimal_comma=delimiter != ","))
            line = reader.line_num + 1
            if len(rows) > MAX_ROWS:
                raise SheetError(
                    f"{path.name} has more than {MAX_ROWS} lines.",
                    what_to_do="Split it into smaller sheets.",
                )
    except csv.Error as error:
        raise SheetError(
            f"Line {line}: the quotation marks do not close ({error}).",
            what_to_do="Remove stray quotation marks, or double those inside a quoted cell.",
        ) from error
    if not rows:
        raise SheetError(
            f"{path.name} has headings but no lines.", what_to_do="Add a line for each tube."
        )
    return tuple(rows)


def plain_text(cell: str) -> str:
    """Strip a cell, and the one apostrophe that keeps a text from being taken for a formula.

    Examples
    --------
    >>> plain_text("'=plot 4"), plain_text(" 's-plot ")
    ('=plot 4', "'s-plot")
    """
    stripped = cell.strip()
    guarded = stripped.startswith("'") and stripped[1:].lstrip(" ").startswith(FORMULA_STARTS)
    return stripped[1:] if guarded else stripped


def bytes_of(path: Path, *, most: int = MAX_BYTES) -> bytes:
    """Return what a regular file of modest size holds.

    Raises
    ------
    SheetError
        If it is none, or the system does not give it.
    """
    try:
        if not path.is_file():
            raise SheetError(
                f"There is no file {path}.", what_to_do="Check the name and the folder."
            )
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as error:
        raise SheetError(
            f"{path} cannot be read: {error.strerror}.",
            what_to_do="Check the name, and close the program that holds it open.",
        ) from error
    if len(data) > most:
        raise SheetError(
            f"{path.name} is larger than {most // 1_000_000} MB.",
            what_to_do="Split it, or take out what is no part of the table.",
        )
    return data


def text_of(data: bytes, name: str) -> str:
    """Return the text that a file holds, in UTF-8 or UTF-16.

    Raises
    ------
    SheetError
        If it is none.
    """
    utf16 = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        text = data.decode("utf-16" if utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise SheetError(
            f"{name} is not text in UTF-8 or UTF-16.",
            what_to_do="Save it as 'CSV UTF-8' in the spreadsheet program.",
        ) from error
    if "\x00" in text:
        raise SheetError(
            f"{name} is no text file.",
            what_to_do="Save it as 'CSV UTF-8' in the spreadsheet program.",
        )
    return text


def _header_of(text: str, required: Collection[str], name: str) -> tuple[str, tuple[str, ...]]:
    """Return the delimiter under which the first line has the required headings, and these."""
    first = text.splitlines()[0] if text.strip() else ""
    for delimiter in _DELIMITERS:
        header = tuple(_heading(cell) for cell in _cells_of(first, delimiter))
        if all(heading in header for heading in required):
            return delimiter, header
    raise SheetError(
        f"The first line of {name} lacks one of the headings {', '.join(required)}.",
        what_to_do="Write the headings on the first line, separated by commas, semicolons or tabs.",
    )


def _cells_of(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return []


def _heading(cell: str) -> str:
    return "_".join(plain_text(cell).casefold().split())


def _known_headings(
    header: tuple[str, ...], required: Collection[str], optional: Collection[str], name: str
) -> list[str | None]:
    """Return the heading of each column, None for a column that is left alone."""
    known = (*required, *optional)
    for heading in header:
        if heading in known and header.count(heading) > 1:
            raise SheetError(
                f"{name} has two columns '{heading}'.", what_to_do="Rename or remove one of them."
            )
        near = difflib.get_close_matches(heading, known, n=1, cutoff=0.8)
        if heading not in known and near:
            raise SheetError(
                f"{name} has a column '{heading[:40]}'.",
                what_to_do=f"Did you mean '{near[0]}'? Correct the heading, or rename the column.",
            )
    return [heading if heading in known else None for heading in header]


def _too_many_cells(line: int, cells: int, headings: int, delimiter: str) -> SheetError:
    hint = (
        "Write numbers with a point, or separate the columns by semicolons."
        if delimiter == ","
        else "Remove the cells too many."
    )
    return SheetError(
        f"Line {line}: it has {cells} cells under {headings} headings.", what_to_do=hint
    )
