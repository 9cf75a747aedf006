"""A survey as a workbook (XLSX): readings, what they are of, how they were made, quality control.

Numbers are numbers, dates are dates, and no text is ever taken for a formula. A cell that shows a
color prints its value too. Rows are written one by one, so that memory stays bounded.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields
from datetime import UTC
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.errors import OrderError
from app.exports.in_pieces import Writing, to_the_end
from app.exports.quality_sheet import Block, group_blocks, quality_blocks
from app.exports.reading_columns import Cell, columns, places_of, row_of
from app.exports.screen_color import screen_color
from app.exports.sheet_rows import SheetRows
from app.exports.whole_file import whole_file
from app.exports.workbook_sheet import THUMBNAIL_PT, Sheet, safe_value
from app.survey.class_view import class_view
from app.survey.kept_reading import KeptReading
from app.survey.quality import Result, quality_of, result_of
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site
from app.survey.survey import Survey
from calibration.chart import Chart

if TYPE_CHECKING:
    from openpyxl import Workbook

MOST_ROWS = 1_048_575
"""Readings that a sheet takes below its heading (from memory)."""
MOST_THUMBNAILS = 500

_PLACE = ("latitude_deg", "longitude_deg", "elevation_m", "map_x_m", "map_y_m")
_HEADINGS = {"noted_at": "noted_at_utc"}
FIRST_SHEET = "xl/worksheets/sheet1.xml"
"""Where the first sheet that is made lies in the workbook's file."""
_COLORED = ("value", "status")


def writing_spreadsheet(
    survey: Survey,
    readings: Iterable[KeptReading],
    target: Path,
    *,
    with_positions: bool = False,
    thumbnail_of: Callable[[KeptReading], bytes | None] | None = None,
) -> Writing:
    """Write a survey as a workbook.

    Parameters
    ----------
    survey : Survey
        Everything but the readings.
    readings : iterable of KeptReading
        In the order of keeping; taken one by one.
    target : Path
        The file.
    with_positions : bool
        Whether the sites' positions go out.
    thumbnail_of : callable, optional
        Gives the small picture of a reading as PNG or JPEG; asked for the first 500 readings.

    Returns
    -------
    int
        Readings written.

    Raises
    ------
    OrderError
        If the disk refuses, or there are more readings than a sheet takes.
    """
    with whole_file(target) as part, _open_workbook() as book:
        results: list[Result] = []
        head = columns(with_positions=with_positions)
        first = Sheet(book, "readings", (*head, *(["thumbnail"] if thumbnail_of else [])))
        with SheetRows(first.sheet, start=2) as rows:
            done = yield from _write_readings(
                first, rows, survey, readings, results, with_positions, thumbnail_of
            )
            _write_things(book, "samples", Sample, survey.samples, hidden=())
            hidden = () if with_positions else _PLACE
            _write_things(book, "sites", Site, survey.sites, hidden=hidden)
            _write_charts(book, survey.charts)
            _write_method(book, survey)
            _write_blocks(book, "quality", quality_blocks(quality_of(survey, results)))
            _write_blocks(book, "groups", group_blocks(class_view(survey, results)))
            _write_things(book, "known values", KnownValue, survey.known_values, hidden=())
            packed = BytesIO()
            book.save(packed)
            with part.open("wb") as file:
                rows.put_into(packed, file, FIRST_SHEET)
    return done


write_spreadsheet = to_the_end(writing_spreadsheet)


