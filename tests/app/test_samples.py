"""The sample photos: their sheets, and the whole path from photo to reading on the command line.

The truth is sample_images/answers.csv; tests/laboratory/make_samples.py made both.
"""

import csv
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import sample_images
from app.command_line import run
from app.tasks.photo_files import PHOTO_ENDINGS
from app.tasks.read_photo import ReadOrder, read_one
from app.terminal.words import DONE, SOME_REFUSED
from app.tube_reading import TubeEntry
from calibration.chart_file import load_chart
from calibration.sheets import read_standards_sheet, read_tubes_sheet
from colorcore._cv import cv2
from colorcore.color_profile import DISPLAY_P3
from colorcore.photo import read_photo

SAMPLES = Path(sample_images.__file__).parent
FORMS = {"ph": (), "phosphorus": ("--form", "P", "--basis", "extract")}
REASON_OF_FAULT = {"no_card": "no_card", "card_clipped": "card_clipped", "motion_blur": "blurred"}
Corners = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The truth about one tube."""

    photo: str
    tube: int
    sample: str
    quantity: str
    value: float
    fault: str
    outlines: tuple[Corners, ...]  # of card (where there is one), vessel, clear liquid

    @property
    def liquid(self) -> np.ndarray:
        """Outline of the clear liquid for OpenCV, shape (4, 2)."""
        return np.array(self.outlines[-1], np.float32)


def _corners(text: str) -> Corners:
    x_y = (corner.split(",") for corner in text.split())
    return tuple((float(x), float(y)) for x, y in x_y)


def _answers() -> tuple[Answer, ...]:
    with (SAMPLES / "answers.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return tuple(
        Answer(
            photo=row["photo"],
            tube=int(row["tube"]),
            sample=row["sample"],
            quantity=row["quantity"],
            value=float(row["value"]),
            fault=row["fault"],
            outlines=tuple(_corners(row[k]) for k in ("card", "vessel", "liquid") if row[k]),
        )
        for row in rows
    )


ANSWERS = _answers()
SURVEY = tuple(answer for answer in ANSWERS if answer.photo.startswith("survey/"))
GOOD = tuple(answer for answer in SURVEY if not answer.fault)
FAULTY = tuple(answer for answer in SURVEY if answer.fault)
PHOTOS = tuple(dict.fromkeys(answer.photo for answer in ANSWERS))


def _name(answer: Answer) -> str:
    return f"{Path(answer.photo).stem}-{answer.tube}"


# ---------------------------------------------------------------------------------- the folder
def test_answers_name_every_photo_and_no_other() -> None:
    """Each photo in the folders has its answers, and each answer its photo."""
    files = {p for p in SAMPLES.rglob("*") if p.suffix in PHOTO_ENDINGS}
    assert {p.relative_to(SAMPLES).as_posix() for p in files} == set(PHOTOS)


def test_tubes_sheet_agrees_with_answers() -> None:
    """It names every tube of the survey, with its sample and the test carried out in it."""
    rows = read_tubes_sheet(SAMPLES / "tubes.csv")
    said = [(r.photo, r.tube, r.sample, r.chart, r.role) for r in rows]
    assert said == [(a.photo, a.tube, a.sample, a.quantity, "sample") for a in SURVEY]


@pytest.mark.parametrize("quantity", FORMS)
def test_standards_sheets_agree_with_answers(quantity: str) -> None:
    """They give the true value of every tube, two tubes of each value."""
    rows = read_standards_sheet(SAMPLES / quantity / "standards.csv")
    truth = [a for a in ANSWERS if a.photo.startswith(f"{quantity}/")]
    said = [(f"{quantity}/{r.photo}", r.tube, r.value) for r in rows]
    assert said == [(a.photo, a.tube, a.value) for a in truth]
    values = [a.value for a in truth]
    assert all(values.count(value) == 2 for value in values)


def test_survey_covers_what_it_promises() -> None:
    """Five plots or more with both tests, three faulty photos, two cameras, several formats."""
    tested = {(a.sample, a.quantity) for a in GOOD}
    plots = {sample for sample, _ in tested}
    assert len(plots) >= 5
    assert tested == {(plot, quantity) for plot in plots for quantity in FORMS}
    assert {a.fault for a in FAULTY} == set(REASON_OF_FAULT)
    assert len({a.photo for a in FAULTY}) == 3
    photos = [read_photo(SAMPLES / name) for name in PHOTOS]
    assert len({photo.camera for photo in photos}) == 2
    assert DISPLAY_P3 in [photo.profile for photo in photos]
    assert "HEIC" in [photo.file_format for photo in photos]
    assert sum(p.stat().st_size for p in SAMPLES.rglob("*") if p.is_file()) < 15e6


@pytest.mark.parametrize("name", PHOTOS)
def test_outlines_lie_in_the_upright_photo(name: str) -> None:
    """No card or tube is cut off by the edge of its photo."""
    photo = read_photo(SAMPLES / name)
    corners = np.array([c for a in ANSWERS if a.photo == name for o in a.outlines for c in o])
    assert (corners >= 0).all()
    assert (corners <= (photo.width, photo.height)).all()


# ------------------------------------------------------------------------------- the whole path
@pytest.fixture(scope="module")
def calibrated(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, int]]:
    """Calibrate both charts on the command line; each with the command's exit code."""
    folder = tmp_path_factory.mktemp("charts")
    made = {}
    for quantity, form in FORMS.items():
        chart = folder / f"{quantity}.json"
        sheet = str(SAMPLES / quantity / "standards.csv")
        words = ["calibrate", sheet, "-o", str(chart), "--card-reflectance", "0.18"]
        made[quantity] = (chart, run([*words, "--quantity", quantity, *form]))
    return made


