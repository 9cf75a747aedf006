"""The readings of a survey as one tidy CSV table (RFC 4180)."""

import csv
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from app.exports.cell_text import cell_text
from app.exports.in_pieces import Writing, to_the_end
from app.exports.reading_columns import Cell, columns, places_of, row_of
from app.exports.whole_file import whole_file
from app.survey.kept_reading import KeptReading
from app.survey.survey import Survey


def writing_csv(
    survey: Survey,
    readings: Iterable[KeptReading],
    target: Path,
    *,
    with_positions: bool = False,
    byte_order_mark: bool = False,
) -> Writing:
    """Write one row a reading: numbers with a point, ISO 8601 dates, empty where unknown.

    Parameters
    ----------
    survey : Survey
        Sites, samples and tests.
    readings : iterable of KeptReading
        Taken one by one.
    target : Path
        The file.
    with_positions : bool
        Whether the sites' positions go out.
    byte_order_mark : bool
        Whether the file begins with the mark by which spreadsheet programs know UTF-8.

    Returns
    -------
    int
        Readings written.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    places, done = places_of(survey), 0
    encoding = "utf-8-sig" if byte_order_mark else "utf-8"
    with whole_file(target) as part, part.open("w", encoding=encoding, newline="") as file:
        write = csv.writer(file).writerow
        write(columns(with_positions=with_positions))
        for kept in readings:
            cells = row_of(kept, places, with_positions=with_positions)
            write([_as_text(cell) for cell in cells])
            done += 1
            yield done
    return done


write_csv = to_the_end(writing_csv)


def _as_text(cell: Cell) -> object:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, date):  # a datetime is one too
        return cell.isoformat()
    return cell_text(cell) if isinstance(cell, str) else cell
