"""The readings on the desk as tab-separated text, for the clipboard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.exports.readings import CSV_COLUMNS, csv_cells

if TYPE_CHECKING:
    from app.desk import Desk


def desk_table(desk: Desk) -> tuple[str, int]:
    """Return the table with its head, and how many readings it has."""
    lines = [line for photo in desk.photos if photo.look is not None for line in photo.look.lines]
    rows = ["\t".join(CSV_COLUMNS)]
    rows.extend("\t".join(_cell(cell) for cell in csv_cells(line)) for line in lines)
    return "\n".join(rows) + "\n", len(lines)


def _cell(cell: object) -> str:
    """Write a cell on one line, without tabs."""
    return "" if cell is None else " ".join(str(cell).split())
