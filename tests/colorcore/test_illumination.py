"""Shadows told from things by the background above, below and beside a tube."""

import numpy as np
import pytest

from colorcore.illumination import Backdrop, shade

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
    assert shade(wall(2.0), OUTLINE) == 0.0
