"""Balance on the card against a worked example and its invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorcore.color_spaces import rgb_to_lab
from colorcore.white_balance import balance, balance_gains

light = st.tuples(*[st.floats(0.02, 1.0)] * 3)


def linear(*codes: float) -> np.ndarray:
    """Decode sRGB codes by the formula of IEC 61966-2-1."""
    v = np.array(codes) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def test_worked_example_in_display_channels() -> None:
    """Card (130, 118, 100), sample (200, 120, 60), reflectance 0.18, gains on the display's RGB.

    Worked through by hand in double precision from IEC 61966-2-1 and CIE 15:2004.
    """
    gains = balance_gains(linear(130, 118, 100), 0.18, channels=np.eye(3))
    assert gains == pytest.approx((0.8063506, 0.9935735, 1.4124551), abs=5e-7)
    card = balance(linear(130, 118, 100), gains, channels=np.eye(3))
    assert rgb_to_lab(card) == pytest.approx((49.496, 0, 0), abs=1e-3)
    sample = balance(linear(200, 120, 60), gains, channels=np.eye(3))
    assert rgb_to_lab(sample) == pytest.approx((55.80, 19.35, 36.06), abs=0.02)


@given(light, st.floats(0.05, 0.95))
def test_card_becomes_neutral(card: tuple[float, float, float], reflectance: float) -> None:
    """Whatever the light, the card ends at its own reflectance without color."""
    balanced = balance(card, balance_gains(card, reflectance))
    assert balanced == pytest.approx([reflectance] * 3, rel=1e-9)


@given(light, light, st.floats(0.1, 10))
def test_exposure_drops_out(
    card: tuple[float, float, float], sample: tuple[float, float, float], factor: float
) -> None:
    """Twice the light on everything changes nothing."""
    once = balance(sample, balance_gains(card, 0.18))
    more = np.array(card) * factor
    assert balance(np.array(sample) * factor, balance_gains(more, 0.18)) == pytest.approx(
        once, rel=1e-9
    )


@given(light, light)
def test_neutral_light_needs_no_channels(
    sample: tuple[float, float, float], tint: tuple[float, float, float]
) -> None:
    """Beside a neutral card the choice of channels does not matter."""
    plain = balance(
        sample, balance_gains((0.2, 0.2, 0.2), 0.18, channels=np.eye(3)), channels=np.eye(3)
    )
    assert balance(sample, balance_gains((0.2, 0.2, 0.2), 0.18)) == pytest.approx(plain, rel=1e-9)


def test_tinted_card() -> None:
    """A card with a tint of its own ends at that tint."""
    balanced = balance((0.3, 0.2, 0.1), balance_gains((0.3, 0.2, 0.1), (0.18, 0.17, 0.16)))
    assert balanced == pytest.approx((0.18, 0.17, 0.16), rel=1e-9)


def test_unlit_card_is_refused() -> None:
    """A card without light in a channel cannot be balanced on."""
    with pytest.raises(ValueError, match="lit in every channel"):
        balance_gains((0.0, 0.0, 0.0), 0.18)
