"""Surveys from the command line: made, filled, kept in, handed over and interpreted."""

import csv
import json
import re
import shutil
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from app.command_line import run
from app.records.record_book import open_survey
from app.survey.method import Method, Test
from app.survey.sample import Sample
from app.tasks.read_photo import ReadOrder
from app.terminal import read_photos
from app.terminal.words import DONE, SOME_REFUSED, STOPPED
from app.tube_reading import TubeReading
from calibration.chart_file import save_chart
from calibration.indicator import Analyte
from tests.app.conftest import Commands
from tests.app.sample_surveys import CHART, NOW, make_line, write_photo

SITES = "Plot,Lat,Lon,Area (ha),Owner\nNorth,50.25,-8.5,0.02,someone\nSouth,50.5,-8.25,1.5,\n"
SAMPLES = "Sample,Plot,Depth (cm),Texture\nA1,North,0-20,Sandy loam\nB1,South,0-20,heavy stuff\n"
PHOSPHORUS = replace(
    CHART,
    id="f" * 32,
    name="P, May",
    analyte=Analyte(quantity="phosphorus", form="P", basis="extract", ratio="1:5", unit="mg/L"),
    extractant="Olsen",
)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Make a survey of two sites and two samples once, and the same with readings.

    The readings: two repeats and phosphorus of A1, a doubtful pH of B1.
    """
    folder = tmp_path_factory.mktemp("made")
    write_tables(folder)
    empty, full = str(folder / "empty"), folder / "full"
    assert run(["new", empty]) == DONE
    assert run(["add", empty, "sites", str(folder / "sites.csv")]) == DONE
    assert run(["add", empty, "samples", str(folder / "samples.csv"), "--person", "P2"]) == DONE
    shutil.copytree(empty, full)
    photo = write_photo(folder)
    keep(
        full,
        make_line(photo, value=5.0),
        make_line(photo, value=5.2, tube=2),
        make_line(photo, value=2.0, tube=3, chart=PHOSPHORUS),
        make_line(photo, value=7.1, tube=4, sample="B1", status="doubtful"),
    )
    return Path(empty), full


@pytest.fixture
def survey(made: tuple[Path, Path], tintwell: Commands, tmp_path: Path) -> Path:
    """Give a copy of the survey without readings, and its tables beside it."""
    write_tables(tmp_path)
    return shutil.copytree(made[0], tmp_path / "spring")


@pytest.fixture
def read(made: tuple[Path, Path], tintwell: Commands, tmp_path: Path) -> Path:
    """Give a copy of the survey with readings, and its tables beside it."""
    write_tables(tmp_path)
    return shutil.copytree(made[1], tmp_path / "spring")


def write_tables(folder: Path) -> None:
    """Write the sites and samples."""
    (folder / "sites.csv").write_text(SITES, encoding="utf-8")
    (folder / "samples.csv").write_text(SAMPLES, encoding="utf-8")


def keep(survey: Path, *lines: TubeReading) -> None:
    """Keep lines made by hand."""
    with open_survey(survey) as book:
        book.keep_readings(lines, "P1", NOW)


def advised(tintwell: Commands, *words: str) -> dict[str, Any]:
    """Return the advice for tomatoes in Minnesota as JSON."""
    asked = ("--crop", "tomato", "--region", "minnesota", "--format", "json")
    code, out, _ = tintwell("advise", "spring", *asked, *words)
    assert code == DONE
    found: dict[str, Any] = json.loads(out)
    return found


def codes_of(sample: dict[str, Any]) -> list[str]:
    """Return the codes of what is said of a sample."""
    return [advice["code"] for advice in sample["advice"]]


def test_columns_are_matched_by_guess_and_that_is_said(tintwell: Commands, tmp_path: Path) -> None:
    """From CSV and from a workbook; adding the same again changes nothing."""
    code, out, _ = tintwell("new", "spring")
    assert (code, out) == (DONE, "Made the survey 'spring' in spring.\n")
    (tmp_path / "sites.csv").write_text(SITES, encoding="utf-8")
    code, out, _ = tintwell("add", "spring", "sites", "sites.csv")
    assert code == DONE
    assert "name from 'Plot'" in out
    assert "Not used: 'Owner'" in out
    assert "2 sites added" in out
    book = Workbook()
    for row in csv.reader(SAMPLES.splitlines()):
        book.worksheets[0].append(row)
    book.save(tmp_path / "samples.xlsx")
    for said in ("2 samples added", "0 samples added, 2 there already"):
        code, out, _ = tintwell("add", "spring", "samples", "samples.xlsx")
        assert code == DONE
        assert said in out
    with open_survey(tmp_path / "spring", readonly=True) as survey:
        sample = survey.survey().samples[0]
        assert (sample.label, sample.site, sample.depth_bottom_cm) == ("A1", "North", 20)
        assert {event.person for event in survey.events()} == {"me"}


def test_rows_that_are_wrong_are_named_and_nothing_is_added(
    tintwell: Commands, survey: Path
) -> None:
    """All or nothing; other facts replace what is there only when that is said."""
    table = survey.parent / "more.csv"
    table.write_text("sample,site\nC1,North\nC2,West\n", encoding="utf-8")
    code, _, err = tintwell("add", "spring", "samples", "more.csv")
    assert code == STOPPED
    assert "Row 3: the site 'West' is not in the survey" in err
    table.write_text("sample,texture\nA1,loam\n", encoding="utf-8")
    code, _, err = tintwell("add", "spring", "samples", "more.csv")
    assert (code, "'A1' is already in the survey" in err) == (STOPPED, True)
    code, out, _ = tintwell("add", "spring", "samples", "more.csv", "--replace")
    assert (code, "1 replaced" in out) == (DONE, True)
    with open_survey(survey, readonly=True) as book:
        textures = {sample.label: sample.texture for sample in book.survey().samples}
    assert textures == {"A1": "loam", "B1": "heavy stuff"}


@pytest.fixture
def batch(monkeypatch: pytest.MonkeyPatch, survey: Path) -> list[TubeReading]:
    """Give the lines that reading the next photos will find, in place of the finder."""
    lines: list[TubeReading] = []

    def found(
        photos: Sequence[str], order: ReadOrder, pool: object, jobs: int
    ) -> Iterator[tuple[TubeReading, ...]]:
        for photo in photos:
            yield tuple(line for line in lines if Path(line.photo).name == Path(photo).name)

    monkeypatch.setattr(read_photos, "read_batch", found)
    save_chart(CHART, survey.parent / "ph.json")
    return lines


def test_readings_of_named_samples_are_kept_once(
    tintwell: Commands, survey: Path, batch: list[TubeReading]
) -> None:
    """With photo and chart; what has no sample, and what is there already, is said."""
    photo = write_photo(survey.parent)
    batch += [
        make_line(photo, value=6.2),
        make_line(photo, value=None, tube=2, sample="New"),
        make_line(photo, value=6.4, tube=3, sample=None),
        make_line(photo, value=7.0, tube=4, sample=None, role="in_frame"),
    ]
    words = ("read", photo.name, "--chart", "ph.json", "--format", "jsonl", "--keep", "spring")
    code, out, err = tintwell(*words, "--person", "P3")
    assert code == SOME_REFUSED
    assert len(out.splitlines()) == 4
    assert "Kept 2 readings in spring." in err
    assert "label alone: 'New'." in err
    assert "no sample is named: plot-7.jpg tube 3.\n" in err
    with open_survey(survey, readonly=True) as book:
        first, second = book.readings()
        assert (first.person, first.line.reading.value, first.line.entry.sample) == (
            *("P3", 6.2),
            "A1",
        )
        assert second.line.reading.status == "refused"
        assert first.line.chart == CHART
        path = book.photo_path(first.line.sha256 or "")
        assert path is not None
        assert path.read_bytes() == photo.read_bytes()
    batch[0] = make_line(photo, value=6.2, sample="B1")
    code, _, err = tintwell(*words)
    assert "Kept 0 readings" in err
    assert "Not kept again: plot-7.jpg tube 1 is reading 1 (of sample 'A1', not 'B1')" in err
    assert "plot-7.jpg tube 2 is reading 2." in err
    with open_survey(survey) as book:
        assert book.count() == 2
        book.withdraw(1, reason="other sample", person="P3", now=NOW)
    assert "Kept 1 reading in" in tintwell(*words)[2]


def test_another_chart_or_a_copy_of_a_photo(
    tintwell: Commands, survey: Path, batch: list[TubeReading]
) -> None:
    """A tube may be kept on each chart; a photo under another name is the same photo."""
    photo = write_photo(survey.parent)
    other = replace(CHART, id="e" * 32)
    batch += [make_line(photo), make_line(photo, chart=other)]
    copy = write_photo(survey.parent, "copy.jpg")
    batch += [make_line(copy)]
    _, _, err = tintwell("read", "plot-7.jpg", "copy.jpg", "--chart", "ph.json", "--keep", "spring")
    assert "Kept 2 readings" in err
    assert "Not kept again: copy.jpg tube 1 is reading 1." in err


def test_nothing_is_read_for_a_survey_that_cannot_be_written(
    tintwell: Commands, survey: Path, batch: list[TubeReading]
) -> None:
    """It is open elsewhere, or the person is nobody: said before any work."""
    batch.append(make_line(write_photo(survey.parent)))
    words = ("read", "plot-7.jpg", "--chart", "ph.json", "--keep", "spring")
    with open_survey(survey):
        code, out, err = tintwell(*words)
        assert (code, out) == (STOPPED, "")
        assert "another window" in err
        assert tintwell("add", "spring", "sites", "sites.csv")[0] == STOPPED
        assert tintwell("export", "spring", "-o", "out.csv")[0] == DONE
    code, out, err = tintwell(*words, "--person", " ")
    assert (code, out, "Try:" in err) == (STOPPED, "", True)


def test_exports_hold_what_was_kept(tintwell: Commands, read: Path) -> None:
    """In three formats, read back; positions only where they are asked for."""
    assert tintwell("export", "spring", "-o", "out.csv")[1] == "Wrote 4 readings to out.csv.\n"
    with (read.parent / "out.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["value"] for row in rows] == ["5.0", "5.2", "2.0", "7.1"]
    assert [row["site"] for row in rows] == ["North", "North", "North", "South"]
    assert "latitude_deg" not in rows[0]
    assert tintwell("export", "spring", "-o", "out.XLSX", "--with-positions")[0] == DONE
    head, first, *_ = load_workbook(read.parent / "out.XLSX")["readings"].values
    cells = dict(zip(head, first, strict=True))
    assert (cells["value"], cells["latitude_deg"]) == (5.0, 50.25)
    code, _, err = tintwell("export", "spring", "-o", "out.geojson")
    assert (code, "--with-positions" in err) == (DONE, True)
    features = json.loads((read.parent / "out.geojson").read_text(encoding="utf-8"))["features"]
    assert [feature["properties"]["value"] for feature in features] == [5.0, 5.2, 2.0, 7.1]
    assert all(feature["geometry"] is None for feature in features)


def test_readings_that_no_longer_stand_are_exported_as_such(tintwell: Commands, read: Path) -> None:
    """The original and the row that withdraws it both go out, marked; advice forgets them."""
    with open_survey(read) as book:
        book.withdraw(1, reason="spilt", person="P1", now=NOW)
    code, out, err = tintwell("export", "spring", "-o", "out.csv")
    assert (code, out) == (DONE, "Wrote 5 readings to out.csv.\n")
    assert "2 rows that no longer stand" in err
    with (read.parent / "out.csv").open(encoding="utf-8", newline="") as file:
        assert [row["stands"] for row in csv.DictReader(file)] == ["no", "yes", "yes", "yes", "no"]
    assert advised(tintwell)["samples"][0]["tested"][0]["readings"] == [2]


def test_advice_as_text(tintwell: Commands, read: Path) -> None:
    """Repeats pooled, amounts rounded in both systems, sources numbered, cautions once."""
    words = ("advise", "spring", "--crop", "Tomato", "--region", "Minnesota")
    code, out, err = tintwell(*words, "--medium", "water")
    assert (code, err) == (DONE, "")
    assert (
        "Sample A1, North: tomato on 200 m2 (2150 ft2), 20 cm (7.87 in) deep, sandy loam\n" in out
    )
    assert "\n  pH 5.1 ± 0.3; in water; 2 readings (1, 2)\n" in out
    assert "The texture 'heavy stuff' is not one of sand" in out
    (rate,) = (line for line in out.splitlines() if line.strip().startswith("rate:"))
    assert rate.endswith("lb/1000 ft2")
    assert "g/m2, that is" in rate
    assert out.count("not a laboratory's result") == 1
    assert "accepted only with doubts. (sample B1)" in out
    assert out.index("  Lime: ") < out.index("  Soil: ")
    assert "A1      North  5.1 ± 0.3  strongly acid" in out
    marks, sources = out.split("\nSources\n")
    numbered = re.findall(r"^  \[(\d+)\] ", sources, re.MULTILINE)
    assert numbered == [str(number) for number in range(1, 1 + len(numbered))]
    assert set(re.findall(r"\[(\d+)\]", marks)) == set(numbered)
    unknown = " ".join(tintwell(*words)[1].split())
    assert "rate:" not in unknown
    assert "in which liquid the pH was measured: no amounts" in unknown
    assert "Option: --medium." in unknown


def test_advice_as_json(tintwell: Commands, read: Path) -> None:
    """The same for programs: inputs, amounts in SI, codes; one sample alone on request."""
    found = advised(tintwell, "--medium", "water")
    a1, b1 = found["samples"]
    assert (a1["sample"], b1["sample"]) == ("A1", "B1")
    ph, phosphorus = a1["tested"]
    assert ph["value"] == pytest.approx(5.1)
    assert (ph["readings"], ph["medium"], ph["doubtful"]) == ([1, 2], "water", False)
    assert ph["low"] < 4.9 < 5.35 < ph["high"]
    assert (phosphorus["extractant"], phosphorus["medium"]) == ("Olsen", None)
    assert a1["plot"]["area_m2"] == 200
    assert a1["plot"]["depth_cm"] == 20
    assert "lime_rough_guide" in codes_of(a1)
    assert a1["lime"]["high"] > 0
    assert "nothing_needed" in codes_of(b1)
    assert "doubtful" in b1["cautions"]
    assert set(a1["cautions"]) | set(b1["cautions"]) <= set(found["cautions"])
    alone = advised(tintwell, "--medium", "water", "--sample", " B1 ")
    assert alone["samples"] == [b1]


def test_the_method_of_the_test_says_what_the_soil_was_shaken_in(
    tintwell: Commands, survey: Path
) -> None:
    """It goes before the chart's extractant and the option, and takes the blank off."""
    chart = replace(CHART, extractant="water")
    with open_survey(survey) as book:
        book.add_samples([Sample(label="0", kind="blank")], person="P1", now=NOW)
        methods = [
            Method(name="salt", extractant="0.01 M CaCl₂", ratio="1:2.5 by mass"),
            Method(name="P", ratio="a spoon", subtract_blank=True),
        ]
        book.add_methods(methods, person="P1", now=NOW)
        tests = [
            Test(id="t1", sample="A1", quantity="ph", method="salt"),
            Test(id="t2", sample="A1", quantity="phosphorus", method="P"),
        ]
        book.add_tests(tests, person="P1", now=NOW)
    photo = write_photo(survey.parent)
    keep(
        survey,
        make_line(photo, chart=chart),
        make_line(photo, tube=2, sample="B1", chart=chart),
        make_line(photo, tube=3, value=2.0, chart=PHOSPHORUS),
        make_line(photo, tube=4, value=0.5, sample="0", chart=PHOSPHORUS),
    )
    a1, b1 = advised(tintwell, "--medium", "kcl")["samples"]
    ph, phosphorus = a1["tested"]
    assert (ph["medium"], ph["ratio"]) == ("cacl2", "1:2.5")
    assert "not_water_ph" in codes_of(a1)
    assert b1["tested"][0]["medium"] == "water"
    assert (phosphorus["value"], phosphorus["blank"], phosphorus["ratio"]) == (1.5, 0.5, "1:5")
    estimated = advised(tintwell, "--estimate-water-ph")["samples"][0]
    assert "not_water_ph" not in codes_of(estimated)
    assert "estimated_ph" in estimated["cautions"]


