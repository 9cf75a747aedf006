"""A small sheet that the user types in the window instead of a spreadsheet program."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from app.errors import OrderError
from app.exports.readings import csv_row
from app.exports.whole_file import whole_file
from calibration.sheet_reader import bytes_of, text_of

MOST_LINES = 500
"""More are not typed by hand; such a sheet stays in the spreadsheet program."""

Cells = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]


def load_cells(path: Path, columns: Sequence[str]) -> Cells:
    """Return headings and lines of a sheet; the columns alone where there is no file yet.

    Columns that are in the file stay, those that are missing come behind them.

    Raises
    ------
    SheetError, OrderError
        If the file cannot be read as a small table.
    """
    if not path.exists():
        return tuple(columns), ()
    text = text_of(bytes_of(path), path.name)
    try:
        first = text.partition("\n")[0]
        mark = max(",;\t", key=first.count)
        there, *lines = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
        if len(lines) > MOST_LINES:
            raise ValueError(f"it has more than {MOST_LINES} lines")
    except (ValueError, csv.Error) as error:
        raise OrderError(
            f"The sheet {path.name} cannot be changed here ({error}).",
            what_to_do="Open it in a spreadsheet program.",
        ) from error
    headings = (*there, *(name for name in columns if name not in there))
    width = len(headings)
    return headings, tuple(
        tuple((*line, *[""] * width)[:width])
        for line in lines
        if any(cell.strip() for cell in line)
    )


def save_cells(path: Path, headings: Sequence[str], lines: Sequence[Sequence[str]]) -> None:
    """Write a sheet whole or not at all; blank lines and columns are left out.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    filled = [line for line in lines if any(cell.strip() for cell in line)]
    used = [
        place
        for place, _ in enumerate(headings)
        if place == 0 or any(line[place].strip() for line in filled)
    ]
    with whole_file(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        for line in (headings, *filled):
            file.write(csv_row(line[place].strip() for place in used))
