"""Whether a liquid is sound: where it is looked at, in what light, and what the network tells."""

import numpy as np
import pytest

from colorcore.color_profile import SRGB
from colorcore.doubts import TROUBLED
from colorcore.liquid_state import (
    ACROSS,
    ALONG,
    MIDDLE,
    STATES,
    network_input,
    places,
    state_of,
)
from tests.laboratory.painted_liquids import painted_liquid


def test_places_reach_above_below_and_beside() -> None:
    """A column 10 wide and 40 high: a quarter above, 15 % below, its width to each side."""
    where = places(((20.0, 30.0), (30.0, 30.0), (30.0, 70.0), (20.0, 70.0)))
    assert where.shape == (ALONG, ACROSS, 2)
    assert where[0, 0] == pytest.approx((10, 20))
    assert where[-1, -1] == pytest.approx((40, 76))


def test_a_leaning_column_is_looked_at_along_its_axis() -> None:
    """Turned by a right angle the same places are looked at, turned."""
    upright = places(((20.0, 30.0), (30.0, 30.0), (30.0, 70.0), (20.0, 70.0)))
    lying = places(((-30.0, 20.0), (-30.0, 30.0), (-70.0, 30.0), (-70.0, 20.0)))
    assert np.stack([-upright[..., 1], upright[..., 0]], -1) == pytest.approx(lying)


def test_light_is_seen_over_the_card() -> None:
    """What is as light as the card is 0 before the middle is taken off, under any lamp."""
    picture = np.full((50, 60, 3), (90, 140, 200), np.uint8)
    card = SRGB.to_linear(picture[:1, :1])[0, 0].astype(np.float64)
    where = places(((20.0, 15.0), (30.0, 15.0), (30.0, 35.0), (20.0, 35.0)))
    seen = network_input(picture, SRGB, where, card)
    assert seen.shape == (3, ALONG, ACROSS)
    assert seen == pytest.approx(MIDDLE, abs=1e-5)


def test_the_shipped_network_tells_painted_liquids() -> None:
    """Liquids that were not trained on: few sound ones doubted, most troubled ones told."""
    rng = np.random.default_rng(20261129)
    liquids = [painted_liquid(rng) for _ in range(600)]
    doubted = np.array([state_of(planes).trouble >= TROUBLED for planes, _ in liquids])
    state = np.array([STATES[k] for _, k in liquids])
    told = {name: float(doubted[state == name].mean()) for name in STATES}
    assert told["sound"] < 0.06
    assert told["unmixed"] > 0.75
    assert told["unsettled"] > 0.5
    assert told["tube_shadow"] > 0.75