def test_what_carries_no_number_is_counted_and_not_averaged(
    tintwell: Commands, survey: Path
) -> None:
    """Refused readings, and those beyond the chart; the latter speak where they are alone."""
    photo = write_photo(survey.parent)

    def beyond(tube: int, sample: str) -> TubeReading:
        line = make_line(photo, tube=tube, sample=sample, status="doubtful")
        return replace(line, reading=replace(line.reading, value=None, low=7.0, high=None))

    keep(
        survey,
        make_line(photo, value=6.9),
        beyond(2, "A1"),
        make_line(photo, value=None, tube=3),
        beyond(4, "B1"),
    )
    a1, b1 = advised(tintwell, "--medium", "water")["samples"]
    (ph,) = a1["tested"]
    assert (ph["value"], ph["readings"], ph["beyond"], ph["refused"]) == (6.9, [1], 1, 1)
    assert ph["doubtful"]
    (ph,) = b1["tested"]
    assert (ph["value"], ph["low"], ph["high"], ph["readings"]) == (None, 7, None, [4])
    assert "off_span" in codes_of(b1)
    out = tintwell("advise", "spring", "--crop", "tomato", "--region", "iowa")[1]
    said = "1 reading beyond the chart not counted; 1 reading without a number not counted"
    assert said in " ".join(out.split())
    assert "  above pH 7; doubtful; reading 4\n" in out


