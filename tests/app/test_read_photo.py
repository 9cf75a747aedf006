"""What a photo gives as a whole: lines for nothing found, unreadable files, several charts."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from app.tasks.batch import guarded
from app.tasks.photo_files import expand
from app.tasks.read_photo import ReadOrder, read_one
from app.terminal.read_photos import order_of
from app.terminal.words import parse_reflectance
from app.tube_reading import KnownTube
from calibration.chart_file import load_chart
from calibration.indicator import Analyte
from colorcore._cv import cv2
from colorcore.errors import TintwellError

SAMPLES = Path(__file__).parents[2] / "sample_images"


@pytest.fixture(scope="module")
def chart_files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Make the pH chart of the sample photos twice, under two names."""
    from app.command_line import run

    folder = tmp_path_factory.mktemp("charts")
    files = (folder / "one.json", folder / "two.json")
    for file in files:
        words = ["calibrate", str(SAMPLES / "ph" / "standards.csv"), "-o", str(file)]
        assert run([*words, "--card-reflectance", "0.18"]) == 0
    return files


def order(*files: Path) -> ReadOrder:
    """Make an order of one or more charts."""
    return ReadOrder(charts=tuple((f.stem, load_chart(f)) for f in files), entries={}, known={})


def codes(photo: Path, of: ReadOrder) -> list[set[str]]:
    """Return the codes of every line of a photo."""
    return [{r.code for r in line.reading.reasons} for line in guarded(str(photo), of)]


def test_color_on_two_charts_is_doubtful(chart_files: tuple[Path, Path]) -> None:
    """Without a tubes sheet a tube that fits two charts is not decided."""
    lines = read_one(str(SAMPLES / "survey" / "plot-f-flat-on-paper.jpg"), order(*chart_files))
    first = lines[0].reading
    assert "which_chart" in {r.code for r in first.reasons}
    assert first.status == "doubtful"
    assert first.value is not None


def test_unreadable_file_gives_one_line(chart_files: tuple[Path, Path], tmp_path: Path) -> None:
    """Text with a picture's name is refused, not a crash."""
    photo = tmp_path / "notes.jpg"
    photo.write_text("not a picture")
    assert codes(photo, order(chart_files[0])) == [{"unreadable"}]
    assert codes(tmp_path / "absent.jpg", order(chart_files[0])) == [{"unreadable"}]


def test_photo_of_nothing_gives_one_line(chart_files: tuple[Path, Path], tmp_path: Path) -> None:
    """A bare wall has no tube and no card."""
    photo = tmp_path / "wall.png"
    noise = np.random.default_rng(0).normal(190, 2, (600, 800, 3))
    assert cv2.imwrite(str(photo), noise.astype(np.uint8))
    (found,) = codes(photo, order(chart_files[0]))
    assert {"no_tube", "no_card"} <= found


def test_chart_named_in_the_sheet_must_be_given(
    chart_files: tuple[Path, Path], tmp_path: Path
) -> None:
    """A tubes sheet that names an unknown chart stops the work before any photo is read."""
    (tmp_path / "p.jpg").write_bytes(b"x")
    sheet = tmp_path / "tubes.csv"
    sheet.write_text("photo,tube,chart\np.jpg,1,nitrogen\n")
    with pytest.raises(TintwellError, match="nitrogen"):
        order_of([str(chart_files[0])], tubes=str(sheet))


def test_folders_become_their_photos(tmp_path: Path) -> None:
    """A folder stands for its photos in the order of their names; an empty one is an error."""
    for name in ("b.JPG", "a.heic", "notes.txt"):
        (tmp_path / name).write_bytes(b"")
    assert [Path(p).name for p in expand([str(tmp_path)])] == ["a.heic", "b.JPG"]
    (tmp_path / "empty").mkdir()
    with pytest.raises(TintwellError, match="no photo"):
        expand([str(tmp_path / "empty")])


@pytest.mark.parametrize("text", ["18", "0", "1", "-0.2", "nan", "inf", "0.1,0.2", "grey", ""])
def test_bad_reflectance_is_refused(text: str) -> None:
    """A reflectance is a fraction, or three of them."""
    with pytest.raises(TintwellError):
        parse_reflectance(text)


def test_reflectance_of_a_tinted_card() -> None:
    """One fraction stands for all channels, three for each."""
    assert parse_reflectance("0.18") == (0.18, 0.18, 0.18)
    assert parse_reflectance("0.18,0.17,0.16") == (0.18, 0.17, 0.16)


def test_known_tube_of_another_test_does_not_help(chart_files: tuple[Path, Path]) -> None:
    """A phosphorus tube declared in the frame says nothing about pH; a pH tube does."""
    photo = SAMPLES / "survey" / "plot-f-flat-on-paper.jpg"
    plain = order(chart_files[0])

    def reading_with(analyte: Analyte) -> tuple[float | None, set[str]]:
        tube = KnownTube(tube=2, value=6.0, label=None, uncertainty=None, analyte=analyte)
        helped = replace(plain, known={str(photo.resolve()): (tube,)})
        reading = read_one(str(photo), helped)[0].reading
        return reading.value, {r.code for r in reading.reasons}

    alone = read_one(str(photo), plain)[0].reading
    value, found = reading_with(Analyte(quantity="phosphorus", unit="mg/L"))
    assert value == alone.value
    assert "bad_standard" not in found
    # The blue phosphorus tube called pH 6 is noticed as what it is not.
    assert "bad_standard" in reading_with(Analyte(quantity="ph", unit="pH"))[1]
