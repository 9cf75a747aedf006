"""Hostile text in every field comes through every export as text."""

import csv
import json
from dataclasses import replace
from datetime import datetime
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from app.exports.cell_text import printable
from app.exports.clipboard import clipboard_text
from app.exports.geojson import write_geojson
from app.exports.reading_columns import COLUMNS
from app.exports.report import PhotoFacts, Report
from app.exports.report_page import report_html
from app.exports.spreadsheet import write_spreadsheet
from app.exports.survey_csv import write_csv
from app.survey.class_view import class_view
from app.survey.import_tables import read_sites
from app.survey.kept_reading import KeptReading
from app.survey.method import Method, Test
from app.survey.names import tidy_name
from app.survey.overview import Counting, overview
from app.survey.quality import quality_of, result_of
from app.survey.sample import Sample
from app.survey.site import Site
from app.survey.survey import Survey
from app.survey.table_rows import Table
from app.tube_reading import TubeEntry, TubeReading
from colorcore.reasons import Reason
from tests.app.sample_surveys import CHART, NOW, make_reading

FORMULAS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
hostile = st.sampled_from(
    [
        "=1+1",
        '=HYPERLINK("http://x","y")',
        "  @SUM(A1)",
        "-2+3",
        "\t=1",
        "\x00=1",
        "<script>alert(1)</script>&amp;",
        "a,b;c\td\"e'f",
        "line\r\nline\rline\nline",
        "مرحبا \u202eevil\u202c",
        "e\u0301 🌱 \ufeff",
        "_x0041_",
        "]]><!-- &#0;",
        "1-2",
        "2026-05-01",
        "TRUE",
        "1e5",
        "x" * 40_000,
        "\x1b[31mred",
        "\ud800 half",
        "\ufffe\uffff",
    ]
) | st.text(st.characters(), max_size=40)


def survey_of(text: str) -> tuple[Survey, KeptReading]:
    """Make a survey with the same text in every field that takes one."""
    name = tidy_name(text) or "x"
    words = name
    chart = replace(
        CHART,
        name=text,
        extractant=text,
        indicator=text,
        batch=text,
        method=text,
        light_notes=text,
        cameras=(text,),
        swatches=tuple(replace(swatch, label=text) for swatch in CHART.swatches),
    )
    reason = Reason(code="blurred", text=text, what_to_do=text, weight="doubtful")
    reading = replace(
        make_reading(status="doubtful"),
        swatch_label=text,
        largest_term=text,
        reasons=(reason,),
    )
    line = TubeReading(
        photo=text,
        tube=1,
        entry=TubeEntry(sample=name, replicate=text, chart=text, role=text),
        chart=chart,
        reading=reading,
        measurement=None,
        box=None,
        card=None,
        sha256=text,
    )
    kept = KeptReading(
        id=1,
        kept_at=NOW,
        person=name,
        software_version=text,
        test=name,
        line=line,
        known=(),
        card_reflectance=None,
        corrects=None,
        correction=text,
        withdrawn=False,
        corrected_by=None,
    )
    survey = Survey(
        id=text,
        name=text,
        created_at=NOW,
        software_version=text,
        sites=(Site(name=name, land_use=words, crop=words, notes=words),),
        samples=(Sample(label=name, site=name, texture=words, taken_by=name, notes=words),),
        methods=(Method(name=name, ratio=words, extractant=words, indicator=words, notes=words),),
        tests=(Test(id=name, sample=name, quantity="ph", method=name, notes=words),),
        persons=(),
        known_values=(),
        charts=(chart,),
    )
    return survey, kept