@pytest.mark.parametrize(
    "table", ["site,land use\nNorth,Suspected contamination\n", "site,contaminated\nNorth,yes\n"]
)
def test_suspected_ground_gets_no_amounts(tintwell: Commands, read: Path, table: str) -> None:
    """A site whose land use, or whose mark, says so; nothing of it is bought either."""
    (read.parent / "sites.csv").write_text(table, encoding="utf-8")
    assert tintwell("add", "spring", "sites", "sites.csv", "--replace")[0] == DONE
    found = advised(tintwell, "--medium", "water")
    a1, b1 = found["samples"]
    assert "amounts_withheld" in codes_of(a1)
    assert not any(advice["amounts"] for advice in a1["advice"])
    assert "amounts_withheld" not in codes_of(b1)
    assert found["shopping"] is None


def test_a_mark_that_is_neither_yes_nor_no_is_refused(tintwell: Commands, read: Path) -> None:
    """Nothing is guessed from it."""
    (read.parent / "sites.csv").write_text("site,contaminated\nNorth,maybe\n", encoding="utf-8")
    code, _, err = tintwell("add", "spring", "sites", "sites.csv", "--replace")
    assert (code, "Row 2: the suspected_contamination 'maybe' is neither" in err) == (STOPPED, True)


def test_a_survey_that_looks_for_a_source_gives_no_amounts(
    tintwell: Commands, survey: Path
) -> None:
    """Said when it is made, for all of its ground."""
    assert tintwell("new", "tracing", "--suspected-contamination")[0] == DONE
    for what in ("sites", "samples"):
        assert tintwell("add", "tracing", what, f"{what}.csv")[0] == DONE
    keep(survey.parent / "tracing", make_line(write_photo(survey.parent), value=5.0))
    words = ("advise", "tracing", "--crop", "tomato", "--region", "iowa", "--medium", "water")
    (a1,) = json.loads(tintwell(*words, "--format", "json")[1])["samples"]
    assert "amounts_withheld" in codes_of(a1)
    assert not any(advice["amounts"] for advice in a1["advice"])


