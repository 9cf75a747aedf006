"""Outlines that are moved, added and removed; what was said of tubes goes with them."""

from pathlib import Path

from app.desk import AS_FOUND, DeskPhoto, PhotoEdits
from app.desk_outlines import (
    as_found,
    is_usable,
    moved,
    quad_of,
    shown_tubes,
    with_region,
    with_tube,
    without_tube,
)
from app.tube_reading import PhotoLook, TubeEntry, TubeOutline
from colorcore.geometry import Box
from colorcore.hand_outlines import HandTube

WIDTH, HEIGHT = 400, 300
GLASSES = (Box(50, 50, 40, 150), Box(200, 50, 40, 150))


def two_tubes() -> DeskPhoto:
    """Two tubes that were found, the left one named, the right one of a certain test."""
    outlines = tuple(
        TubeOutline(
            vessel=quad_of(glass),
            region=quad_of(Box(glass.x + 10, glass.y + 40, 20, 80)),
            found=number,
            by_hand=False,
        )
        for number, glass in enumerate(GLASSES, start=1)
    )
    look = PhotoLook(
        width=WIDTH, height=HEIGHT, card=None, tubes=outlines, measurements=(None, None),
        lines=(), reasons=(), taken_at=None, camera=None, sha256=None,
    )  # fmt: skip
    entries = ((1, TubeEntry(sample="left")), (2, TubeEntry(sample="right")))
    return DeskPhoto(path=Path("a"), edits=PhotoEdits(entries=entries), look=look)


def test_moving_one_region_leaves_the_other_as_it_was_found() -> None:
    """Only the moved region is read by hand."""
    photo = two_tubes()
    assert photo.look is not None
    new = quad_of(Box(215, 100, 15, 60))
    drawn = with_region(photo.edits.hand, photo.look, 2, new)
    assert drawn.at == 2
    assert drawn.hand.tubes == (HandTube(found=1, region=None), HandTube(found=2, region=new))
    assert [tube.by_hand for tube in shown_tubes(photo.look, drawn.hand)] == [False, True]


def test_a_tube_added_in_the_middle_pushes_names_to_the_right() -> None:
    """Tubes count from the left; a name stays with its tube."""
    photo = two_tubes()
    assert photo.look is not None
    drawn = with_tube(photo.edits.hand, photo.look, quad_of(Box(130, 100, 20, 60)))
    edits = drawn.edited(photo.edits)
    assert drawn.at == 2
    assert [(tube, entry.sample) for tube, entry in edits.entries] == [(1, "left"), (3, "right")]


def test_a_tube_taken_out_takes_its_name_along() -> None:
    """The right tube becomes the first one and keeps its own name."""
    photo = two_tubes()
    assert photo.look is not None
    edits = without_tube(photo.edits.hand, photo.look, 1).edited(photo.edits)
    assert [(tube, entry.sample) for tube, entry in edits.entries] == [(1, "right")]
    assert edits.hand.tubes == (HandTube(found=2, region=None),)


def test_as_found_undoes_all_drawing_and_no_naming() -> None:
    """What was said of tubes that were found comes back to their places."""
    photo = two_tubes()
    assert photo.look is not None
    drawn = with_tube(photo.edits.hand, photo.look, quad_of(Box(130, 100, 20, 60)))
    back = as_found(drawn.hand, photo.look).edited(drawn.edited(photo.edits))
    assert back.hand == AS_FOUND
    assert back.entries == photo.edits.entries


def test_an_outline_stays_inside_the_photo_and_convex() -> None:
    """A corner that would cross the opposite side, or leave the photo, does not move."""
    quad = quad_of(Box(380, 10, 20, 20))
    assert moved(quad, (50, 0), None, WIDTH, HEIGHT) == quad
    assert moved(quad, (-30, 30), 1, WIDTH, HEIGHT) == quad
    assert not is_usable(quad_of(Box(390, 10, 20, 20)), WIDTH, HEIGHT)