def read_csv(path: Path) -> list[list[str]]:
    """Read a CSV file back as text."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def is_harmless(cell: str) -> bool:
    """Whether no spreadsheet takes a text for a formula, and no terminal for a command."""
    return not cell.lstrip(" ").startswith(FORMULAS) and printable(cell) == cell


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40, deadline=None
)
@example(text="=cmd|'/c calc'!A0")
@example(text="x" * 40_000)
@given(text=hostile)
def test_hostile_text_comes_through_as_text(tmp_path: Path, text: str) -> None:
    """Read back by csv, openpyxl and json: harmless, and otherwise the same text."""
    survey, kept = survey_of(text)
    plain, name = printable(text), printable(tidy_name(text) or "x")

    write_csv(survey, [kept], tmp_path / "a.csv", with_positions=True)
    head, row = read_csv(tmp_path / "a.csv")
    cells = dict(zip(head, row, strict=True))
    assert all(is_harmless(cell) or _is_number(cell) for cell in row)
    for column, expected in (("sample", name), ("replicate", plain), ("what_to_do", plain)):
        assert cells[column].removeprefix("'") == expected.removeprefix("'")

    write_geojson(survey, [kept], tmp_path / "a.geojson", with_positions=True)
    (feature,) = json.loads((tmp_path / "a.geojson").read_text(encoding="utf-8"))["features"]
    assert feature["properties"]["sample"] == name
    assert feature["properties"]["replicate"] == plain

    write_spreadsheet(survey, [kept], tmp_path / "a.xlsx", with_positions=True)
    book = load_workbook(tmp_path / "a.xlsx")
    for sheet in book:
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            assert cell.data_type != "f"
            if isinstance(cell.value, str):
                assert is_harmless(cell.value)
            else:
                assert cell.value is None or isinstance(cell.value, int | float | datetime)
    shown = book["readings"].cell(row=2, column=COLUMNS.index("replicate") + 1).value or ""
    shown = str(shown).replace("_x005F_", "_")  # which openpyxl writes but does not read
    if len(plain) < 30_000:
        assert shown.removeprefix("'") == plain.removeprefix("'")
    else:
        assert shown.endswith("(cut)")


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15, deadline=None
)
@example(text="<script>alert(1)</script>")
@example(text="x" * 40_000)
@given(text=hostile)
def test_hostile_text_stays_text_in_the_report(text: str) -> None:
    """Whatever is typed, the report has the same elements as with a plain word."""
    html = report_html(report_of(text))
    assert elements_of(html)[0] == plain_elements()
    said = " ".join((printable(tidy_name(text) or "x")[:1000]).split())
    assert said in " ".join(elements_of(html)[1].split())
    assert printable(html) == html


@cache
def plain_elements() -> list[str]:
    """Return the elements of a report that holds a plain word everywhere."""
    return elements_of(report_html(report_of("word")))[0]


def report_of(text: str) -> Report:
    """Make the report of a survey with the same text in every field."""
    survey, kept = survey_of(text)
    counts = Counting()
    readings = tuple(counts.passing([replace(kept, correction=None)]))
    results = [result for result in map(result_of, readings) if result is not None]
    quality = quality_of(survey, results)
    return Report(
        survey=survey,
        made_at=NOW,
        overview=overview(survey, quality.pooled, counts),
        quality=quality,
        groups=class_view(survey, results),
        readings=readings,
        left_out=0,
        replaced=(replace(kept, corrects=1),),
        photos=(PhotoFacts(sha256=text, name=text, taken_at=NOW, camera=text, picture=None),),
        tubes={},
    )


def elements_of(html: str) -> tuple[list[str], str]:
    """Return the elements of a page in order, and its text."""
    names: list[str] = []
    texts: list[str] = []
    parser = HTMLParser()
    parser.handle_starttag = lambda tag, attrs: names.append(tag)  # type: ignore[method-assign]
    parser.handle_data = texts.append  # type: ignore[method-assign]
    parser.feed(html)
    parser.close()
    return [name for name in names if name != "wbr"], "".join(texts)


@given(text=hostile)
@settings(max_examples=25, deadline=None)
def test_hostile_text_on_the_clipboard(text: str) -> None:
    """A cell stays a cell, a line a line, and no cell is a formula."""
    survey, kept = survey_of(text)
    head, line, rest = clipboard_text(survey, [kept]).split("\n")
    cells = line.split("\t")
    assert (len(cells), rest) == (len(head.split("\t")), "")
    assert all(is_harmless(cell) or _is_number(cell) for cell in cells)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("name", ["=North", "+1", "plain", "' quoted", '-a, "b"'])
def test_an_exported_name_comes_back_on_import(tmp_path: Path, name: str) -> None:
    """Exactly the apostrophe that was added is taken off."""
    survey, kept = survey_of(name)
    write_csv(survey, [kept], tmp_path / "a.csv")
    head, row = read_csv(tmp_path / "a.csv")
    table = Table(name="a.csv", headings=("name",), rows=((2, (row[head.index("site")],)),))
    assert read_sites(table)[0].name == name
