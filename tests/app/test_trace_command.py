"""`tintwell trace` from the command line, and the maps it writes."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from app.command_line import run
from app.exports.map_drawing import draw_map
from app.exports.map_picture import to_svg
from app.records.record_book import create_survey, open_survey
from app.site_map.color_scale import chart_color, scale_color
from app.survey.sample import Sample
from app.survey.site import Site
from app.tasks.step import finish
from app.tasks.trace_source import MapOrder, trace_source
from app.terminal.words import DONE, STOPPED
from colorcore.color_spaces import lab_to_rgb
from tests.app.sample_surveys import CHART, NOW, make_line, write_photo

pytestmark = pytest.mark.usefixtures("few_draws")

SITES = {
    "Hill 1": (0, 80, 6.6, 10.3),
    "Hill 2": (5, 40, 6.5, 10.2),
    "Hill 3": (0, 10, 6.7, 10.3),
    "Gate": (35, 55, 6.3, 9.9),
    "Old shed": (48, 45, 4.3, 9.8),
    "Pond <b>": (75, 47, 4.8, 9.5),
    "Willow": (90, 20, 6.2, 9.3),
}
"""A yard that was made up: metres east and north, pH, height of the ground."""
ASK = ("--quantity", "ph", "--background", "Hill 1,Hill 2,Hill 3")


def make_yard(folder: Path, *, kinds: Sequence[str] = ("water",), degrees: bool = False) -> Path:
    """Make a survey of the yard; with degrees the same places near 50 N, 8 W."""
    photos = folder.parent / "photos"
    photos.mkdir(exist_ok=True)
    with create_survey(folder, id="a" * 32, now=NOW, name="Yard (made up)") as book:
        places = [
            Site(name=n, latitude_deg=50 + y / 111_229, longitude_deg=-8 + x / 71_696)
            if degrees
            else Site(name=n, map_x_m=x, map_y_m=y, elevation_m=h)
            for n, (x, y, _, h) in SITES.items()
        ]
        book.add_sites([*places, Site(name="Nowhere")], person="me", now=NOW)
        for kind in kinds:
            samples = [Sample(label=f"{kind} {n}", kind=kind, site=n) for n in SITES]  # type: ignore[arg-type]
            book.add_samples(samples, person="me", now=NOW)
            lines = [
                make_line(
                    write_photo(photos, f"{kind}{i}.jpg", f"{kind}{i}".encode()),
                    value=ph,
                    sample=f"{kind} {n}",
                )
                for i, (n, (_, _, ph, _)) in enumerate(SITES.items())
            ]
            book.keep_readings(lines, "me", NOW)
    return folder


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the yard once, on a plan."""
    return make_yard(tmp_path_factory.mktemp("yard") / "survey")


