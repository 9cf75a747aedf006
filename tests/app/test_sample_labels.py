"""Labels with a QR code: made, printed into a photo, and found again."""

from datetime import UTC, datetime

import numpy as np
import pytest

from app.errors import OrderError
from app.tasks.sample_labels import (
    clock_text,
    code_modules,
    find_codes,
    label_text,
    labels_of,
    parse_clock,
    parse_label,
)
from colorcore._cv import cv2
from colorcore.photo import decode_photo


def _photo_with(codes: list[tuple[str, int]]) -> bytes:
    picture = np.full((900, 1400, 3), 170, np.uint8)
    for text, left in codes:
        modules = np.pad(code_modules(text), 4)
        side = 6 * modules.shape[0]
        dark = cv2.resize(modules.astype(np.uint8), (side, side), interpolation=cv2.INTER_NEAREST)
        picture[500 : 500 + side, left : left + side] = np.where(dark, 30, 235)[..., None]
    picture = cv2.GaussianBlur(picture, (0, 0), 1.0)
    return bytes(cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 80])[1])


@pytest.mark.parametrize("name", ["Plot A", "Über-Feld 3 & 4", "畑 7", "=1+1", "ا ب"])
def test_any_name_comes_back(name: str) -> None:
    """What goes into a code comes out of it."""
    assert parse_label(label_text(name, "2")) == (name, "2")


def test_labels_are_found_in_a_photo() -> None:
    """Two labels in a blurred, compressed picture are read, from the left; others are not ours."""
    data = _photo_with([(label_text("Right"), 900), (label_text("Left", "1"), 100)])
    found = labels_of(find_codes(decode_photo(data, "bench.jpg")))
    assert [(label.sample, label.replicate) for label in found] == [("Left", "1"), ("Right", None)]
    other = _photo_with([("https://example.org/tea", 500)])
    assert labels_of(find_codes(decode_photo(other, "tea.jpg"))) == ()


def test_a_photo_of_the_clock_tells_its_time() -> None:
    """The window's clock, photographed, gives back the time that it showed."""
    now = datetime(2026, 3, 1, 9, 0, 7, tzinfo=UTC)
    codes = find_codes(decode_photo(_photo_with([(clock_text(now), 400)]), "clock.jpg"))
    assert [parse_clock(text) for text, _ in codes] == [now]


def test_a_name_that_no_label_can_carry_is_refused() -> None:
    """Empty and very long names are refused with what to do."""
    for name in ("  ", "x" * 400):
        with pytest.raises(OrderError):
            label_text(name)