PRODUCTS = (
    "name,grade,cce,fineness,bag_kg,price\nsulphate,21-0-0,,,25,14\nsuper,0-46-0,,,25,22\n"
    "lime,,90,76,25,5\n"
)
LAB = (
    "sample,method,value,quantity,unit,form,uncertainty\n"
    "A1,Sikora buffer Oregon,6.2,,,,0.05\nA1,Olsen,3,phosphorus,mg/kg,P,\n"
)


def test_bags_for_a_whole_survey(tintwell: Commands, read: Path) -> None:
    """From what the user has; a laboratory's buffer pH takes the place of the rough guide."""
    (read.parent / "products.csv").write_text(PRODUCTS, encoding="utf-8")
    (read.parent / "lab.csv").write_text(LAB, encoding="utf-8")
    more = ("--medium", "water", "--products", "products.csv", "--lab", "lab.csv")
    found = advised(tintwell, *more)
    a1 = found["samples"][0]
    assert {"lime_laboratory", "mix"} <= set(codes_of(a1))
    assert [t["source"] for t in a1["tested"]] == ["colour"] * 2 + ["laboratory"] * 2
    lines = {line["name"]: line for line in found["shopping"]["lines"]}
    assert set(lines) == {"sulphate", "super", "lime"}
    assert found["shopping"]["least"] == "cost"
    # Sikora 6.2 to 6.5: 2.8 + 0.25 x 0.9 = 3.025 ton/acre, 20 cm of 15.24, ENV 0.684, 200 m2
    lime = 3.025 * 224.17 * 20 / 15.24 / 0.684 * 200 / 1000
    assert lines["lime"]["mass"]["best"] == pytest.approx(lime, rel=1e-3)
    bags = lines["lime"]["bags"]
    assert bags["low"] <= bags["best"] == -(-lime // 25) <= bags["high"]
    # 2 to 3 lb/1000 ft2 of nitrogen (typical, from memory) on 200 and 15,000 m2
    nitrogen = 2.5 * 48.824 / 10_000 * 15_200
    assert lines["sulphate"]["mass"]["best"] == pytest.approx(nitrogen / 0.21, rel=1e-3)
    assert lines["sulphate"]["bags"]["best"] == -(-nitrogen / 0.21 // 25)
    text = tintwell("advise", "spring", "--crop", "tomato", "--region", "minnesota", *more)[1]
    assert text.index("To buy") < text.index("Sample A1")
    assert "The mix of fertilizers is the one of least cost." in text


def test_text_and_json_say_the_same(tintwell: Commands, read: Path) -> None:
    """In either system of units; the steps lead to the numbers that are shown."""
    rate = next(
        amount
        for advice in advised(tintwell, "--medium", "water")["samples"][0]["advice"]
        if advice["code"] == "lime_rough_guide"
        for amount in advice["amounts"]
        if amount["name"] == "rate"
    )
    words = ("advise", "spring", "--crop", "tomato", "--region", "minnesota", "--medium", "water")
    for units, figures in (("si", rate), ("us", rate["us"])):
        out = tintwell(*words, "--units", units, "--steps")[1]
        low, high = (
            f"{round(figures[end], -1 if units == 'si' else 0):.0f}" for end in ("low", "high")
        )
        assert f"      rate: {low} to {high} {figures['unit']}\n" in out
        assert "that is" not in out.split("Lime:")[1].split("\n      =")[0]
        assert "\n      = tomato likes pH 5.5 to 7.5" in out


def test_each_site_may_have_its_own_crop(tintwell: Commands, read: Path) -> None:
    """Where no crop is named; others are compared, and what no site names is left out."""
    (read.parent / "sites.csv").write_text("site,crop\nNorth,Potato\n", encoding="utf-8")
    assert tintwell("add", "spring", "sites", "sites.csv", "--replace")[0] == DONE
    words = ("advise", "spring", "--region", "iowa", "--medium", "water", "--format", "json")
    found = json.loads(tintwell(*words)[1])
    assert [item["crop"] for item in found["samples"]] == ["potato"]
    assert [item["sample"] for item in found["left_out"]] == ["B1"]
    every = json.loads(tintwell(*words, "--crop", "all")[1])["samples"][0]["crops"]
    chances = [crop["inside"] for crop in every]
    assert len(every) == 50
    assert chances == sorted(chances, reverse=True)
    pair = json.loads(tintwell(*words, "--crop", "azalea", "--crop", "kale")[1])["samples"][0]
    assert pair["crop"] == "azalea"
    assert {crop["name"] for crop in pair["crops"]} == {"azalea", "kale"}
    assert "crop_ranking" in codes_of(pair)


def test_the_rules_and_the_ground_are_told(tintwell: Commands, read: Path) -> None:
    """Phosphorus forbidden for all, the ground sample by sample."""
    (read.parent / "ground.csv").write_text("sample,area_m2\nA1,20\n", encoding="utf-8")
    found = advised(tintwell, "--ground", "ground.csv", "--phosphorus", "forbidden")
    a1, b1 = found["samples"]
    assert (a1["plot"]["area_m2"], b1["plot"]["area_m2"]) == (20, 15_000)
    assert "phosphorus_forbidden" in codes_of(a1)
    assert "phosphorus_forbidden" in codes_of(b1)


def test_a_sheet_that_names_no_sample_of_the_survey(tintwell: Commands, read: Path) -> None:
    """The line is named, whichever sheet it is."""
    for option, text in (
        ("--lab", "sample,method,value\nA1,woodruff,6\nZ9,woodruff,6\n"),
        ("--ground", "sample,area_m2\nA1,20\nZ9,20\n"),
    ):
        (read.parent / "sheet.csv").write_text(text, encoding="utf-8")
        code, _, err = tintwell(*ADVISE, option, "sheet.csv")
        assert (code, "Line 3: the survey has no soil sample 'Z9'" in err) == (STOPPED, True)
    code, _, err = tintwell(*ADVISE, "--products", "none.csv")
    assert (code, "There is no file none.csv" in err) == (STOPPED, True)


def test_a_laboratory_alone_is_enough(tintwell: Commands, survey: Path) -> None:
    """A sample without any photo is advised on by what was typed."""
    lab = "sample,method,value\nA1,pH in water,5.1\nA1,woodruff,6.7\n"
    (survey.parent / "lab.csv").write_text(lab, encoding="utf-8")
    (a1,) = advised(tintwell, "--lab", "lab.csv")["samples"]
    assert "lime_laboratory" in codes_of(a1)
    assert "no_interval" in a1["cautions"]


def test_own_tables_are_a_region(tintwell: Commands, read: Path) -> None:
    """Several files make one region; a crop in them is found before the shipped ones."""
    head = "# source: own trials\n# region: the valley\n# year: 2024\n"
    crops = read.parent / "crops.csv"
    crops.write_text(f"{head}# unit: pH\nname,ph_from,ph_to\ntomato,6.0,6.5\n", encoding="utf-8")
    lime = read.parent / "lime.csv"
    lime.write_text(
        f"{head}# unit: g/m2\nph,target_ph,sandy,loam,clay\n5,6.5,30,40,50\n6,6.5,10,15,20\n",
        encoding="utf-8",
    )
    words = ("advise", "spring", "--crop", "tomato", "--medium", "water", "--sample", "A1")
    code, out, _ = tintwell(*words, "--region", "crops.csv", "--region", "lime.csv")
    assert code == DONE
    assert "tomato, by the tables of the valley" in out
    assert "likes pH 6.0 to 6.5" in out
    assert "own trials; the valley; 2024" in out
    code, out, _ = tintwell(*words, "--region", "crops.csv", "--region", "iowa")
    assert (code, "by the tables of the valley and Iowa" in out) == (DONE, True)
    assert "likes pH 6.0 to 6.5" in out
    for tables in (("texas", "iowa"), ("none.csv",)):
        regions = [word for table in tables for word in ("--region", table)]
        assert tintwell(*words, *regions)[0] == STOPPED


def test_a_sample_without_reading_is_named(tintwell: Commands, survey: Path) -> None:
    """One of two: said beside the advice; both: there is none."""
    words = ("advise", "spring", "--crop", "tomato", "--region", "iowa")
    code, _, err = tintwell(*words)
    assert (code, "no reading of the soil samples" in err) == (STOPPED, True)
    keep(survey, make_line(write_photo(survey.parent)))
    code, out, _ = tintwell(*words)
    assert (code, "\n  B1: no reading says what it measures\n" in out) == (DONE, True)
    code, _, err = tintwell(*words, "--sample", "B1")
    assert (code, "no reading of the sample 'B1'" in err) == (STOPPED, True)


def test_hostile_names_reach_the_terminal_as_text(tintwell: Commands, survey: Path) -> None:
    """No control character of a label or heading is obeyed."""
    table = survey.parent / "more.csv"
    table.write_text("sample,\x1b[31mred\nC\x1b[2J1,x\n", encoding="utf-8")
    code, out, _ = tintwell("add", "spring", "samples", "more.csv")
    assert (code, "\x1b" in out) == (DONE, False)
    with open_survey(survey) as book:
        label = next(s.label for s in book.survey().samples if s.label.startswith("C"))
    keep(survey, make_line(write_photo(survey.parent), sample=label))
    _, out, err = tintwell("advise", "spring", "--crop", "tomato", "--region", "iowa")
    assert "Sample C[2J1" in out
    assert "\x1b" not in out + err


ADVISE = ("advise", "spring", "--crop", "tomato", "--region", "minnesota")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("new", "spring"), "is not empty"),
        (("add", "nowhere", "sites", "sites.csv"), "There is no survey in nowhere"),
        (("add", "spring", "sites", "none.csv"), "There is no file none.csv"),
        (("add", "spring", "plots", "sites.csv"), "invalid choice: 'plots'"),
        (("add", "spring", "sites", "sites.csv", "--person", ""), "code is blank"),
        (("export", "nowhere", "-o", "out.csv"), "There is no survey in nowhere"),
        (("export", "spring", "-o", "out.ods"), "ends in .xlsx, .csv, .geojson"),
        (("export", "spring", "-o", "nowhere/out.csv"), "cannot be written"),
        ((*ADVISE, "--crop", "tomatoe"), "Did you mean tomato"),
        ((*ADVISE[:-1], "minesota"), "Did you mean minnesota"),
        ((*ADVISE, "--sample", "A11"), "Did you mean A1"),
        (("advise", "nowhere", *ADVISE[2:]), "There is no survey in nowhere"),
        (("read", "x.jpg", "--chart", "ph.json", "--keep", "nowhere"), "There is no survey in"),
    ],
)
def test_what_cannot_be_done_says_what_to_do(
    words: tuple[str, ...], said: str, tintwell: Commands, read: Path
) -> None:
    """Exit code 2, two sentences on stderr, nothing on stdout, nothing left behind."""
    save_chart(CHART, read.parent / "ph.json")
    before = sorted(path.name for path in read.parent.rglob("*"))
    code, out, err = tintwell(*words)
    assert (code, out) == (STOPPED, "")
    assert said in err
    assert "\n  Try: " in err
    assert sorted(path.name for path in read.parent.rglob("*")) == before


