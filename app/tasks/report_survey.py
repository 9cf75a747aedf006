"""Put the report of a survey together."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice

from app.errors import OrderError
from app.exports.cell_text import printable
from app.exports.drawings import Drawing
from app.exports.map_drawing import draw_map
from app.exports.map_picture import to_svg
from app.exports.map_shapes import HEIGHT, WIDTH
from app.exports.report import PhotoFacts, Report
from app.records.record_book import EVERYTHING, RecordBook
from app.survey.class_view import class_view
from app.survey.kept_reading import KeptReading
from app.survey.overview import Counting, Overview, overview
from app.survey.quality import Result, quality_of, result_of
from app.survey.survey import Survey
from app.tasks.interpret_survey import AdviceOrder, interpret_survey
from app.tasks.small_pictures import small_pictures
from app.tasks.step import Step, Task
from app.tasks.trace_source import MapOrder, trace_source

MOST_READINGS = 500
"""Readings shown one by one: more fill a book that nobody turns the pages of."""
MOST_PHOTOS = 200
MAP_PX = 640
"""Width of a map, 96 pixels an inch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportOrder:
    """What a report is to hold.

    Parameters
    ----------
    advice : AdviceOrder or None
        For which crop and region the readings are to be interpreted.
    with_names : bool
        Whether names of people go out; their codes do.
    with_positions : bool
        Whether positions of sites go out.
    """

    advice: AdviceOrder | None = None
    with_names: bool = True
    with_positions: bool = False


def report_survey(book: RecordBook, order: ReportOrder, now: datetime) -> Task[Report]:
    """Gather everything that a report shows, a photo a step.

    Parameters
    ----------
    book : RecordBook
        The survey.
    order : ReportOrder
        What is asked.
    now : datetime
        With its offset from UTC.

    Raises
    ------
    OrderError
        If the readings cannot be interpreted as asked.
    """
    survey = book.survey()
    counts = Counting()
    results: list[Result] = []
    shown: list[KeptReading] = []
    replaced: list[KeptReading] = []
    for kept in counts.passing(book.each_reading(EVERYTHING)):
        result = result_of(kept)
        if result is not None:
            results.append(result)
        if kept.corrects is not None and len(replaced) < MOST_READINGS:
            replaced.append(kept)
        if kept.stands and len(shown) < MOST_READINGS:
            shown.append(kept)
    quality = quality_of(survey, results)
    advice = None
    if order.advice is not None:
        advice = yield from interpret_survey(survey, book.each_reading(), order.advice)
    photos, tubes = yield from _pictures(book, shown)
    table = overview(survey, quality.pooled, counts)
    maps = (yield from _maps(book, survey, table)) if order.with_positions else ()
    return Report(
        survey=survey,
        made_at=now,
        overview=table,
        quality=quality,
        groups=class_view(survey, results),
        readings=tuple(sorted(shown, key=_by_sample)),
        left_out=sum(counts.statuses.values()) - len(shown),
        replaced=tuple(replaced),
        photos=photos,
        tubes=tubes,
        advice=advice,
        maps=maps,
        with_names=order.with_names,
        with_positions=order.with_positions,
    )


def _maps(book: RecordBook, survey: Survey, table: Overview) -> Task[tuple[Drawing, ...]]:
    """Draw a map of each quantity whose sites can be placed and compared."""
    maps = []
    for quantity in dict.fromkeys(column.quantity for column in table.columns):
        try:
            view = yield from trace_source(survey, book.each_reading(), MapOrder(quantity=quantity))
        except OrderError:
            continue  # no two sites have a place and a reading of the same kind
        title = printable(f"{survey.name}: {view.heading}")
        svg = to_svg(draw_map(view, "values"), title=title)
        maps.append(Drawing(svg=svg, width=MAP_PX, height=round(MAP_PX * HEIGHT / WIDTH)))
    return tuple(maps)


def _by_sample(kept: KeptReading) -> tuple[str, str, str, int]:
    chart = kept.line.chart
    quantity = "" if chart is None else chart.analyte.quantity or chart.name
    entry = kept.line.entry
    return entry.sample or "", "" if quantity == "ph" else quantity, entry.replicate or "", kept.id


def _pictures(
    book: RecordBook, readings: Sequence[KeptReading]
) -> Task[tuple[tuple[PhotoFacts, ...], dict[int, bytes]]]:
    """Make the small pictures of all photos that the readings were made from."""
    by_photo: dict[str, list[KeptReading]] = {}
    for kept in readings:
        if kept.line.sha256 is not None:
            by_photo.setdefault(kept.line.sha256, []).append(kept)
    photos: list[PhotoFacts] = []
    tubes: dict[int, bytes] = {}
    total = min(len(by_photo), MOST_PHOTOS)
    for done, (sha256, group) in enumerate(islice(by_photo.items(), MOST_PHOTOS), start=1):
        path = book.photo_path(sha256)
        found = None if path is None else small_pictures(path, group)
        if found is not None:
            tubes |= found.tubes
        seen = next((k.line.measurement for k in group if k.line.measurement is not None), None)
        photos.append(
            PhotoFacts(
                sha256=sha256,
                name=group[0].line.photo,
                taken_at=None if seen is None else seen.taken_at,
                camera=None if seen is None else seen.camera,
                picture=None if found is None else found.photo,
            )
        )
        yield Step(done=done, total=total, note=group[0].line.photo)
    return tuple(photos), tubes