@pytest.fixture(scope="module")
def charts(calibrated: dict[str, tuple[Path, int]]) -> dict[str, Path]:
    """Return where the charts are."""
    return {quantity: chart for quantity, (chart, _) in calibrated.items()}


@pytest.mark.parametrize("quantity", FORMS)
def test_every_standard_enters_its_chart(
    quantity: str, calibrated: dict[str, tuple[Path, int]]
) -> None:
    """None is left out as not found, refused, or at odds with the others."""
    chart, code = calibrated[quantity]
    assert code == DONE
    assert len(load_chart(chart).measurements) == sum(
        answer.photo.startswith(f"{quantity}/") for answer in ANSWERS
    )


Line = dict[str, Any]
Find = Callable[[Answer], Line]


@pytest.fixture(scope="module")
def lines(charts: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> list[Line]:
    """Read the survey with `tintwell read --format jsonl`."""
    output = tmp_path_factory.mktemp("read") / "readings.jsonl"
    words = ["read", str(SAMPLES / "survey"), "--tubes", str(SAMPLES / "tubes.csv")]
    words += [word for chart in charts.values() for word in ("--chart", str(chart))]
    assert run([*words, "--format", "jsonl", "-o", str(output)]) == SOME_REFUSED
    return [json.loads(line) for line in output.read_text(encoding="utf-8").splitlines()]


@pytest.fixture(scope="module")
def line_of(lines: list[Line]) -> Find:
    """Find the line of a tube."""
    places = {(Path(str(line["photo"])).name, line["tube"]): line for line in lines}
    assert len(places) == len(lines)
    return lambda answer: places[Path(answer.photo).name, answer.tube]


def _place(value: float, chart: Path) -> float:
    """Return where a value lies along the chart, in swatch steps from its first."""
    values = [s.value for s in load_chart(chart).swatches if s.value is not None]
    return float(np.interp(value, values, np.arange(len(values))))


def test_no_tube_is_missed_and_none_invented(lines: list[Line]) -> None:
    """Photos without a fault give one line for each of their tubes."""
    names = {Path(a.photo).name for a in GOOD}
    found = [(Path(str(o["photo"])).name, o["tube"]) for o in lines]
    good = [place for place in found if place[0] in names]
    assert sorted(good) == sorted((Path(a.photo).name, a.tube) for a in GOOD)


@pytest.mark.parametrize("answer", GOOD, ids=_name)
def test_box_lies_in_the_clear_liquid(answer: Answer, line_of: Find) -> None:
    """All but 1 % of it, and it covers a fifth of the liquid or more."""
    x, y, w, h = line_of(answer)["box"]
    box = np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], np.float32)
    inside, _ = cv2.intersectConvexConvex(box, answer.liquid)
    assert inside >= 0.99 * w * h
    assert w * h >= 0.2 * cv2.contourArea(answer.liquid)


