"""The report holds everything, fetches nothing, runs nothing, and prints on paper."""

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from jinja2.exceptions import UndefinedError
from PIL import Image

from app.exports import report_page
from app.exports.drawings import draw_control, draw_curve, draw_self_test
from app.exports.report import Report
from app.exports.report_page import report_html
from app.records.record_book import RecordBook, create_survey
from app.soil.crops import find_crop
from app.survey.control_chart import RULES
from app.survey.method import Method
from app.survey.sample import Sample
from app.survey.site import Site
from app.tasks.advice_sheets import find_region
from app.tasks.interpret_survey import AdviceOrder
from app.tasks.report_survey import ReportOrder, report_survey
from app.tasks.small_pictures import small_pictures
from app.tasks.step import finish
from calibration.checks import leave_one_out
from colorcore.geometry import Box
from tests.app.sample_surveys import CHART, LATER, NOW, known_ph, make_line

Make = Callable[..., Report]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RecordBook]:
    """Give a survey with a little of everything; its photo is a real picture."""
    folder = tmp_path_factory.mktemp("report")
    photo = folder / "plot-7.jpg"
    pixels = np.full((300, 400, 3), 200, np.uint8)
    pixels[20:100, 10:40] = (40, 160, 90)
    Image.fromarray(pixels).save(photo)
    made = create_survey(folder / "survey", id="s", now=NOW, name="Spring <north>")
    made.add_sites(
        [Site(name="North", latitude_deg=50.25, longitude_deg=-8.5, land_use="garden")],
        person="P1",
        now=NOW,
    )
    made.add_samples(
        [Sample(label="A1", site="North"), Sample(label="Buffer 6", kind="check standard")],
        person="P1",
        now=NOW,
    )
    made.add_methods([Method(name="shake", ratio="1:5", extractant="water")], person="P1", now=NOW)
    made.add_known_values([known_ph("Buffer 6", 6.0, "certificate", uncertainty=0.01)])
    made.name_person("P1", "Ada Invented", person="P1", now=NOW)
    lines = (
        make_line(photo, value=6.2),
        make_line(photo, value=6.4, tube=2, status="doubtful"),
        make_line(photo, value=None, tube=3),
    )
    made.keep_readings(lines, "P1", NOW)
    for i in range(12):
        value = 6.0 + (i % 4) / 50 + (0.9 if i == 10 else 0)
        line = make_line(photo, value=value, tube=i + 4, sample="Buffer 6")
        made.keep_readings((line,), f"P{i % 2 + 1}", LATER + timedelta(days=i))
    made.withdraw(3, reason="spilt <b>", person="P2", now=LATER)
    with made:
        yield made


@pytest.fixture
def make(book: RecordBook) -> Make:
    """Give what gathers a report of the survey."""

    def gather(**order: object) -> Report:
        return finish(report_survey(book, ReportOrder(**order), LATER))  # type: ignore[arg-type]

    return gather


