"""Shadows told from things by the background above, below and beside a tube."""

import numpy as np
import pytest

from colorcore.illumination import Backdrop, shade, shade_beside

OUTLINE = ((40.0, 60.0), (60.0, 60.0), (60.0, 140.0), (40.0, 140.0))


def wall(darker: float) -> Backdrop:
    """Make a grey wall with a band behind the tube that is darker, natural log."""
    logs = np.full((200, 100, 3), -0.5, np.float32)
    logs[:, 36:64] -= darker
    return Backdrop(log_channels=logs, free=np.ones((200, 100), bool), scale=1.0)


@pytest.mark.parametrize("darker", [0.3, 0.9])
def test_shadow_goes_on_above_and_below_the_tube(darker: float) -> None:
    """A shadow that falls on a tube darkens the wall over and under it, too."""
    assert shade(wall(darker), OUTLINE) == pytest.approx(-darker, abs=1e-6)


def test_black_stopper_is_no_shadow() -> None:
    """In a room a shadow leaves some of the light; what is nearly black is a thing."""
    assert shade(wall(2.0), OUTLINE) is None


def test_grey_cap_above_an_unshaded_foot_is_no_shadow() -> None:
    """Where both ends are to be seen, a shadow darkens both."""
    capped = wall(0.0)
    capped.log_channels[:60, 36:64] -= 0.5
    assert shade(capped, OUTLINE) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("rows", "found"), [(slice(None), 0.6), (slice(0, 60), 0.0)])
def test_shadow_right_beside_a_thing_goes_on_above_and_below(rows: slice, found: float) -> None:
    """A thing that stands next to a card above it alone is no shadow that passes the card."""
    shaded = wall(0.0)
    shaded.log_channels[rows, 28:40] -= 0.6
    assert shade_beside(shaded, OUTLINE) == pytest.approx(found, abs=1e-6)
