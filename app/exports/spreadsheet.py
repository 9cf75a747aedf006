"""A survey as a workbook (XLSX): readings, what they are of, how they were made, quality control.

Numbers are numbers, dates are dates, and no text is ever taken for a formula. A cell that shows a
color prints its value too. Rows are written one by one, so that memory stays bounded.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app.errors import OrderError
from app.exports.cell_text import short_text
from app.exports.in_pieces import Writing, to_the_end
from app.exports.quality_sheet import Block, group_blocks, quality_blocks
from app.exports.reading_columns import Cell, columns, places_of, row_of
from app.exports.screen_color import ink_on, screen_color
from app.exports.sheet_rows import SheetRows
from app.exports.whole_file import whole_file
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
THUMBNAIL_PT = 48
LEAST_WIDTH = 11
"""Of a column, in characters."""
FIRST_SERIAL = date(1900, 3, 1)
"""Earlier days are written as text: spreadsheet programs count them differently."""

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
        first = _Sheet(book, "readings", (*head, *(["thumbnail"] if thumbnail_of else [])))
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


class _Sheet:
    """A sheet to which rows are added; texts are made safe on the way."""

    def __init__(self, book: "Workbook", title: str, head: Sequence[str]) -> None:
        from openpyxl.styles import Font
        from openpyxl.utils import get_column_letter

        self.sheet: Any = book.create_sheet(title)
        self._bold = Font(bold=True)
        self._filled: dict[tuple[str, int], Any] = {}
        if head:
            self.sheet.freeze_panes = "A2"
            for place, heading in enumerate(head, start=1):
                width = max(LEAST_WIDTH, len(heading) + 2)
                self.sheet.column_dimensions[get_column_letter(place)].width = width
            self.heading(head)

    def heading(self, cells: Sequence[Cell]) -> None:
        """Add a row in bold."""
        self._append([self._styled(_value(cell), font=self._bold) for cell in cells])

    def add(self, cells: Sequence[Cell], colors: dict[int, str] | None = None) -> None:
        """Add a row; `colors` gives the fill of some places as six hexadecimal digits."""
        row: list[Any] = [_value(cell) for cell in cells]
        for place, color in (colors or {}).items():
            filled = self._cell_of(color, place)
            filled.value = row[place]
            row[place] = filled
        self._append(row)

    def picture(self, data: bytes, column: int, row: int) -> None:
        """Lay a small picture on a row."""
        from openpyxl.drawing.image import Image
        from openpyxl.utils import get_column_letter

        image = Image(BytesIO(data))
        image.width = round(image.width * THUMBNAIL_PT / image.height)
        image.height = THUMBNAIL_PT
        self.sheet.add_image(image, f"{get_column_letter(column + 1)}{row}")

    def _append(self, row: Sequence[Any]) -> None:
        self.sheet.append(row)

    def _styled(self, value: Any, **styles: Any) -> Any:
        from openpyxl.cell import WriteOnlyCell

        cell = WriteOnlyCell(self.sheet, value=value)
        for name, style in styles.items():
            setattr(cell, name, style)
        return cell

    def _cell_of(self, color: str, place: int) -> Any:
        """Return a cell of a color; a row is written at once, so the cell serves again."""
        from openpyxl.styles import Font, PatternFill

        if (color, place) not in self._filled:
            fill = PatternFill("solid", start_color=color, end_color=color)
            ink = Font(color=ink_on(color))
            self._filled[color, place] = self._styled(None, fill=fill, font=ink)
        return self._filled[color, place]


def _value(cell: Cell) -> Any:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, str):
        return short_text(cell)
    if isinstance(cell, date):  # a datetime is one too
        if isinstance(cell, datetime) and cell.utcoffset() is not None:
            cell = cell.astimezone(UTC).replace(tzinfo=None)
        day = cell.date() if isinstance(cell, datetime) else cell
        return cell if day >= FIRST_SERIAL else cell.isoformat()
    return cell


def _write_readings(
    sheet: _Sheet,
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
            [_value(cell) for cell in cells],
            None if color is None else dict.fromkeys(colored, color),
            THUMBNAIL_PT if picture is not None else None,
        )
        done += 1
        yield done
    return done


def _write_blocks(book: "Workbook", title: str, blocks: Iterable[Block]) -> None:
    sheet = _Sheet(book, title, ())
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
    sheet = _Sheet(book, title, [_HEADINGS.get(name, name) for name in names])
    for thing in things:
        sheet.add([getattr(thing, name) for name in names])


def _write_charts(book: "Workbook", charts: Sequence[Chart]) -> None:
    head = ("chart", "chart_id", "swatch_value", "unit", "swatch_label", "lightness", "a", "b")
    sheet = _Sheet(book, "charts", (*head, "tubes", "standard_uncertainty"))
    for chart in charts:
        for swatch in chart.swatches:
            lab = [round(value, 2) for value in swatch.lab]
            name = swatch.label if swatch.value is None else swatch.value
            cells = (chart.name, chart.id, name, chart.analyte.unit, swatch.label, *lab, swatch.n)
            sheet.add((*cells, swatch.standard_uncertainty), {2: screen_color(swatch.lab)})


def _write_method(book: "Workbook", survey: Survey) -> None:
    """Write how samples were tested and how each chart was made: two columns, block by block."""
    sheet = _Sheet(book, "method", ("what", "is"))
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
