"""Linear RGB to XYZ to CIELAB and back, the white always named.

The per-pixel path is written out here in NumPy for speed; everything that is done once a photo
(adaptation from one white to another) goes through colour-science.
"""

import warnings
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# White points of the CIE 1931 2 degree observer as used in practice (ASTM E308 table values).
WHITES: dict[str, tuple[float, float, float]] = {
    "D65": (0.95047, 1.0, 1.08883),
    "D50": (0.96422, 1.0, 0.82521),
}

# Linear BT.709 / sRGB primaries to XYZ under D65, IEC 61966-2-1 primaries at seven digits.
RGB_TO_XYZ: FloatArray = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
XYZ_TO_RGB: FloatArray = np.asarray(np.linalg.inv(RGB_TO_XYZ))

_EPSILON = 216 / 24389
_KAPPA = 24389 / 27


class Lab(NamedTuple):
    """A color in CIELAB: lightness L* (0 to 100 for surfaces), a* and b*."""

    lightness: float
    a: float
    b: float


@cache
def colour_science() -> Any:
    """Load colour-science when it is first needed; it takes half a second.

    Importing it switches NumPy's printing to an old style and warns that Matplotlib is absent;
    neither may reach the user.
    """
    with np.printoptions(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    return colour


def white_xyz(white: str) -> FloatArray:
    """Return the XYZ of a named white, shape (3,), Y = 1.

    Raises
    ------
    ValueError
        If the white has no entry in `WHITES`.
    """
    if white not in WHITES:
        raise ValueError(f"white must be one of {sorted(WHITES)}, got {white!r}")
    return np.array(WHITES[white])


def rgb_to_xyz(rgb: ArrayLike) -> FloatArray:
    """Linear RGB (BT.709 primaries, unclipped) to XYZ under D65, shape (..., 3).

    Examples
    --------
    >>> [round(float(v), 4) for v in rgb_to_xyz((1.0, 0.0, 0.0))]
    [0.4125, 0.2127, 0.0193]
    """
    return np.asarray(np.asarray(rgb, dtype=np.float64) @ RGB_TO_XYZ.T)


def xyz_to_rgb(xyz: ArrayLike) -> FloatArray:
    """XYZ under D65 to linear RGB (BT.709 primaries, unclipped), shape (..., 3)."""
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ XYZ_TO_RGB.T)


def xyz_to_lab(xyz: ArrayLike, white: str = "D65") -> FloatArray:
    """XYZ to CIELAB, shape (..., 3).

    L* = 116 f(Y/Yn) - 16, a* = 500 (f(X/Xn) - f(Y/Yn)), b* = 200 (f(Y/Yn) - f(Z/Zn)), with f the
    cube root above (6/29)^3 and its tangent below.

    References
    ----------
    CIE 15:2004, Colorimetry, section 8.2.1.

    Examples
    --------
    >>> [round(float(v), 3) for v in xyz_to_lab(rgb_to_xyz((1.0, 0.0, 0.0)))]
    [53.241, 80.092, 67.203]
    """
    t = np.asarray(xyz, dtype=np.float64) / white_xyz(white)
    f = np.where(t > _EPSILON, np.cbrt(t), (_KAPPA * t + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def lab_to_xyz(lab: ArrayLike, white: str = "D65") -> FloatArray:
    """CIELAB to XYZ, the exact inverse of `xyz_to_lab`, shape (..., 3)."""
    values = np.asarray(lab, dtype=np.float64)
    y = (values[..., 0] + 16) / 116
    f = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    t = np.where(f**3 > _EPSILON, f**3, (116 * f - 16) / _KAPPA)
    return np.asarray(t * white_xyz(white))


def rgb_to_lab(rgb: ArrayLike) -> FloatArray:
    """Linear RGB (BT.709 primaries) to CIELAB under D65, shape (..., 3)."""
    return xyz_to_lab(rgb_to_xyz(rgb))


def lab_to_rgb(lab: ArrayLike) -> FloatArray:
    """CIELAB under D65 to linear RGB (BT.709 primaries, unclipped), shape (..., 3)."""
    return xyz_to_rgb(lab_to_xyz(lab))


def lab_jacobian(rgb: ArrayLike) -> FloatArray:
    """Return the derivative of CIELAB (D65) by linear RGB at one color, shape (3, 3)."""
    t = rgb_to_xyz(rgb) / white_xyz("D65")
    slope = np.where(t > _EPSILON, np.cbrt(np.maximum(t, _EPSILON)) ** -2 / 3, _KAPPA / 116)
    by_f = np.array([[0.0, 116.0, 0.0], [500.0, -500.0, 0.0], [0.0, 200.0, -200.0]])
    return np.asarray(by_f * slope @ (RGB_TO_XYZ / white_xyz("D65")[:, None]))


def adapt_white(xyz: ArrayLike, source: str, target: str) -> FloatArray:
    """Carry XYZ from one named white to another with the Bradford transform, shape (..., 3).

    References
    ----------
    Lam 1985 as adopted by ICC.1 (Annex E); computed by colour-science.

    Examples
    --------
    >>> red = rgb_to_xyz((1.0, 0.0, 0.0))
    >>> [round(float(v), 4) for v in adapt_white(red, "D65", "D50")]
    [0.4361, 0.2225, 0.0139]
    """
    adapted = colour_science().chromatic_adaptation(
        np.asarray(xyz, dtype=np.float64),
        white_xyz(source),
        white_xyz(target),
        method="Von Kries",
        transform="Bradford",
    )
    return np.asarray(adapted, dtype=np.float64)


def lab_under(lab: ArrayLike, source: str, target: str) -> Lab:
    """Express one CIELAB color under another white (Bradford adaptation)."""
    xyz = adapt_white(lab_to_xyz(lab, source), source, target)
    return Lab(*(float(v) for v in xyz_to_lab(xyz, target)))