@pytest.mark.parametrize(
    "words",
    [ADVISE, ("export", "spring", "-o", "out.csv"), ("add", "spring", "sites", "sites.csv")],
)
def test_a_newer_survey_is_refused_politely(
    words: tuple[str, ...], tintwell: Commands, read: Path
) -> None:
    """By every command, and it stays as it is."""
    with closing(sqlite3.connect(read / "survey.sqlite")) as db:
        db.execute("PRAGMA user_version = 99")
    before = (read / "survey.sqlite").read_bytes()
    code, _, err = tintwell(*words)
    assert (code, "written by a newer version" in err) == (STOPPED, True)
    assert (read / "survey.sqlite").read_bytes() == before


@pytest.mark.parametrize("name", ["new", "add", "export", "advise"])
def test_each_command_explains_itself(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """And the list of commands holds it."""
    for words in ([name, "--help"], ["--help"]):
        with pytest.raises(SystemExit) as end:
            run(words)
        assert end.value.code == 0
        assert f" {name} " in capsys.readouterr().out


def test_a_chart_that_does_not_say_its_quantity_gives_no_advice(
    tintwell: Commands, survey: Path
) -> None:
    """Nothing is guessed from its values."""
    silent = replace(CHART, id="d" * 32, analyte=Analyte())
    keep(survey, make_line(write_photo(survey.parent), chart=silent))
    code, _, err = tintwell(*ADVISE)
    assert (code, "whose chart says what it measures" in err) == (STOPPED, True)