def test_text_says_the_whole_in_plain_words(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Suspect, reasons, region, residuals and cautions; nothing is proved."""
    assert run(["trace", str(yard), *ASK, "--direction", "90"]) == DONE
    said = " ".join(capsys.readouterr().out.split())
    for words in (
        *("1. E Old shed: pH 4.3", "most acid in", "of 100 draws", "nearest to the source in"),
        *("consistent with one source", "Region of the source", "m ", "10^-pH minus"),
        *("never proves", "certified laboratory", "Not on the map: Nowhere (no place)"),
    ):
        assert words in said
    assert "pH 6.6" in said


def test_json_carries_the_same_numbers(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And the same seed gives the same text, letter by letter."""
    words = ["trace", str(yard), *ASK, "--direction", "slope", "--seed", "5", "--format", "json"]
    assert run(words) == DONE
    first = capsys.readouterr().out
    assert run(words) == DONE
    assert capsys.readouterr().out == first
    found = json.loads(first)
    assert found["flow"]["from"] == "slope"
    assert found["flow"]["towards_deg"] == pytest.approx(93, abs=5)
    assert found["source"]["ranking"][0]["site"] == "Old shed"
    assert [level["probability"] for level in found["source"]["regions"]["levels"]] == [
        *(0.5, 0.8, 0.95)
    ]
    assert sum(item["most_affected"] for item in found["source"]["ranking"]) == pytest.approx(1)


def test_heads_give_direction_and_travel_times(
    yard: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Levels of three wells at sites; travel times as a range."""
    wells = tmp_path / "wells.csv"
    wells.write_text("site,head_m\nHill 1,9.9\nHill 3,9.9\nPond <b>,9.4\n", encoding="utf-8")
    words = [*ASK, "--direction", "heads", "--heads", str(wells), "--material", "clean sand"]
    assert run(["trace", str(yard), *words]) == DONE
    said = " ".join(capsys.readouterr().out.split())
    assert "east (90 degrees), from the water levels" in said
    assert "in clean sand:" in said
    assert "by Darcy's law" in said
    assert "verify locally" in said
    assert run(["trace", str(yard), *words, "--format", "json"]) == DONE
    found = json.loads(capsys.readouterr().out)["flow"]
    # 0.5 m over 75 m; K 1e-6 to 1e-2 m/s, porosity 0.10 to 0.35; m/s x 86,400
    slow, fast = 1e-6 / 150 / 0.35 * 86_400, 1e-2 / 150 / 0.10 * 86_400
    assert found["seepage"]["speed_m_per_day"] == pytest.approx([slow, fast], rel=1e-3)
    ways = {way["to"]: way for way in found["seepage"]["ways"]}
    assert ways["Pond <b>"]["days"] == pytest.approx([27 / fast, 27 / slow], rel=1e-3)


def test_one_day_and_one_depth_are_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Samples from below, or of another day, are in no site's reading where only some are asked."""
    folder = make_yard(tmp_path / "survey", kinds=("soil",))
    with open_survey(folder) as book:
        facts = {"kind": "soil", "depth_bottom_cm": 15.0, "taken_on": date(2026, 5, 1)}
        tops = [Sample(label=f"soil {n}", site=n, **facts) for n in SITES]  # type: ignore[arg-type]
        below = Sample(
            label="below", site="Old shed", kind="soil", depth_top_cm=15.0, depth_bottom_cm=30.0
        )
        book.add_samples([*tops, below], person="me", now=NOW, replace=True)
        photo = write_photo(tmp_path, "below.jpg", b"below")
        book.keep_readings([make_line(photo, value=6.3, sample="below")], "me", NOW)
    words = ["trace", str(folder), *ASK, "--format", "json"]
    for more, ph, is_mixed in (
        ((), 5.3, True),
        (("--depth", "0-15"), 4.3, False),
        (("--taken-on", "2026-05-01"), 4.3, False),
    ):
        assert run([*words, *more]) == DONE
        found = json.loads(capsys.readouterr().out)
        (shed,) = (site for site in found["sites"] if site["site"] == "Old shed")
        assert shed["value"] == pytest.approx(ph, abs=0.01)
        assert ("mixed_depth" in {c["code"] for c in found["cautions"]}) is is_mixed


def test_a_survey_that_looks_for_a_source_gives_no_amounts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Tracing marks the survey; who takes the mark away is heard, and told so beside a source."""
    folder = make_yard(tmp_path / "survey", kinds=("soil",))
    advise = ["advise", str(folder), "--crop", "bean", "--region", "iowa", "--medium", "water"]
    advise += ["--sample", "soil Old shed"]
    assert run(advise) == DONE
    assert "kg/ha" in capsys.readouterr().out
    assert run(["trace", str(folder), *ASK]) == DONE
    assert "Marked the survey as ground under suspicion" in capsys.readouterr().err
    assert run(advise) == DONE
    said = capsys.readouterr().out
    assert "under suspicion" in said
    assert "kg" not in said
    with open_survey(folder) as book:
        book.suspect_contamination(False, person="me", now=NOW)
    assert run(["trace", str(folder), *ASK]) == DONE
    said, remarks = capsys.readouterr()
    assert "lifted the suspicion" in said
    assert "Marked" not in remarks
    with open_survey(folder, readonly=True) as book:
        assert book.survey().suspected_contamination is False


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("--quantity", "ph", "--background", "Moon"), "no site 'Moon'"),
        (("--quantity", "iron", "--background", "Hill 1"), "no reading of iron"),
        ((*ASK, "--direction", "uphill"), "no direction"),
        ((*ASK, "--direction", "heads"), "three places"),
        ((*ASK, "--material", "cheese"), "not in the table"),
        ((*ASK, "--seed", "-1"), "negative"),
        ((*ASK, "--taken-on", "May"), "no day"),
        ((*ASK, "--taken-on", "2026-05-01"), "of that day"),
        ((*ASK, "--depth", "deep"), "no depth"),
        ((*ASK, "--map", "map.bmp"), "which kind of map"),
        ((*ASK, "--kind", "soil"), "in soil"),
        (("--quantity", "ph", "--background", ","), "no background site"),
    ],
)
def test_what_cannot_be_done_is_said(
    yard: Path, words: Sequence[str], complaint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two sentences and exit code 2, no trace of the program."""
    assert run(["trace", str(yard), *words]) == STOPPED
    said = capsys.readouterr().err
    assert complaint in said
    assert "Try:" in said


def test_soil_and_water_are_never_mixed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where both were read the user says which."""
    both = make_yard(tmp_path / "both", kinds=("soil", "water"))
    assert run(["trace", str(both), *ASK]) == STOPPED
    assert "both soil and water" in capsys.readouterr().err
    assert run(["trace", str(both), *ASK, "--kind", "soil"]) == DONE
    assert "acid taken up" in capsys.readouterr().out


def test_units_are_never_mixed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A reading in another unit stops the work."""
    survey = make_yard(tmp_path / "units")
    other = replace(CHART, id="b" * 32, analyte=replace(CHART.analyte, unit=None))
    with open_survey(survey) as book:
        photo = write_photo(tmp_path, "other.jpg", b"other")
        book.keep_readings([make_line(photo, sample="water Gate", chart=other)], "me", NOW)
    assert run(["trace", str(survey), *ASK]) == STOPPED
    assert "do not compare" in capsys.readouterr().err


def test_picture_names_every_site_and_is_honest(yard: Path, tmp_path: Path) -> None:
    """The SVG is well formed and carries letters, values, legend, scale, north and the caution."""
    target = tmp_path / "map.svg"
    assert run(["trace", str(yard), *ASK, "--map", str(target)]) == DONE
    texts = [e.text or "" for e in ElementTree.parse(target).iter() if e.tag.endswith("text")]
    said = " ".join(texts)
    for words in ("4.3 ± 0.2", "background site", "90 % interval", " m", "proves no source"):
        assert words in said
    assert "N" in texts
    for letter in "ABCDEFG":
        assert letter in texts


def test_png_is_drawn_and_not_overwritten(
    yard: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A picture that is there is left alone unless that was asked for."""
    target = tmp_path / "map.png"
    assert run(["trace", str(yard), *ASK, "--map", str(target)]) == DONE
    with Image.open(target) as picture:
        colors = picture.convert("RGB").getcolors(1_000_000)
    assert colors is not None
    assert len(colors) > 50
    assert run(["trace", str(yard), *ASK, "--map", str(target)]) == STOPPED
    assert run(["trace", str(yard), *ASK, "--map", str(target), "--replace"]) == DONE
    capsys.readouterr()


def test_geojson_tells_places_only_when_asked(tmp_path: Path) -> None:
    """Null geometries else; with positions, closed rings in the right order around the yard."""
    survey = make_yard(tmp_path / "degrees", degrees=True)
    target = tmp_path / "map.geojson"
    assert run(["trace", str(survey), *ASK, "--map", str(target)]) == DONE
    features = json.loads(target.read_text(encoding="utf-8"))["features"]
    assert all(feature["geometry"] is None for feature in features)
    words = ["--map", str(target), "--replace", "--with-positions"]
    assert run(["trace", str(survey), *ASK, *words]) == DONE
    features = json.loads(target.read_text(encoding="utf-8"))["features"]
    shed = next(f for f in features if f["properties"].get("site") == "Old shed")
    assert shed["geometry"]["coordinates"] == pytest.approx(
        [-8 + 48 / 71_696, 50 + 45 / 111_229], abs=1e-6
    )
    regions = [f for f in features if f["properties"]["what"] == "region of the source"]
    assert len(regions) == 3
    for region in regions:
        for polygon in region["geometry"]["coordinates"]:
            for turn, ring in enumerate(polygon):
                assert ring[0] == ring[-1]
                area = sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairwise(ring))
                assert (area > 0) == (turn == 0)


def test_a_map_without_a_source_shows_what_was_read(yard: Path) -> None:
    """For the window: no background sites, no tracing, but points, surface and scale."""
    with open_survey(yard, readonly=True) as book:
        task = trace_source(book.survey(), book.each_reading(), MapOrder(quantity="ph"))
        view = finish(task)
    assert view.traced is None
    assert [point.reading.letter for point in view.points] == list("ABCDEFG")
    assert view.surface is not None
    assert view.surface.is_sketch
    assert view.color_ends == (4.3, 6.7)
    assert "proves" not in to_svg(draw_map(view), title="x")


def test_the_scale_reads_by_lightness_alone_and_in_even_steps() -> None:
    """Each step is lighter than the last, all are alike in CIELAB, and a screen can show them.

    Red and green do not carry it: for an eye without red or green cones blue against yellow stays
    (common knowledge of color vision), and lightness rises along the whole scale.
    """
    labs = np.array([scale_color(i / 20) for i in range(21)])
    steps = np.linalg.norm(np.diff(labs, axis=0), axis=1)
    assert np.all(np.diff(labs[:, 0]) > 0)
    assert steps == pytest.approx([steps[0]] * 20)
    linear = lab_to_rgb(labs)
    assert linear.min() > -0.02
    assert linear.max() < 1.02


def test_a_value_has_its_chart_color() -> None:
    """At a swatch that of the swatch, between two a mixture, beyond the ends the end's."""
    first, second = CHART.swatches[:2]
    assert first.value is not None
    assert second.value is not None
    assert chart_color(CHART, first.value) == pytest.approx(tuple(first.lab))
    middle = (np.array(first.lab) + np.array(second.lab)) / 2
    assert chart_color(CHART, (first.value + second.value) / 2) == pytest.approx(tuple(middle))
    assert chart_color(CHART, first.value - 5) == pytest.approx(tuple(first.lab))
