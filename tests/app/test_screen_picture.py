"""Pictures for the screen: upright, in sRGB, in several sizes; the color under the pointer."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtGui import QColorSpace

from app.tasks.screen_picture import probe, read_screen_picture, read_thumbnail
from colorcore._cv import cv2
from colorcore.photo import read_photo


def test_levels_halve_down_to_a_small_one(tmp_path: Path) -> None:
    """A photo of 1600 x 1200 has two more pictures, so that a small one is quick to draw."""
    Image.new("RGB", (1600, 1200), (10, 120, 200)).save(tmp_path / "a.png")
    made = read_screen_picture(tmp_path / "a.png")
    assert [level.shape[:2] for level in made.levels] == [(1200, 1600), (600, 800)]
    assert made.levels[-1][5, 5].tolist() == [200, 120, 10]


def test_a_photo_on_its_side_is_upright(tmp_path: Path) -> None:
    """The orientation in the file's facts is honored in the small picture too."""
    picture = Image.new("RGB", (400, 200))
    facts = Image.Exif()
    facts[0x0112] = 6  # turn clockwise to see it upright
    picture.save(tmp_path / "a.jpg", exif=facts)
    assert read_thumbnail(tmp_path / "a.jpg", 100).shape == (100, 50, 3)


def test_display_p3_is_shown_in_srgb(tmp_path: Path) -> None:
    """Mid-grey stays; a P3 red is redder than sRGB can show, so its green and blue are cut to 0.

    CSS Color 4 gives color(display-p3 1 0 0) as about (1.093, -0.227, -0.150) in sRGB.
    """
    picture = Image.new("RGB", (40, 40), (128, 128, 128))
    picture.paste((255, 0, 0), (0, 0, 20, 40))
    profile = QColorSpace(QColorSpace.NamedColorSpace.DisplayP3).iccProfile().data()
    picture.save(tmp_path / "a.png", icc_profile=bytes(profile))
    shown = read_screen_picture(tmp_path / "a.png").levels[0]
    assert shown[20, 30].tolist() == pytest.approx([128, 128, 128], abs=1)
    assert shown[20, 5].tolist() == pytest.approx([0, 0, 255], abs=1)


def test_the_probe_balances_on_the_card(tmp_path: Path) -> None:
    """A card of 18 % reflectance is L* 49.5 (CIE 15: 116 x 0.18^(1/3) - 16), without hue."""
    pixels = np.full((40, 60, 3), (90, 120, 140), dtype=np.uint8)
    cv2.imwrite(str(tmp_path / "a.png"), pixels)
    photo = read_photo(tmp_path / "a.png")
    light = tuple(float(v) for v in photo.linear().reshape(-1, 3).mean(axis=0))
    seen = probe(photo, 30, 20, (light[0], light[1], light[2]), (0.18, 0.18, 0.18))
    assert seen is not None
    assert seen.codes == (140, 120, 90)
    assert seen.lab == pytest.approx((49.5, 0, 0), abs=0.05)
    assert probe(photo, 60, 20, None, (0.18, 0.18, 0.18)) is None
