"""Which of several grey things in a painted picture is taken for the card."""

import numpy as np
import pytest

from colorcore.grey_card import card_candidates, find_card
from colorcore.parts import CARD, STRIDE, Parts
from tests.colorcore.test_scene import HEIGHT, WIDTH, Bench

CELL = 4


def parts_with(*things: tuple[float, slice, slice]) -> Parts:
    """Paint a map with things of that probability to be a card, in full-size pixels."""
    probability = np.zeros((5, HEIGHT, WIDTH), np.float32)
    for share, rows, columns in things:
        probability[CARD, rows, columns] = share
    probability[0] = 1 - probability[CARD]
    small = probability[:, ::CELL, ::CELL]
    picture = np.zeros((HEIGHT * STRIDE // CELL, WIDTH * STRIDE // CELL, 3), np.uint8)
    return Parts(picture=picture, probability=small, core=np.zeros_like(small[0]), scale=CELL)


def test_the_surer_card_wins_over_a_larger_sheet() -> None:
    """A large sheet that may be grey does not outdo a small card that is."""
    sheet = (0.6, slice(20, 400), slice(500, 1000))
    card = (0.97, slice(440, 640), slice(130, 410))
    first = card_candidates(parts_with(sheet, card))[0]
    assert first.cells[:, 0].max() * CELL < 430


def test_a_shaded_corner_of_the_ground_is_no_card() -> None:
    """What ends at the photo's edges and nowhere else is no card, however sure the network is."""
    bench = Bench()
    fade = np.clip(1 - np.hypot(*np.mgrid[0:HEIGHT, 0:WIDTH]) / 900, 0, 1)
    bench.light *= (1 - 0.6 * fade)[..., None]
    photo, _ = bench.look()
    assert find_card(photo, parts_with((0.95, slice(0, 260), slice(0, 300)))) is None


def test_a_card_near_a_corner_of_the_photo_is_found() -> None:
    """Its sides end inside the photo, if only just; the shaded corner before has no such sides."""
    bench = Bench()
    bench.light[556:756, 12:292] = 0.18
    photo, _ = bench.look()
    found = find_card(photo, parts_with((0.95, slice(556, 756), slice(12, 292))))
    assert found is not None
    assert found.box.x < 24


@pytest.mark.parametrize(
    ("sureness", "other", "columns", "light"),
    [(0.95, 0.42, slice(410, 560), 0.5), (0.98, 0.6, slice(250, 410), 0.3)],
)
def test_the_likelier_of_two_greys_is_kept(
    sureness: float, other: float, columns: slice, light: float
) -> None:
    """The lower level of probability joins a card and its neighbor, or both levels do."""
    bench = Bench().card()
    bench.light[440:640, columns] = light
    photo, _ = bench.look()
    card = (sureness, slice(440, 640), slice(130, columns.start))
    found = find_card(photo, parts_with(card, (other, slice(440, 640), columns)))
    assert found is not None
    assert -20 < found.box.x + found.box.w - columns.start < 15


@pytest.mark.parametrize("light", [0.3, 0.09, 0.5])
def test_a_neighboring_grey_inside_the_outline_is_cut_off(light: float) -> None:
    """A seam between two greys that ends with the card is no shadow."""
    bench = Bench().card()
    bench.light[440:640, 320:410] = light
    photo, _ = bench.look()
    found = find_card(photo, parts_with((0.95, slice(440, 640), slice(130, 410))))
    assert found is not None
    assert found.reasons == ()
    assert 300 < found.box.x + found.box.w < 322


def test_a_colored_border_as_bright_as_the_card_is_drawn_off() -> None:
    """The outline that took in the border comes back to the grey area."""
    bench = Bench().card()
    bench.light[410:670, 100:440] = (0.36, 0.18, 0.09)
    bench.light[440:640, 130:410] = (0.18, 0.18, 0.18)
    photo, _ = bench.look()
    found = find_card(photo, parts_with((0.95, slice(410, 670), slice(100, 440))))
    assert found is not None
    assert found.box.x > 120
    assert found.box.x + found.box.w < 420
    assert found.reasons == ()


def test_two_things_that_look_like_the_card_are_doubted() -> None:
    """Which of two grey things is the card only the user can say."""
    bench = Bench().card()
    bench.light[100:300, 600:880] = bench.light[500, 200]
    photo, _ = bench.look()
    other = (0.8, slice(100, 300), slice(600, 880))
    for sureness, expected in ((0.85, ["which_card"]), (0.97, [])):
        card = (sureness, slice(440, 640), slice(130, 410))
        found = find_card(photo, parts_with(card, other))
        assert found is not None
        assert [reason.code for reason in found.reasons] == expected
