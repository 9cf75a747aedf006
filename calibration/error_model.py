"""One error model for every reading: what moves a liquid's color besides the value.

All terms are standard deviations of natural logs of camera channels, or act on them in straight
lines. The figures follow a maximum-likelihood split of the scatter of drawn tubes of known value
and were settled by what they do to readings of campaigns of the rendered laboratory
(tests/laboratory/fit_error_model.py prints it), never by photos that judge the product.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from calibration.color_features import FLOOR
from calibration.table_reader import load_table

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorModel:
    """Sizes of the nuisances.

    Parameters
    ----------
    level, photo_level : float
        Light at the tube against light at the card: of one tube, and of all tubes of a photo.
    tint, photo_tint : float
        The same between channels: the two do not see quite one light.
    dose, photo_dose : float
        Relative change of the color's depth: indicator dose, path length, glass; and what all tubes
        of a photo share of it: tone curve, stray light.
    tone : float
        Bend of the camera's tone curve: change of a color's depth against the card per natural log
        of exposure, the same in all photos of a chart.
    shoulder : float
        The same for how hard it presses highlights together: change per square of the natural log
        by which a color lies above the point where that begins.
    usual_turbidity, turbidity : float
        White light scattered by a sample that is not quite clear, share of white: usually, and how
        it differs from that. No sample is clearer than clear.
    humus : float
        Yellow color of the extract itself, log of the blue channel.
    grain : float
        What is left, independent in each channel.
    flare : float
        Light that reaches a dark channel by other ways than through the liquid, share of white.
    light : float
        Strength of the light's effect on a colored liquid that the card does not take out, as a
        multiple of the tabled covariance of that effect over lamps and cameras.
    light_rest : float
        What that description leaves over, as a share of the log ratio of channels.
    light_reach : float
        How far apart (log ratio of the card's channels) two photos' lights lie before what one
        tells about the other has fallen to 60 %.
    light_common : float
        Share of the light's effect that is common to lights of one look, 0 to 1.
    """

    level: float = 0.0184
    photo_level: float = 0.0262
    tint: float = 0.0068
    photo_tint: float = 0.0101
    dose: float = 0.034
    photo_dose: float = 0.0304
    tone: float = 0.092
    shoulder: float = 0.28
    usual_turbidity: float = 0.01
    turbidity: float = 0.023
    humus: float = 0.0184
    grain: float = 0.0059
    flare: float = 0.0026
    light: float = 0.54
    light_rest: float = 0.0106
    light_reach: float = 0.12
    light_common: float = 0.75

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            if not getattr(self, name) >= 0:
                raise ValueError(f"{name} must be >= 0, got {getattr(self, name)}")

    def scaled(self, factor: float) -> "ErrorModel":
        """Return the same for a user whose tubes and photos scatter more or less than usual."""
        return replace(self, **{name: factor * getattr(self, name) for name in OF_THE_USER})


OF_THE_USER = (
    "level", "photo_level", "tint", "photo_tint", "dose", "photo_dose", "tone", "shoulder", "grain",
)  # fmt: skip

FITTED = ErrorModel()

HAZE = 0.6  # brightness of the light that a cloud scatters, share of white
HUMUS: FloatArray = np.array([0.15, 0.4, 1.0])  # brown extract: log loss in the channels

# Two directions that span the differences between channels, orthonormal.
TINTS: FloatArray = np.array(
    [[1 / np.sqrt(2), 0.0, -1 / np.sqrt(2)], [1 / np.sqrt(6), -2 / np.sqrt(6), 1 / np.sqrt(6)]]
)


def light_terms(color: FloatArray) -> FloatArray:
    """How strongly another light can move a color: linear and square terms, shape (..., 5).

    A neutral liquid is balanced exactly by the card, whatever the light; what is left grows with
    the differences between its channels.
    """
    u = color @ TINTS.T
    first, second = u[..., 0], u[..., 1]
    return np.stack([first, second, first * first, first * second, second * second], axis=-1)


@cache
def light_covariance() -> FloatArray:
    """Covariance of the light's coefficients, term and channel by term and channel, (5, 3, 5, 3).

    Over lamps from daylight to triphosphor tubes and LED lamps, and over cameras, as far as the
    card's look does not tell of them; made by tests/laboratory/fit_light_effects.py.
    """
    table = load_table("light_effects.csv")
    matrix = np.array([[float(cell) for cell in row[1:]] for row in table.rows])
    matrix = matrix.reshape(5, 3, 5, 3)
    matrix.setflags(write=False)
    return matrix


@cache
def _light_looks() -> FloatArray:
    """Light's coefficients per unit of the card's look: ratio, term, channel; (2, 5, 3)."""
    table = load_table("light_looks.csv")
    matrix = np.array([[float(cell) for cell in row[1:]] for row in table.rows]).reshape(2, 5, 3)
    matrix.setflags(write=False)
    return matrix


def light_shift(color: FloatArray, look: FloatArray) -> FloatArray:
    """Shift of colors (n, 3) in a light whose card looks otherwise than the chart's, shape (n, 3).

    Parameters
    ----------
    color : ndarray
        Log camera channels of liquids, shape (n, 3).
    look : ndarray
        Log red-green and blue-green ratio of the card before the balance, less the chart's, shape
        (2,). A camera leaves a part of the light's tint in the picture; a warm light acts on
        colored liquids otherwise than a cool one, on average as the laboratory's lamps do.
    """
    return np.asarray(light_terms(color) @ np.tensordot(look, _light_looks(), axes=1))


def light_effect(model: ErrorModel, a: FloatArray, b: FloatArray) -> FloatArray:
    """Covariance that one light gives to colors a (n, 3) and b (m, 3), shape (n, 3, m, 3)."""
    effect = np.tensordot(_half_effect(a), light_terms(b), axes=([2], [1]))
    return np.asarray(model.light**2 * effect.transpose(0, 1, 3, 2))


def _half_effect(color: FloatArray) -> FloatArray:
    """Light's covariance with its terms already taken on one side, shape (n, 3, 5, 3)."""
    covariance = light_covariance().reshape(5, 45)
    return np.asarray((light_terms(color) @ covariance).reshape(-1, 3, 5, 3))


def light_variance(model: ErrorModel, color: FloatArray) -> FloatArray:
    """Variance that an unknown light gives to colors (n, 3), shape (n, 3, 3)."""
    once = _half_effect(color)
    return np.asarray(model.light**2 * (once * light_terms(color)[:, None, :, None]).sum(axis=2))


def photo_effect(
    model: ErrorModel, depth_a: FloatArray, depth_b: FloatArray, same: FloatArray
) -> FloatArray:
    """Covariance by what the tubes of one photo share besides its light, shape (n, 3, m, 3).

    Parameters
    ----------
    model : ErrorModel
        Sizes of the nuisances.
    depth_a, depth_b : ndarray
        Log of the liquids over colorless ones at their places, shapes (n, 3) and (m, 3).
    same : ndarray
        1 where two tubes are in one photo, else 0; shape (n, m).
    """
    flat = model.photo_level**2 * np.ones((3, 3)) + model.photo_tint**2 * (TINTS.T @ TINTS)
    deep = model.photo_dose**2 * depth_a[:, :, None, None] * depth_b[None, None, :, :]
    return np.asarray((flat[None, :, None, :] + deep) * same[:, None, :, None])


def photo_variances(model: ErrorModel, depth: FloatArray) -> dict[str, FloatArray]:
    """Variances by the same of single tubes, by cause, shape (n, 3, 3)."""
    flat = model.photo_level**2 * np.ones((3, 3)) + model.photo_tint**2 * (TINTS.T @ TINTS)
    return {
        "level": np.broadcast_to(flat, (len(depth), 3, 3)),
        "dose": model.photo_dose**2 * _outer(depth),
    }


def dose_term(model: ErrorModel, depth: FloatArray) -> FloatArray:
    """Covariance of one tube's color by its own dose, from its depth (n, 3), shape (n, 3, 3)."""
    return model.dose**2 * _outer(depth)


def single_tube_terms(
    model: ErrorModel, color: FloatArray, *, sample: bool
) -> dict[str, FloatArray]:
    """Covariances of one tube's other nuisances, each shape (n, 3, 3) or (1, 3, 3).

    Parameters
    ----------
    model : ErrorModel
        Sizes of the nuisances.
    color : ndarray
        Log camera channels that the liquid may have, shape (n, 3).
    sample : bool
        True for a soil or water sample, False for a standard, which is clear.
    """
    tints = ((color @ TINTS.T) ** 2).sum(axis=1)
    dark = model.flare * np.minimum(np.exp(-color), 1 / FLOOR)
    terms = {
        "level": (model.level**2 * np.ones((3, 3)) + model.tint**2 * (TINTS.T @ TINTS))[None],
        "liquid": model.grain**2 * np.eye(3) + (dark**2)[:, :, None] * np.eye(3),
        "light": model.light_rest**2 * tints[:, None, None] * np.eye(3),
    }
    if sample:
        cloud = model.turbidity**2 * _outer(haze(color))
        terms["turbidity"] = cloud + model.humus**2 * _outer(HUMUS[None, :])
    return terms


def haze(color: FloatArray) -> FloatArray:
    """How a cloud moves colors (n, 3) per share of white light that it scatters, shape (n, 3)."""
    return np.asarray(np.minimum(np.exp(-color), 20) * HAZE - 1)


def _outer(rows: FloatArray) -> FloatArray:
    """Each row times itself, shape (n, 3, 3)."""
    return np.asarray(rows[:, :, None] * rows[:, None, :])
