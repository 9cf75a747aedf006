"""What photos and surveys know of people and places stays in, unless it is asked for."""

import base64
import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from app.records.record_book import create_survey
from app.survey.site import Site
from app.tasks.overlay import write_overlay
from app.terminal.words import DONE
from tests.app.conftest import Commands
from tests.app.sample_surveys import NOW, make_line

PLACE = (50.12345, -8.54321)
SECRETS = (b"Ada Invented", b"SN-4711", b"50.12345", b"8.54321")


def photo_with_secrets(path: Path) -> Path:
    """Write a photo whose file tells who took it, with which camera, and where."""
    exif = Image.Exif()
    exif[0x013B] = "Ada Invented"  # artist
    exif[0x8298] = "Ada Invented"  # copyright
    exif.get_ifd(0x8769)[0xA431] = "SN-4711"  # serial number
    gps = {1: "N", 2: (50.0, 7.0, 24.42), 3: "W", 4: (8.0, 32.0, 35.556)}
    exif.get_ifd(0x8825).update(gps)
    pixels = np.full((300, 400, 3), 200, np.uint8)
    pixels[20:100, 10:40] = (40, 160, 90)
    Image.fromarray(pixels).save(path, exif=exif)
    assert b"Ada Invented" in path.read_bytes()
    return path


@pytest.fixture
def season(tintwell: Commands, tmp_path: Path) -> Path:
    """Make a survey of such a photo; whoever kept it has a name and the site a position."""
    photo = photo_with_secrets(tmp_path / "plot-7.jpg")
    with create_survey(tmp_path / "season", id="s", now=NOW) as book:
        site = Site(name="North", latitude_deg=PLACE[0], longitude_deg=PLACE[1])
        book.add_sites([site], person="P1", now=NOW)
        book.name_person("P1", "Ada Invented", person="P1", now=NOW)
        book.keep_readings((make_line(photo),), "P1", NOW)
    return tmp_path


def pictures_in(html: str) -> list[bytes]:
    """Pictures that a page carries within itself."""
    return [
        base64.b64decode(data) for data in re.findall(r"data:image/jpeg;base64,([^\"')]+)", html)
    ]


@pytest.mark.parametrize("ending", ["csv", "geojson"])
def test_exports_tell_no_place_and_no_name(season: Path, tintwell: Commands, ending: str) -> None:
    """The plain export holds codes of people, and no position."""
    assert tintwell("export", "season", "-o", f"out.{ending}")[0] == DONE
    data = (season / f"out.{ending}").read_bytes()
    assert b"P1" in data
    assert not any(secret in data for secret in SECRETS)


def test_a_workbook_with_pictures_tells_nothing_of_the_camera(
    season: Path, tintwell: Commands
) -> None:
    """Thumbnails are drawn anew, without what the photo's file says."""
    import zipfile

    assert tintwell("export", "season", "-o", "out.xlsx", "--thumbnails")[0] == DONE
    with zipfile.ZipFile(season / "out.xlsx") as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    pictures = [data for name, data in parts.items() if name.startswith("xl/media/")]
    assert pictures
    assert all(not Image.open(io.BytesIO(data)).getexif() for data in pictures)
    for secret in (b"SN-4711", b"50.12345", b"8.54321"):
        assert not any(secret in data for data in parts.values()), secret


def test_a_report_without_names(season: Path, tintwell: Commands) -> None:
    """Neither in its text nor in its pictures."""
    assert tintwell("report", "season", "-o", "out.html", "--without-names")[0] == DONE
    html = (season / "out.html").read_text(encoding="utf-8")
    pictures = pictures_in(html)
    assert pictures
    assert all(not Image.open(io.BytesIO(data)).getexif() for data in pictures)
    assert not any(secret.decode() in html for secret in SECRETS)
    assert not any(secret in data for data in pictures for secret in SECRETS)


def test_an_overlay_tells_nothing_of_the_camera(tmp_path: Path) -> None:
    """The picture of what was found is drawn anew."""
    photo = photo_with_secrets(tmp_path / "plot-7.jpg")
    write_overlay(photo, (make_line(photo),), tmp_path / "found")
    (drawn,) = (tmp_path / "found").iterdir()
    with Image.open(drawn) as picture:
        assert not picture.getexif()
    assert not any(secret in drawn.read_bytes() for secret in SECRETS)
