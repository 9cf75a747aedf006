"""The doors by which strangers' files come in: each does with a file what the commands do.

A door gives back normally, or raises a `TintwellError`; anything else is a fault of ours.
"""

import shutil
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache, partial
from pathlib import Path

from app.exports.readings import as_csv_row, as_json_line, as_table
from app.exports.report_page import report_html
from app.records.record_book import open_survey
from app.records.tables_in import read_table
from app.soil.crops import find_crop
from app.survey.import_tables import (
    read_known_values,
    read_methods,
    read_samples,
    read_sites,
    read_tests,
)
from app.tasks.advice_sheets import find_region, read_grounds, read_laboratory, read_products
from app.tasks.desk_file import load_desk
from app.tasks.draft_file import load_draft
from app.tasks.export_survey import ExportOrder, export_survey
from app.tasks.interpret_survey import AdviceOrder, interpret_survey
from app.tasks.judge_quality import judge_quality
from app.tasks.plan_file import load_plan
from app.tasks.read_photo import ReadOrder, read_one
from app.tasks.report_survey import ReportOrder, report_survey
from app.tasks.screen_picture import read_thumbnail
from app.tasks.step import finish
from app.tasks.survey_care import check_survey
from app.tasks.trace_source import MapOrder, trace_source
from app.terminal.show_chart import describe
from app.terminal.trace import read_heads
from calibration.chart_file import chart_text, load_chart, parse_chart
from calibration.reading import read_measurement
from calibration.sheets import (
    read_in_frame_sheet,
    read_patches,
    read_regions,
    read_standards_sheet,
    read_tubes_sheet,
)
from colorcore.errors import TintwellError
from tests.app.sample_surveys import LATER
from tests.calibration.sample_charts import make_measurement

Door = Callable[[Path], object]
CHART = "sound-chart.json"
"""A sound chart that lies beside the file in question."""


@cache
def _order(folder: Path) -> ReadOrder:
    chart = load_chart(folder / CHART)
    return ReadOrder(charts=((chart.name, chart),), entries={}, known={})


def read_a_photo(path: Path) -> object:
    """Read a photo on a sound chart, say it in all ways, and make its thumbnail."""
    lines = read_one(str(path), _order(path.parent))
    for line in lines:
        as_json_line(line)
        as_csv_row(line)
    as_table(lines)
    return read_thumbnail(path, 160)


def use_a_chart(path: Path) -> object:
    """Read a chart, judge it, read a color on it, and write it again."""
    chart = load_chart(path)
    describe(chart)
    for lab in ((60.0, 10.0, 40.0), (20.0, -60.0, 5.0)):
        as_chart = read_measurement(chart, make_measurement(lab))
        assert as_chart.status in ("accepted", "doubtful", "refused")
    return parse_chart(chart_text(chart), "again")


def open_a_survey(path: Path) -> object:
    """Open a survey, check it, export it in every way, report, interpret and map it."""
    folder = path.with_suffix("")
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "photos").mkdir(parents=True)
    shutil.move(path, folder / "survey.sqlite")
    try:
        for use in _USES:
            _allowing_refusal(use, folder)
        with open_survey(folder) as book:
            return book.survey()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _allowing_refusal(use: Door, folder: Path) -> None:
    with suppress(TintwellError):
        use(folder)


def _check(folder: Path) -> object:
    with open_survey(folder, readonly=True) as book:
        return finish(check_survey(book))


def _export(ending: str, folder: Path) -> object:
    with open_survey(folder, readonly=True) as book:
        target = folder / f"out{ending}"
        return finish(export_survey(book, ExportOrder(target=target, with_positions=True)))


def _report(folder: Path) -> object:
    with open_survey(folder, readonly=True) as book:
        return report_html(finish(report_survey(book, ReportOrder(with_positions=True), LATER)))


def _interpret(folder: Path) -> object:
    with open_survey(folder, readonly=True) as book:
        order = AdviceOrder(crop=find_crop("bean"), region=find_region(["iowa"]), medium="water")
        return finish(interpret_survey(book.survey(), book.each_reading(), order))


def _map(folder: Path) -> object:
    with open_survey(folder, readonly=True) as book:
        order = MapOrder(quantity="ph", background=("S0", "S1"), direction="unknown")
        return finish(trace_source(book.survey(), book.each_reading(), order))


def _judge(folder: Path) -> object:
    return finish(judge_quality(partial(open_survey, folder, readonly=True)))


_USES: tuple[Door, ...] = (
    _check,
    *(partial(_export, ending) for ending in (".csv", ".geojson", ".xlsx")),
    _report,
    _interpret,
    _map,
    _judge,
)


def _as(name: str, load: Door) -> Door:
    """Put the file under the name that the program looks for, alone in a folder."""

    def door(path: Path) -> object:
        folder = path.with_suffix("")
        folder.mkdir(exist_ok=True)
        try:
            path.replace(folder / name)
            for name_beside in ("plan.png", f"{_order(path.parent).charts[0][1].id}.json"):
                shutil.copyfile(path.parent / CHART, folder / name_beside)
            return load(folder)
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    return door


def _known_values(path: Path) -> object:
    return read_known_values(read_table(path), noted_at=LATER, noted_by="P1")


DOORS: Mapping[str, Door] = {
    "photo": read_a_photo,
    "chart": use_a_chart,
    "standards": lambda path: (_either(read_standards_sheet, path), read_in_frame_sheet(path)),
    "tubes": read_tubes_sheet,
    "regions": lambda path: (_either(read_regions, path), read_patches(path)),
    "products": read_products,
    "laboratory": read_laboratory,
    "ground": read_grounds,
    "region": lambda path: find_region([str(path)]),
    "table:sites": lambda path: read_sites(read_table(path)),
    "table:samples": lambda path: read_samples(read_table(path)),
    "table:methods": lambda path: read_methods(read_table(path)),
    "table:tests": lambda path: read_tests(read_table(path)),
    "table:known": _known_values,
    "table:heads": read_heads,
    "survey": open_a_survey,
    "desk": _as("desk.json", load_desk),
    "plan": _as("plan.json", load_plan),
    "draft": _as("facts.json", load_draft),
}


def _either(use: Door, path: Path) -> None:
    _allowing_refusal(use, path)
