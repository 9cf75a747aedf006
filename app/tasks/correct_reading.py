"""Correct a kept reading: the old one stays, a new one takes its place."""

from dataclasses import replace
from datetime import datetime

from app.errors import OrderError
from app.records.record_book import RecordBook
from app.survey.names import tidy_name
from app.tasks.read_photo import ReadOrder, read_one
from app.tube_reading import TubeEntry
from calibration.chart import Chart
from colorcore.geometry import Box

DRAW_AGAIN = "Read its photo again in the window, where the region can be drawn."


def relabel_reading(
    book: RecordBook,
    number: int,
    *,
    sample: str | None = None,
    replicate: str | None = None,
    reason: str,
    person: str,
    now: datetime,
) -> int:
    """Say that a reading is of another sample or replicate; its values stay.

    Returns
    -------
    int
        The number of the reading that takes its place.

    Raises
    ------
    OrderError
        If nothing would change.
    RecordsError
        If there is no such reading, it was corrected before, or the reason is empty.
    """
    line = book.reading(number).line
    entry = replace(
        line.entry,
        sample=line.entry.sample if sample is None else tidy_name(sample),
        replicate=line.entry.replicate if replicate is None else tidy_name(replicate) or None,
    )
    if entry == line.entry:
        raise OrderError(
            f"Reading {number} says so already.", what_to_do="Give another sample or replicate."
        )
    return book.correct(number, replace(line, entry=entry), reason=reason, person=person, now=now)


def read_again(
    book: RecordBook, number: int, chart: Chart, *, reason: str, person: str, now: datetime
) -> int:
    """Read a kept tube again from its photo on another chart, as it was read the first time.

    What was drawn over the photo and its known tubes are those that were kept.

    Returns
    -------
    int
        The number of the reading that takes its place.

    Raises
    ------
    OrderError
        If the photo is gone, the region was drawn by hand and not kept, or another tube stands
        there now.
    RecordsError
        If there is no such reading, it was corrected before, or the reason is empty.
    """
    kept = book.reading(number)
    line = kept.line
    path = None if line.sha256 is None else book.photo_path(line.sha256)
    if path is None or not path.is_file() or line.tube is None:
        raise OrderError(
            f"The photo of reading {number} is not there, so it cannot be read again.",
            what_to_do="See tintwell check, or withdraw the reading.",
        )
    drawn = line.measurement is not None and line.measurement.outline == "by_hand"
    if drawn and line.hand is None:
        raise OrderError(
            f"The region of reading {number} was drawn by hand, and an older version did not keep "
            "where.",
            what_to_do=DRAW_AGAIN,
        )
    key = str(path.resolve())
    entry = TubeEntry(
        sample=line.entry.sample, replicate=line.entry.replicate, role=line.entry.role
    )
    order = ReadOrder(
        charts=((chart.name, chart),),
        entries={(key, line.tube): entry},
        known={key: kept.known},
        reflectance=kept.card_reflectance,
    )
    lines = read_one(str(path), order, line.hand)
    found = next((new for new in lines if new.tube == line.tube), None)
    if found is None or not _same_place(line.box, found.box):
        raise OrderError(
            f"Tube {line.tube} was not found in its place in the photo again.",
            what_to_do=DRAW_AGAIN,
        )
    again = replace(found, photo=line.photo)
    return book.correct(number, again, reason=reason, person=person, now=now)


def _same_place(before: Box | None, now: Box | None) -> bool:
    """Tell whether two regions are of one tube, by how far their middles lie apart."""
    if before is None or now is None:
        return True
    (x, y), (x_now, y_now) = before.center, now.center
    return abs(x - x_now) < max(before.w, now.w) and abs(y - y_now) < max(before.h, now.h)
