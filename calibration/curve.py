"""The path of a chart's colors from swatch to swatch, with its uncertainty.

The curve, the light of each photo and the nuisances of each tube are one Gaussian process over
everything that was photographed at a known value: the standards of the chart and, where there are
any, the tubes of known value in the photo being read. What a color says about the value follows
from the process alone (Rasmussen & Williams 2006, Gaussian Processes for Machine Learning,
equations 2.22 to 2.24).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.color_features import Features, rgb_of_log
from calibration.error_model import (
    ErrorModel,
    light_effect,
    single_tube_terms,
)
from colorcore.color_spaces import rgb_to_lab

FloatArray = NDArray[np.float64]

LENGTHS = (1.0, 1.4, 2.0, 2.8, 4.0)  # of the curve's bends, in swatch steps
SPANS = (0.35, 0.7, 1.4)  # its height, natural log of a channel


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Where along the chart a value lies, in swatch steps.

    Parameters
    ----------
    values : tuple of float
        Values of the swatches, increasing.
    by_index : bool
        True: every swatch is one step, values between in straight lines. False: the steps are as
        long as the values are apart, scaled to the same total.
    """

    values: tuple[float, ...]
    by_index: bool

    def position(self, value: FloatArray | float) -> FloatArray:
        """Swatch steps from the first swatch, continued in a straight line beyond the ends."""
        known = np.asarray(self.values)
        given = np.asarray(value, dtype=np.float64)
        if not self.by_index:
            steps = (len(known) - 1) / (known[-1] - known[0])
            return np.asarray((given - known[0]) * steps)
        inside = np.interp(given, known, np.arange(len(known)))
        below = (given - known[0]) / (known[1] - known[0])
        above = len(known) - 1 + (given - known[-1]) / (known[-1] - known[-2])
        return np.where(given < known[0], below, np.where(given > known[-1], above, inside))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """One tube of known value."""

    features: Features
    value: float


def reference_of(item: Features, typical: FloatArray | None) -> FloatArray:
    """Log channels of a colorless liquid at the tube's place, shape (3,).

    The lit background seen beside the tube, or the chart's usual one. A background that is darker
    than the liquid says nothing: the liquid is seen by the light that it scatters, and dose then
    acts like light.
    """
    background = item.background if item.background is not None else typical
    if background is None:
        return np.full(3, max(float(item.color.max()), np.log(0.6)))
    if float(background.mean()) < float(item.color.mean()) - 0.1:
        return item.color - 1.0
    return background


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveShape:
    """The few numbers of a curve that the standards themselves choose."""

    scale: Scale
    length: float
    span: float
    background_share: float  # of the background's deviation that is taken out of a color


