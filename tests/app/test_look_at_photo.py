"""What the window is told of a photo: outlines, readings, labels, doubts of the whole."""

from pathlib import Path

import numpy as np
import pytest

import sample_images
from app.tasks.look_at_photo import guarded_look, look_at_photo
from app.tasks.read_photo import ReadOrder
from colorcore._cv import cv2
from colorcore.hand_outlines import HandOutlines, HandTube

SAMPLE = Path(sample_images.__file__).parent / "survey" / "plot-a-morning.jpg"
NOTHING = ReadOrder(charts=(), entries={}, known={})
CARD = (0.18, 0.18, 0.18)


def test_a_photo_is_shown_without_any_chart() -> None:
    """Card and tubes have outlines and colors; there are no readings."""
    look = look_at_photo(SAMPLE, NOTHING, None, CARD)
    assert look.card is not None
    assert len(look.tubes) == 3
    assert all(measured is not None for measured in look.measurements)
    assert look.lines == ()


def test_what_is_drawn_takes_the_place_of_what_was_found() -> None:
    """A region by hand is measured where it was drawn; a tube that was taken away is gone."""
    found = look_at_photo(SAMPLE, NOTHING, None, CARD)
    region = found.tubes[1].region
    assert region is not None
    shifted = tuple((x + 2, y + 3) for x, y in region)
    hand = HandOutlines(
        tubes=(HandTube(found=2, region=shifted), HandTube(found=1, region=None))  # type: ignore[arg-type]
    )
    look = look_at_photo(SAMPLE, NOTHING, hand, CARD)
    assert [tube.by_hand for tube in look.tubes] == [False, True]
    assert look.tubes[1].region == shifted
    measured = look.measurements[1]
    assert measured is not None
    assert measured.outline == "by_hand"


def test_outlines_of_another_photo_are_refused_in_words() -> None:
    """What does not lie in the photo cannot be averaged; the photo says so."""
    beside = ((5000.0, 5.0), (5050.0, 5.0), (5050.0, 55.0), (5000.0, 55.0))
    for hand in (
        HandOutlines(card=beside),
        HandOutlines(tubes=(HandTube(found=1, region=beside),)),
    ):
        look = look_at_photo(SAMPLE, NOTHING, hand, CARD)
        assert look.tubes == ()
        assert "do not lie in it" in look.reasons[0].text


def test_a_photo_that_lost_its_camera_data_is_noted(tmp_path: Path) -> None:
    """A picture saved again without its camera's data says so; it is only a note."""
    again = tmp_path / "sent.jpg"
    picture = cv2.imdecode(np.fromfile(SAMPLE, np.uint8), cv2.IMREAD_COLOR)
    again.write_bytes(bytes(cv2.imencode(".jpg", picture)[1]))
    notes = {r.code: r.weight for r in look_at_photo(again, NOTHING, None, CARD).reasons}
    assert notes["photo_saved_again"] == "note"
    assert "photo_saved_again" not in {
        r.code for r in look_at_photo(SAMPLE, NOTHING, None, CARD).reasons
    }


def test_what_breaks_is_a_refusal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that is no photo, and a fault inside, both end as a refusal with its reason."""
    path = tmp_path / "tea.jpg"
    path.write_text("tea", "utf-8")
    assert look_at_photo(path, NOTHING, None, CARD).reasons[0].code == "unreadable"
    monkeypatch.setattr("app.tasks.look_at_photo.look", lambda *_: 1 / 0)
    broken = guarded_look(SAMPLE, NOTHING, None, CARD)
    assert "ZeroDivisionError" in broken.reasons[0].text
