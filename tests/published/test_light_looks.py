"""What the look of a card tells of a light, checked with published cameras and CIE lamps.

Sensitivities: Darrodi, Finlayson, Goodman & Mackiewicz 2015, J. Opt. Soc. Am. A 32, 381, as
colour-science holds them; illuminants: CIE 015:2018, likewise. One in twenty of the cameras behind
the table is one of these two, and the lamps are among those behind it.
"""

import numpy as np
import pytest

from calibration.color_features import FLOOR
from calibration.error_model import light_shift
from tests.laboratory.fit_light_effects import Phone, dye_spectra, seen
from tests.laboratory.light import fit_matrix, named_lamp, published_camera
from tests.laboratory.spectral import random_reflectance


@pytest.mark.parametrize("camera", [0, 1])
@pytest.mark.parametrize("lamp", ["A", "LED-B1", "FL4"])
def test_warm_light_is_told_by_the_card(camera: int, lamp: str) -> None:
    """With the card's look taken into account dyes shift less between daylight and a warm lamp."""
    rng = np.random.default_rng(5)
    samples = np.array([random_reflectance(rng, "clutter") for _ in range(60)])
    sensor = published_camera(camera)
    phone = Phone(
        camera=sensor,
        adaptation=0.7,
        day_matrix=fit_matrix(sensor, named_lamp("D65"), samples),
        lamp_matrix=None,
    )
    spectra = dye_spectra(rng, 12)
    before, usual = seen(rng, phone, named_lamp("D65"), spectra)
    after, look = seen(rng, phone, named_lamp(lamp), spectra)
    told = light_shift(before, look - usual)
    usable = before.min(axis=1) > np.log(4 * FLOOR)
    shift = (after - before)[usable]
    assert usable.sum() > 20
    assert np.sqrt(np.mean((shift - told[usable]) ** 2)) < 0.95 * np.sqrt(np.mean(shift**2))


def test_a_neutral_liquid_and_the_usual_light_shift_nothing() -> None:
    """The card balances what is neutral; a light of the chart's own look tells nothing new."""
    grey = np.full((1, 3), -0.7)
    assert light_shift(grey, np.array([0.3, -0.4])) == pytest.approx(0, abs=1e-12)
    red = np.array([[-0.2, -1.5, -1.0]])
    assert light_shift(red, np.zeros(2)) == pytest.approx(0, abs=1e-12)
