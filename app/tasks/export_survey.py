"""Hand a survey on: as a workbook, a table, or a map file."""

from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from app.errors import OrderError
from app.exports.geojson import writing_geojson
from app.exports.spreadsheet import MOST_THUMBNAILS, writing_spreadsheet
from app.exports.survey_csv import writing_csv
from app.exports.whole_file import check_free
from app.records.record_book import EVERYTHING, RecordBook
from app.survey.kept_reading import KeptReading
from app.tasks.small_pictures import small_pictures
from app.tasks.step import Step, Task

ENDINGS = (".xlsx", ".csv", ".geojson")
STEP = 2_000
"""Readings between two reports of how far it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportOrder:
    """What is asked.

    Parameters
    ----------
    target : Path
        The file; its ending says which kind.
    with_positions : bool
        Whether the sites' positions go out.
    thumbnails : bool
        Whether a workbook shows the tube of each reading (of the first 500).
    byte_order_mark : bool
        Whether a CSV begins with the mark by which spreadsheet programs know UTF-8.
    replace : bool
        Whether a file that is there already may be written over.
    """

    target: Path
    with_positions: bool = False
    thumbnails: bool = False
    byte_order_mark: bool = False
    replace: bool = False

    def __post_init__(self) -> None:
        ending = self.target.suffix.casefold()
        if ending not in ENDINGS:
            raise OrderError(
                f"'{self.target.name}' does not say which kind of file is wanted.",
                what_to_do=f"Give a name that ends in {', '.join(ENDINGS)}.",
            )
        for asked, word, needed in (
            (self.thumbnails, "Pictures", ".xlsx"),
            (self.byte_order_mark, "A byte order mark", ".csv"),
        ):
            if asked and ending != needed:
                raise OrderError(
                    f"{word} can only go into {needed}.",
                    what_to_do=f"Leave it out, or give a name that ends in {needed}.",
                )


def export_survey(book: RecordBook, order: ExportOrder) -> Task[int]:
    """Write every reading of a survey, those that no longer stand marked as such.

    Returns
    -------
    int
        Readings written; features of a map file.

    Raises
    ------
    OrderError
        If there is a file already that may not be replaced, or the disk refuses.
    """
    check_free(order.target, replace=order.replace)
    survey, total = book.survey(), book.count(EVERYTHING)
    pictures = (yield from _pictures(book)) if order.thumbnails else {}
    readings, places = book.each_reading(EVERYTHING), order.with_positions
    ending = order.target.suffix.casefold()
    if ending == ".csv":
        mark = order.byte_order_mark
        writing = writing_csv(
            survey, readings, order.target, with_positions=places, byte_order_mark=mark
        )
    elif ending == ".geojson":
        writing = writing_geojson(survey, readings, order.target, with_positions=places)
    else:
        writing = writing_spreadsheet(
            survey,
            readings,
            order.target,
            with_positions=places,
            thumbnail_of=(lambda kept: pictures.get(kept.id)) if order.thumbnails else None,
        )
    try:
        while True:
            done = next(writing)
            if done % STEP == 0:
                yield Step(done=min(done, total), total=total, note=order.target.name)
    except StopIteration as end:
        return int(end.value)
    finally:
        writing.close()


def _pictures(book: RecordBook) -> Task[dict[int, bytes]]:
    """Make the tubes' pictures of the first readings, a photo a step."""
    by_photo: dict[str, list[KeptReading]] = {}
    for kept in islice(book.each_reading(EVERYTHING), MOST_THUMBNAILS):
        if kept.line.sha256 is not None:
            by_photo.setdefault(kept.line.sha256, []).append(kept)
    pictures: dict[int, bytes] = {}
    for done, (sha256, group) in enumerate(by_photo.items(), start=1):
        path = book.photo_path(sha256)
        found = None if path is None else small_pictures(path, group)
        if found is not None:
            pictures |= found.tubes
        yield Step(done=done, total=len(by_photo), note=group[0].line.photo)
    return pictures