class _Seen(HTMLParser):
    """Collects elements, attributes and text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def test_every_part_is_there(make: Make) -> None:
    """Summary, sites, readings, method, uncertainty, quality, corrections, cautions, provenance."""
    html = report_html(make())
    text = " ".join(_Seen(html).text.split())
    for part in (
        "Spring <north>",
        "14 readings: 13 accepted, 1 doubtful, 0 refused",
        "6.3 ± 0.3",  # 6.2 and 6.4: half-widths 0.30 and 0.33 by put_together's formula
        "North",
        "pH 6.2",
        "Method: shake",
        "Chart: Bench, May",
        "Largest cause of the uncertainty",
        "Check standard: Buffer 6",
        RULES["beyond_action"],
        "spilt <b>",
        "screening, not a laboratory result",
        CHART.id,
        "P1 is Ada Invented",
    ):
        assert part in text, part


def test_it_fetches_nothing_and_runs_nothing(make: Make) -> None:
    """No script, no link, no address; pictures are inside."""
    seen = _Seen(report_html(make()))
    assert not {tag for tag, _ in seen.elements} & {"script", "link", "iframe", "object", "a"}
    assert sum(tag == "img" for tag, _ in seen.elements) > 3
    for tag, attributes in seen.elements:
        assert not any(name.startswith("on") for name in attributes)
        if "src" in attributes:
            assert (attributes["src"] or "").startswith("data:image/jpeg;base64,")
        namespace = attributes.get("xmlns", "")
        assert tag == "svg" or not namespace
    html = re.sub(r'xmlns="[^"]*"', "", report_html(make()))
    assert "http:" not in html.replace("http-equiv", "")
    assert "url(" not in html


def test_no_color_stands_alone(make: Make) -> None:
    """Every cell filled with a color says its value."""
    html = report_html(make())
    cells = re.findall(r'<td class="swatch" style="background-color[^>]*>([^<]*)</td>', html)
    assert len(cells) > 10
    assert all(cell.strip() for cell in cells)


def test_names_and_positions_go_out_only_as_asked(make: Make) -> None:
    """Names unless they are left out, positions only when they are asked for."""
    html = report_html(make(with_names=False))
    assert "Ada Invented" not in html
    assert "50.25" not in html
    assert "soil samples" not in html
    html = report_html(make(with_positions=True))
    assert "50.250000, -8.500000" in html
    assert "Spring &lt;north&gt;: pH of soil samples" in html  # the map


def test_interpretation_where_it_is_asked_for(make: Make) -> None:
    """With its region, sources and cautions, and the numbers of the sections in order."""
    region = find_region(["minnesota"])
    order = AdviceOrder(crop=find_crop("tomato", own=region.crops), region=region)
    html = report_html(make(advice=order))
    assert "7. What it means for tomato" in html
    numbers = [int(n) for n in re.findall(r"<h2>(\d)\.", html)]
    assert numbers == list(range(1, 10))
    assert [int(n) for n in re.findall(r"<h2>(\d)\.", report_html(make()))] == list(range(1, 9))


def test_paper(make: Make) -> None:
    """Pages of either size; heads repeat and rows stay whole."""
    html = report_html(make(), paper="letter")
    assert "size: letter" in html
    assert "size: A4" in report_html(make())
    assert "table-header-group" in html
    assert re.search(r"tr, img, svg, \.whole \{ break-inside: avoid", html)


def test_an_empty_survey_has_a_report(tmp_path: Path) -> None:
    """It says that there is nothing."""
    with create_survey(tmp_path / "empty", id="e", now=NOW) as empty:
        html = report_html(finish(report_survey(empty, ReportOrder(), NOW)))
    assert "No readings are kept in this survey yet." in html


def test_what_is_too_much_is_said(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    """Readings beyond the number that is shown are counted."""
    monkeypatch.setattr("app.tasks.report_survey.MOST_READINGS", 5)
    assert "9 further readings not shown one by one" in report_html(make())


def test_a_photo_that_is_gone_is_said(book: RecordBook, make: Make) -> None:
    """The report is made without it."""
    path = book.photo_path(book.readings()[0].line.sha256 or "")
    assert path is not None
    kept = path.read_bytes()
    path.write_bytes(b"damaged")
    try:
        assert "cannot be shown" in report_html(make())
    finally:
        path.write_bytes(kept)


def test_a_name_that_the_template_does_not_know_is_an_error(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is left blank by a slip of the pen."""
    monkeypatch.setattr(report_page, "RULES", {})
    with pytest.raises(UndefinedError):
        report_html(make())


def test_drawings_are_sound_svg(make: Make) -> None:
    """They parse, and print every swatch and every result that breaks a rule."""
    report = make()
    curve = draw_curve(replace(CHART, name="<evil>\x00"))
    texts = [node.text for node in ElementTree.fromstring(curve.svg).iter() if node.text]
    assert {"5", "6", "7"} <= set(texts)
    assert any("<evil>" in text for text in texts)
    tested = draw_self_test(leave_one_out(CHART), "pH")
    assert tested is not None
    ElementTree.fromstring(tested.svg)
    (control,) = report.quality.controls
    texts = [n.text for n in ElementTree.fromstring(draw_control(control).svg).iter() if n.text]
    for signal in control.signals:
        assert str(control.results[signal.index].reading) in texts


def test_tubes_are_cut_out_inside_the_photo(book: RecordBook) -> None:
    """All of one shape, also where the tube stands at the edge of the photo."""
    kept = book.readings()[0]
    path = book.photo_path(kept.line.sha256 or "")
    assert path is not None
    for box in (Box(0, 0, 30, 80), Box(370, 220, 30, 80), Box(10, 10, 380, 280)):
        found = small_pictures(path, [replace(kept, line=replace(kept.line, box=box))])
        assert found is not None
        with Image.open(BytesIO(found.tubes[kept.id])) as picture:
            assert picture.width / picture.height == pytest.approx(0.75, abs=0.02)
            assert not picture.getexif()