@contextmanager
def _open_workbook() -> Iterator["Workbook"]:
    """Give a new workbook; what it has written aside is closed, also where the work is cut off."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    try:
        yield book
    finally:
        for sheet in book.worksheets:
            if not sheet.closed:
                with suppress(OSError):  # the first error is the one that counts
                    sheet.close()


def _write_readings(
    sheet: Sheet,
    rows: SheetRows,
    survey: Survey,
    readings: Iterable[KeptReading],
    results: list[Result],
    with_positions: bool,
    thumbnail_of: Callable[[KeptReading], bytes | None] | None,
) -> Writing:
    """Write the rows of readings, and gather what quality control needs of them."""
    head = columns(with_positions=with_positions)
    places, done = places_of(survey), 0
    colored = [head.index(name) for name in _COLORED]
    for kept in readings:
        if done == MOST_ROWS:
            raise OrderError(
                f"A sheet takes {MOST_ROWS} readings, and there are more.",
                what_to_do="Export them as CSV, or only some of them.",
            )
        result = result_of(kept)
        if result is not None:
            results.append(result)
        picture = thumbnail_of(kept) if thumbnail_of and done < MOST_THUMBNAILS else None
        if picture is not None:
            sheet.picture(picture, len(head), row=done + 2)
        seen = kept.line.measurement
        color = None if seen is None else screen_color(seen.lab)
        cells = row_of(kept, places, with_positions=with_positions)
        rows.add(
            [safe_value(cell) for cell in cells],
            None if color is None else dict.fromkeys(colored, color),
            THUMBNAIL_PT if picture is not None else None,
        )
        done += 1
        yield done
    return done


def _write_blocks(book: "Workbook", title: str, blocks: Iterable[Block]) -> None:
    sheet = Sheet(book, title, ())
    for name, head, *rows in blocks:
        sheet.heading(name)
        sheet.heading(head)
        for row in rows:
            sheet.add(row)
        sheet.add(())


def _write_things(
    book: "Workbook", title: str, kind: Any, things: Sequence[Any], *, hidden: Sequence[str]
) -> None:
    """Write value objects, a column a field."""
    names = [field.name for field in fields(kind) if field.name not in hidden]
    sheet = Sheet(book, title, [_HEADINGS.get(name, name) for name in names])
    for thing in things:
        sheet.add([getattr(thing, name) for name in names])


def _write_charts(book: "Workbook", charts: Sequence[Chart]) -> None:
    head = ("chart", "chart_id", "swatch_value", "unit", "swatch_label", "lightness", "a", "b")
    sheet = Sheet(book, "charts", (*head, "tubes", "standard_uncertainty"))
    for chart in charts:
        for swatch in chart.swatches:
            lab = [round(value, 2) for value in swatch.lab]
            name = swatch.label if swatch.value is None else swatch.value
            cells = (chart.name, chart.id, name, chart.analyte.unit, swatch.label, *lab, swatch.n)
            sheet.add((*cells, swatch.standard_uncertainty), {2: screen_color(swatch.lab)})


def _write_method(book: "Workbook", survey: Survey) -> None:
    """Write how samples were tested and how each chart was made: two columns, block by block."""
    sheet = Sheet(book, "method", ("what", "is"))
    sheet.add(("survey", survey.name))
    sheet.add(("made_at_utc", survey.created_at.astimezone(UTC).replace(tzinfo=None)))
    sheet.add(("colors", "Filled cells are for orientation only: a screen is no instrument."))
    sheet.add(("low_90, high_90", "The true value lies between them in 90 of 100 readings."))
    for method in survey.methods:
        sheet.add(())
        for field in fields(method):
            sheet.add((f"method {field.name}", getattr(method, field.name)))
    for chart in survey.charts:
        sheet.add(())
        for name, cell in _chart_facts(chart):
            sheet.add((f"chart {name}", cell))


def _chart_facts(chart: Chart) -> tuple[tuple[str, Cell], ...]:
    """List what is known of a chart, and how well it reads its own swatches."""
    from calibration.checks import leave_one_out

    return (
        ("name", chart.name),
        ("id", chart.id),
        ("quantity", chart.analyte.quantity),
        ("form", chart.analyte.form),
        ("basis", chart.analyte.basis),
        ("ratio", chart.analyte.ratio),
        ("unit", chart.analyte.unit),
        ("extractant", chart.extractant),
        ("indicator", chart.indicator),
        ("batch", chart.batch),
        ("method", chart.method),
        ("kind", chart.kind),
        ("standards", len(chart.measurements)),
        ("leave-one-out error", leave_one_out(chart).root_mean_square),
        ("white", chart.white),
        ("card reflectance", " ".join(f"{r:g}" for r in chart.card_reflectance)),
        ("cameras", ", ".join(chart.cameras) or None),
        ("light", chart.light_notes),
        ("made_at_utc", chart.created_at.astimezone(UTC).replace(tzinfo=None)),
        ("check again on", chart.check_again_on),
        ("software_version", chart.software_version),
    )
