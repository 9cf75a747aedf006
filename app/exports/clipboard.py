"""Readings as text that a spreadsheet program takes from the clipboard."""

from collections.abc import Iterable
from datetime import datetime

from app.exports.cell_text import cell_text
from app.exports.reading_columns import Cell, columns, places_of, row_of
from app.survey.kept_reading import KeptReading
from app.survey.survey import Survey


def clipboard_text(
    survey: Survey, readings: Iterable[KeptReading], *, with_positions: bool = False
) -> str:
    """Write a line a reading under one of headings, cells apart by tabs.

    Tabs and line ends inside a text become blanks, so that a cell stays a cell.
    """
    places = places_of(survey)
    rows = (row_of(kept, places, with_positions=with_positions) for kept in readings)
    lines = [columns(with_positions=with_positions), *rows]
    return "".join("\t".join(map(_plain, line)) + "\n" for line in lines)


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    return cell_text(" ".join(cell.split())) if isinstance(cell, str) else str(cell)
