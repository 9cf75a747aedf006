"""Color spaces against printed values and against two reference libraries."""

import colour
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage import color as skimage_color

from colorcore.color_spaces import (
    WHITES,
    adapt_white,
    lab_jacobian,
    lab_to_rgb,
    lab_to_xyz,
    lab_under,
    rgb_to_lab,
    rgb_to_xyz,
    white_xyz,
    xyz_to_lab,
)

# 8-bit sRGB to CIELAB under D65 (white 0.95047, 1, 1.08883; seven-digit matrix). Computed
# independently in double precision from IEC 61966-2-1 and CIE 15:2004.
SRGB_TO_LAB = [
    ((255, 255, 255), (100.000, 0.000, 0.000)),
    ((255, 0, 0), (53.241, 80.093, 67.203)),
    ((0, 255, 0), (87.735, -86.183, 83.179)),
    ((0, 0, 255), (32.297, 79.188, -107.860)),
    ((128, 128, 128), (53.585, 0.000, 0.000)),
    ((255, 255, 0), (97.139, -21.554, 94.478)),
    ((255, 128, 0), (67.055, 42.826, 74.018)),
    ((64, 128, 192), (52.211, 0.098, -39.488)),
    ((0, 128, 0), (46.227, -51.699, 49.897)),
]
unit = st.floats(0, 1)


def linear(codes: tuple[int, ...]) -> np.ndarray:
    """Decode sRGB codes by the formula of IEC 61966-2-1."""
    v = np.array(codes) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize(("codes", "lab"), SRGB_TO_LAB)
def test_srgb_to_lab_gives_printed_values(codes: tuple[int, ...], lab: tuple[float, ...]) -> None:
    """Agrees within one unit of the third decimal: the matrix itself is rounded at the seventh."""
    assert rgb_to_lab(linear(codes)) == pytest.approx(lab, abs=1e-3)


@given(st.tuples(unit, unit, unit))
def test_lab_agrees_with_both_libraries(rgb: tuple[float, float, float]) -> None:
    """colour-science and scikit-image see the same XYZ as the same CIELAB."""
    xyz = rgb_to_xyz(rgb)
    white = np.array(WHITES["D65"])
    by_colour = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white))
    assert xyz_to_lab(xyz) == pytest.approx(by_colour, abs=5e-3)
    by_skimage = skimage_color.xyz2lab(xyz[None], illuminant="D65", observer="2")[0]
    assert xyz_to_lab(xyz) == pytest.approx(by_skimage, abs=0.02)  # its white: 0.95047 1 1.08883


@given(st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100)))
def test_lab_comes_back(lab: tuple[float, float, float]) -> None:
    """There and back loses nothing, also beyond the display's gamut."""
    assert xyz_to_lab(lab_to_xyz(lab)) == pytest.approx(lab, abs=1e-6)
    assert rgb_to_lab(lab_to_rgb(lab)) == pytest.approx(lab, abs=1e-6)


def test_bradford_gives_printed_values() -> None:
    """SRGB red from D65 to D50; worked through by hand from the Bradford matrix."""
    red = (0.412456, 0.212673, 0.019334)
    assert adapt_white(red, "D65", "D50") == pytest.approx(
        (0.4360747, 0.2225045, 0.0139322), abs=2e-6
    )


@given(st.tuples(unit, unit, unit))
def test_a_white_stays_white(rgb: tuple[float, float, float]) -> None:
    """Adaptation carries one white exactly onto the other and comes back."""
    assert adapt_white(white_xyz("D65"), "D65", "D50") == pytest.approx(white_xyz("D50"), abs=1e-9)
    lab = rgb_to_lab(rgb)
    there = lab_under(lab, "D65", "D50")
    assert lab_under(there, "D50", "D65") == pytest.approx(lab, abs=1e-6)


@given(st.tuples(*[st.floats(0.02, 1)] * 3))
def test_jacobian_is_the_derivative(rgb: tuple[float, float, float]) -> None:
    """Small steps in each channel move CIELAB as the matrix says."""
    step = 1e-6
    numeric = [
        (rgb_to_lab(np.array(rgb) + step * d) - rgb_to_lab(np.array(rgb) - step * d)) / (2 * step)
        for d in np.eye(3)
    ]
    assert lab_jacobian(rgb) == pytest.approx(np.array(numeric).T, rel=1e-3, abs=1e-3)


def test_unknown_white_is_refused() -> None:
    """A white that is not in the table is a programmer's mistake."""
    with pytest.raises(ValueError, match="white must be one of"):
        white_xyz("D93")