@pytest.mark.parametrize("answer", GOOD, ids=_name)
def test_good_tube_is_read_near_its_true_value(
    answer: Answer, line_of: Find, charts: dict[str, Path]
) -> None:
    """On its own chart; where it is accepted, within one and a half swatch steps."""
    line = line_of(answer)
    assert line["sample"] == answer.sample
    assert line["quantity"] == answer.quantity
    assert line["status"] != "refused", line["reasons"]
    if line["status"] == "accepted":
        chart = charts[answer.quantity]
        assert abs(_place(line["value"], chart) - _place(answer.value, chart)) <= 1.5


def test_most_good_tubes_are_accepted(line_of: Find) -> None:
    """Else the check of the values above would say nothing."""
    accepted = sum(line_of(answer)["status"] == "accepted" for answer in GOOD)
    assert accepted >= 0.7 * len(GOOD)


def test_intervals_cover_the_truth(line_of: Find) -> None:
    """Of so few tubes 60 % must lie in their 90 % intervals; a tube without one does not count."""
    covered = 0
    for answer in GOOD:
        low, high = line_of(answer)["low"], line_of(answer)["high"]
        if low is not None and high is not None:
            covered += low <= answer.value <= high
    assert covered >= 0.6 * len(GOOD)


@pytest.mark.parametrize("fault", REASON_OF_FAULT)
def test_faulty_photo_is_refused_with_its_reason(fault: str, lines: list[Line]) -> None:
    """Nothing in it is read, and what to do is said."""
    (name,) = {Path(a.photo).name for a in FAULTY if a.fault == fault}
    here = [line for line in lines if Path(str(line["photo"])).name == name]
    assert here
    for line in here:
        assert line["status"] == "refused"
        assert line["value"] is None
        reasons = {r["code"]: r["what_to_do"] for r in line["reasons"]}
        assert reasons.get(REASON_OF_FAULT[fault])


@pytest.mark.parametrize("name", sorted({a.photo for a in SURVEY}))
def test_task_and_command_line_agree(name: str, lines: list[Line], charts: dict[str, Path]) -> None:
    """There is one path: whoever calls the task gets the numbers that the command prints."""
    photo = SAMPLES / name
    order = ReadOrder(
        charts=tuple((quantity, load_chart(path)) for quantity, path in charts.items()),
        entries={
            (str((SAMPLES / a.photo).resolve()), a.tube): TubeEntry(
                sample=a.sample, chart=a.quantity
            )
            for a in SURVEY
        },
        known={},
    )
    read = read_one(str(photo), order)
    printed = [line for line in lines if Path(str(line["photo"])).name == photo.name]
    assert [(r.tube, r.reading.status) for r in read] == [(o["tube"], o["status"]) for o in printed]
    for ours, line in zip(read, printed, strict=True):
        numbers = (ours.reading.value, ours.reading.low, ours.reading.high, ours.reading.confidence)
        rounded = [None if number is None else round(number, 4) for number in numbers]
        assert rounded == [line[key] for key in ("value", "low", "high", "confidence")]


def test_demo_runs_to_its_end(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And prints a line for every tube, with the names of the plots."""
    assert run(["demo", "--keep", str(tmp_path)]) == DONE
    printed = capsys.readouterr().out
    assert all(answer.sample in printed for answer in SURVEY)
    assert {p.name for p in tmp_path.iterdir()} >= {"ph.json", "phosphorus.json", "overlay"}