class Curve:
    """The Gaussian process of one chart, ready to be asked.

    Parameters
    ----------
    known : tuple of Known
        Tubes of known value, all on one chart.
    shape : CurveShape
        Chosen by `fit_shape`.
    model : ErrorModel
        Sizes of the nuisances.
    """

    def __init__(self, known: tuple[Known, ...], shape: CurveShape, model: ErrorModel) -> None:
        self.known = known
        self.shape = shape
        self.model = model
        backgrounds = [k.features.background for k in known if k.features.background is not None]
        self.typical = np.mean(backgrounds, axis=0) if backgrounds else None
        colors = np.array([self.corrected(k.features) for k in known])
        self.mean = colors.mean(axis=0)
        deviation = colors - self.mean
        self.channel_covariance = (deviation.T @ deviation / len(known) + 0.02 * np.eye(3)) / max(
            float(np.trace(deviation.T @ deviation / len(known))) / 3, 0.02
        )
        position = np.array([shape.scale.position(k.value) for k in known])
        covariance = self._prior(position, position)
        covariance += self._light(
            [k.features for k in known], [k.features for k in known], colors, colors
        )
        n = len(known)
        blocks = covariance.reshape(n, 3, n, 3)
        for i, k in enumerate(known):
            blocks[i, :, i, :] += self.own_terms_sum(k.features, sample=False)
        self.position = position
        self.colors = colors
        self.factor = np.asarray(np.linalg.cholesky(covariance + 1e-9 * np.eye(3 * n)))
        self.residual = (colors - self.mean).ravel()
        self.weights = _solve(self.factor, self.residual)

    def corrected(self, item: Features) -> FloatArray:
        """Color with the background's deviation from the usual taken out, shape (3,)."""
        if item.background is None or self.typical is None:
            return item.color
        return np.asarray(
            item.color - self.shape.background_share * (item.background - self.typical)
        )

    def own_terms(self, item: Features, *, sample: bool) -> dict[str, FloatArray]:
        """Covariances of one tube's own nuisances by name."""
        color = self.corrected(item)
        depth = color - reference_of(item, self.typical)
        terms = single_tube_terms(self.model, color, depth, sample=sample)
        terms["liquid"] = terms["liquid"] + item.noise
        return terms

    def own_terms_sum(self, item: Features, *, sample: bool) -> FloatArray:
        """Sum of one tube's own nuisances, shape (3, 3)."""
        return np.asarray(sum(self.own_terms(item, sample=sample).values()))

    def _prior(self, a: FloatArray, b: FloatArray) -> FloatArray:
        """Prior covariance of the curve between two sets of positions, shape (3 n, 3 m)."""
        n = len(self.shape.scale.values)
        bend = np.exp(-0.5 * ((a[:, None] - b[None, :]) / self.shape.length) ** 2)
        x, y = (a - (n - 1) / 2) / (n - 1), (b - (n - 1) / 2) / (n - 1)
        kernel = self.shape.span**2 * (bend + x[:, None] * y[None, :] * 4 + 1)
        return np.asarray(np.kron(kernel, self.channel_covariance))

    def _light(
        self,
        a: list[Features],
        b: list[Features],
        color_a: FloatArray,
        color_b: FloatArray,
    ) -> FloatArray:
        """Covariance by the light of the photos, shape (3 n, 3 m)."""
        alike = np.array([[self.likeness(p, q) for q in b] for p in a])
        effect = light_effect(self.model, color_a, color_b) * alike[:, None, :, None]
        return effect.reshape(3 * len(a), 3 * len(b))

    def likeness(self, a: Features, b: Features) -> float:
        """Correlation of two photos' lights, 0 to 1."""
        if a.photo == b.photo:
            return 1.0
        if a.light is None or b.light is None:
            return 0.0
        apart = float(((a.light - b.light) ** 2).sum())
        return float(self.model.light_common * np.exp(-0.5 * apart / self.model.light_reach**2))

    def lab_along(self, values: FloatArray) -> FloatArray:
        """Most probable CIELAB (D65) at values of the chart, shape (g, 3)."""
        position = self.shape.scale.position(values)
        cross = self._prior(position, self.position)
        color = self.mean + (cross @ self.weights).reshape(len(values), 3)
        return rgb_to_lab(rgb_of_log(color))

    def log_likelihood(self) -> float:
        """Log probability of the standards under this curve and error model."""
        n = len(self.residual)
        return float(
            -0.5 * self.residual @ self.weights
            - np.log(np.diag(self.factor)).sum()
            - 0.5 * n * np.log(2 * np.pi)
        )

    def predict(
        self, item: Features, values: FloatArray, *, sample: bool = True
    ) -> tuple[FloatArray, dict[str, FloatArray]]:
        """Color that a tube would have at each value: mean and covariances by cause.

        Parameters
        ----------
        item : Features
            The tube being read: its photo's light and its color set the size of the nuisances.
        values : ndarray
            Values to try, shape (g,).
        sample : bool
            True for a soil or water sample, False for a standard.

        Returns
        -------
        mean : ndarray
            Shape (g, 3).
        terms : dict of ndarray
            "curve", "light" of shape (g, 3, 3); the tube's own of shape (3, 3).
        """
        g = len(values)
        position = self.shape.scale.position(values)
        color = self.corrected(item)
        items = [k.features for k in self.known]
        curve = self._prior(position, self.position)
        # The light acts on the color that is looked at, for whichever value is tried.
        light = self._light([item], items, color[None], self.colors)
        cross = curve + np.tile(light, (g, 1))
        mean = self.mean + (cross @ self.weights).reshape(g, 3)
        half = np.linalg.solve(self.factor, cross.T).T.reshape(g, 3, -1)
        explained = np.einsum("gik,gjk->gij", half, half)
        own_prior = np.array([self._prior(p[None], p[None]) for p in position])
        half_curve = np.linalg.solve(self.factor, curve.T).T.reshape(g, 3, -1)
        of_curve = own_prior - np.einsum("gik,gjk->gij", half_curve, half_curve)
        of_light = light_effect(self.model, color[None], color[None])[0, :, 0, :]
        own = self.own_terms(item, sample=sample)
        own["light"] = own["light"] + own_prior + of_light - explained - of_curve
        return mean, {"curve": of_curve, **own}


def _solve(factor: FloatArray, right: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.solve(factor.T, np.linalg.solve(factor, right)))


def fit_shape(known: tuple[Known, ...], values: tuple[float, ...], model: ErrorModel) -> CurveShape:
    """Choose the shape of a chart's curve that makes its standards most probable.

    Tried are a few lengths and heights of its bends, both ways to lay values along it, and how much
    of the background's deviation is taken out of a color.
    """
    uneven = np.ptp(np.diff(values)) > 1e-6 * (values[-1] - values[0]) if len(values) > 2 else False
    best: tuple[float, CurveShape] | None = None
    for share in (0.0, 0.5, 1.0):
        for by_index in (False, True) if uneven else (True,):
            for length in LENGTHS:
                for span in SPANS:
                    shape = CurveShape(
                        scale=Scale(values=values, by_index=by_index),
                        length=length,
                        span=span,
                        background_share=share,
                    )
                    score = Curve(known, shape, model).log_likelihood()
                    if best is None or score > best[0]:
                        best = (score, shape)
    assert best is not None
    return best[1]
