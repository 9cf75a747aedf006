"""The path of a chart's colors from swatch to swatch, with its uncertainty.

The curve, the light of each photo and the nuisances of each tube are one Gaussian process over
everything that was photographed at a known value: the standards of the chart and, where there are
any, the tubes of known value in the photo being read. What a color says about the value follows
from the process alone (Rasmussen & Williams 2006, Gaussian Processes for Machine Learning,
equations 2.22 to 2.24).
"""

from dataclasses import dataclass, replace
from functools import cached_property
from heapq import nlargest

import numpy as np
from numpy.typing import NDArray

from calibration.color_features import Features, rgb_of_log
from calibration.error_model import (
    TINTS,
    ErrorModel,
    dose_term,
    haze,
    light_effect,
    light_shift,
    light_variance,
    photo_effect,
    photo_variances,
    single_tube_terms,
)
from colorcore.color_spaces import rgb_to_lab

FloatArray = NDArray[np.float64]

UNUSUAL_LEVEL = 0.45  # log of light of the background over the card, against the chart's photos
UNUSUAL_TINT = 0.085  # the same between channels
LENGTHS = (1.0, 1.4, 2.0, 2.8, 4.0)  # of the curve's bends, in swatch steps
BACKGROUND_SHARES = (0.0, 0.5, 1.0)
CARD = float(np.log(0.18))  # depth from which a tone curve turns, natural log of the card's light
SHOULDER = float(np.log(0.3))  # where highlights begin to be pressed together, log share of white
SCATTERS = (1.4, 2.0)  # of a user's tubes and photos, against the usual
SCATTER_SPREAD = 0.4  # of its natural log beforehand
MOST_APART = 100.0  # log odds at which one curve is certain; their exponential is still a number
SPANS = (0.35, 0.7, 1.4)  # its height, natural log of a channel
SHAPES = 3  # curves of different shapes that a value is read from
SHAPE_CAUTION = 3.0
"""What the log likelihood of a shape is divided by: standards are not quite as independent of each
other as the model has it, and then make one shape look too sure (tempered likelihood, Gruenwald &
van Ommen 2017, Bayesian Analysis 12, 1069; from memory)."""


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


def depth_of(color: FloatArray, background: FloatArray | None) -> FloatArray:
    """Log of liquids over a colorless one at their place, shape (n, 3): what dose scales.

    Colorless is the lit background; without one, the brightest channel. A background that is
    darker than the liquid says nothing: the liquid is seen by the light that it scatters, and dose
    then acts like light.
    """
    if background is None:
        return np.asarray(color - np.maximum(color.max(axis=1, keepdims=True), np.log(0.6)))
    depth = color - background
    return np.where(depth.mean(axis=1, keepdims=True) > 0.1, 1.0, depth)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveShape:
    """The few numbers of a curve that the standards themselves choose."""

    scale: Scale
    length: float
    span: float


class Ground:
    """Everything about tubes of known value but the curve itself: colors and nuisances.

    Parameters
    ----------
    known : tuple of Known
        Tubes of known value, all on one chart.
    background_share : float
        How much of the background's deviation from the chart's usual is taken out of a color.
    model : ErrorModel
        Sizes of the nuisances.
    typical : ndarray or None
        The chart's usual background; the mean over `known` where none is given.
    usual_exposure : float or None
        Its usual exposure, likewise.
    usual_look : ndarray or None
        The usual look of its card before the balance, likewise.
    """

    def __init__(
        self,
        known: tuple[Known, ...],
        background_share: float,
        model: ErrorModel,
        typical: FloatArray | None = None,
        usual_exposure: float | None = None,
        usual_look: FloatArray | None = None,
    ) -> None:
        self.known = known
        self.background_share = background_share
        self.model = model
        seen = [k.features.background for k in known if k.features.background is not None]
        if typical is None and seen:
            typical = np.mean(seen, axis=0)
        self.typical = typical
        exposures = [k.features.exposure for k in known if k.features.exposure is not None]
        if usual_exposure is None and exposures:
            usual_exposure = float(np.mean(exposures))
        self.usual_exposure = usual_exposure
        looks = [k.features.light for k in known if k.features.light is not None]
        if usual_look is None and looks:
            usual_look = np.mean(looks, axis=0)
        self.usual_look = usual_look
        self.seen_backgrounds = np.array(seen).reshape(-1, 3)
        self.items = [k.features for k in known]
        seen_colors = [self.corrected(item)[None] for item in self.items]
        self.colors = np.concatenate(
            [
                color - self.by_look(item, color)
                for item, color in zip(self.items, seen_colors, strict=True)
            ]
        )
        n = len(known)
        pairs = list(zip(self.items, self.colors[:, None], strict=True))
        self.depths = np.concatenate([self.depth(item, color) for item, color in pairs])
        self.tones = np.concatenate([self.tone(item, color) for item, color in pairs])
        covariance = self._shared()
        blocks = covariance.reshape(n, 3, n, 3)
        for i, item in enumerate(self.items):
            color = self.colors[i : i + 1]
            own = self.own_terms(item, color, single_tube_terms(self.model, color, sample=False))
            blocks[i, :, i, :] += np.sum([term[0] for term in own.values()], axis=0)
        self.covariance = covariance

    def corrected(self, item: Features) -> FloatArray:
        """Color with the background's deviation from the usual taken out, shape (3,)."""
        if item.background is None or self.typical is None:
            return item.color
        deviation = item.background - self.typical
        return np.asarray(item.color - self.background_share * deviation)

    def strange_background(self, item: Features) -> tuple[float, float] | None:
        """How much farther a tube's background lies from the chart's than is usual: level and tint.

        Each as a multiple of what is taken for unusual: a floor, or four standard deviations of the
        chart's own photos. None where the tube or the chart has no background.
        """
        if item.background is None or self.typical is None or len(self.seen_backgrounds) < 3:
            return None
        deviation = item.background - self.typical
        usual = self.seen_backgrounds - self.typical
        level = abs(float(deviation.mean())) / max(UNUSUAL_LEVEL, 4 * float(usual.mean(1).std()))
        tints = (usual @ TINTS.T).std(axis=0)
        tint = np.abs(TINTS @ deviation) / np.maximum(UNUSUAL_TINT, 4 * tints)
        return level, float(tint.max())

    def own_terms(
        self, item: Features, color: FloatArray, of_color: dict[str, FloatArray]
    ) -> dict[str, FloatArray]:
        """Covariances of one tube's own nuisances by name, for colors that it may have (n, 3).

        `of_color` are the `single_tube_terms` of the colors.
        """
        dose = dose_term(self.model, self.depth(item, color))
        return {**of_color, "dose": dose, "liquid": of_color["liquid"] + item.noise}

    def depth(self, item: Features, color: FloatArray) -> FloatArray:
        """Depth of colors (n, 3) that a tube may have, over the background at its place."""
        background = self.typical if item.background is None else item.background
        return depth_of(color, background)

    def tone(self, item: Features, color: FloatArray) -> FloatArray:
        """How far the photo's exposure moves colors (n, 3) along the camera's tone curve.

        By each of the curve's two ways to bend, shape (n, 3, 2).
        """
        if item.exposure is None or self.usual_exposure is None:
            return np.zeros((*color.shape, 2))
        over_card = color - CARD
        bend = (item.exposure - self.usual_exposure) * over_card
        shoulder = _shoulder(over_card, item.exposure) - _shoulder(over_card, self.usual_exposure)
        return np.stack([self.model.tone * bend, self.model.shoulder * shoulder], axis=-1)

    def by_look(self, item: Features, color: FloatArray) -> FloatArray:
        """Shift of colors (n, 3) by a photo's light, as far as the look of its card tells it."""
        if item.light is None or self.usual_look is None:
            return np.zeros_like(color)
        return light_shift(color, item.light - self.usual_look)

    def _shared(self) -> FloatArray:
        """Covariance of the known tubes by what photos share, shape (3 n, 3 n)."""
        effect = light_effect(self.model, self.colors, self.colors)
        effect = effect * self.likeness(self.items, self.items)[:, None, :, None]
        same = _same_photo(self.items, self.items)
        effect += photo_effect(self.model, self.depths, self.depths, same)
        effect += np.tensordot(self.tones, self.tones, axes=([2], [2]))
        return np.asarray(effect.reshape(self.colors.size, self.colors.size))

    def shared_with_known(
        self, item: Features, color: FloatArray, of_light: FloatArray
    ) -> FloatArray:
        """Covariance of colors (n, 3) that one tube may have with the known tubes, (3 n, 3 m).

        By what photos share: light, exposure, place. `of_light` is the same in one light.
        """
        effect = of_light * np.repeat(self.likeness([item], self.items), 3)
        same = _same_photo([item], self.items)
        if same.any():
            in_photo = photo_effect(self.model, self.depth(item, color), self.depths, same)
            effect += in_photo.reshape(effect.shape)
        tone = self.tone(item, color).reshape(-1, 2)
        return np.asarray(effect + tone @ self.tones.reshape(-1, 2).T)

    def shared_variances(
        self, item: Features, color: FloatArray, of_light: FloatArray
    ) -> dict[str, FloatArray]:
        """Variances by the same for colors (n, 3) that one tube may have, by cause, (n, 3, 3)."""
        tone = self.tone(item, color)
        return {
            "light": of_light,
            **photo_variances(self.model, self.depth(item, color)),
            "tone": np.asarray(tone @ tone.transpose(0, 2, 1)),
        }

    def likeness(self, a: list[Features], b: list[Features]) -> FloatArray:
        """Correlation of the lights of photos, 0 to 1, shape (n, m)."""
        same = _same_photo(a, b)
        far = np.array([1e6, 0.0])  # a photo whose light is unknown is like no other
        first = np.array([far if p.light is None else p.light for p in a])
        other = np.array([-far if q.light is None else q.light for q in b])
        apart = ((first[:, None, :] - other[None, :, :]) ** 2).sum(axis=2)
        alike = self.model.light_common * np.exp(-0.5 * apart / self.model.light_reach**2)
        return np.where(same > 0, 1.0, alike)


def _shoulder(over_card: FloatArray, exposure: float) -> FloatArray:
    """How far a shoulder that begins at `SHOULDER` presses colors against the card."""
    return np.asarray(_pressed(over_card + exposure) - _pressed(np.asarray(exposure)))


def _pressed(light: FloatArray) -> FloatArray:
    return np.clip(light - SHOULDER, 0, -SHOULDER) ** 2


def _same_photo(a: list[Features], b: list[Features]) -> FloatArray:
    """1 where two tubes are in one photo, else 0; shape (n, m)."""
    return np.array([[float(p.photo == q.photo) for q in b] for p in a])


class Curve:
    """The Gaussian process of one chart, ready to be asked.

    Parameters
    ----------
    ground : Ground
        The tubes of known value.
    shape : CurveShape
        Chosen by `fit_curve`.
    rivals : tuple of Rival
        Curves of other shapes that the standards allow as well.
    """

    def __init__(self, ground: Ground, shape: CurveShape, rivals: "tuple[Rival, ...]" = ()) -> None:
        self.ground = ground
        self.shape = shape
        self.rivals = rivals
        colors = ground.colors
        self.mean = colors.mean(axis=0)
        deviation = colors - self.mean
        spread = deviation.T @ deviation / len(colors)
        self.channel_covariance = (spread + 0.02 * np.eye(3)) / max(
            float(np.trace(spread)) / 3, 0.02
        )
        self.position = shape.scale.position(np.array([k.value for k in ground.known]))
        covariance = self._prior(self.position, self.position) + ground.covariance
        size = len(covariance)
        self.factor = np.asarray(np.linalg.cholesky(covariance + 1e-9 * np.eye(size)))
        self.residual = deviation.ravel()
        self.weights = _solve(self.factor, self.residual)
        self._last_along: Along | None = None
        self._last_light: tuple[tuple[object, ...], FloatArray, FloatArray] | None = None

    def with_known(self, more: tuple[Known, ...]) -> "Curve":
        """Return the curve with further tubes of known value; its shape stays.

        How probable its rivals are is judged anew by what each makes of the further tubes.
        """
        ground = self.ground
        known = (*ground.known, *more)
        grown = Ground(
            known,
            ground.background_share,
            ground.model,
            ground.typical,
            ground.usual_exposure,
            ground.usual_look,
        )
        # What is usual is told by the chart's photos, not by the one being read.
        grown.seen_backgrounds = ground.seen_backgrounds
        likelier = Curve(grown, self.shape)
        told = likelier.log_likelihood() - self.log_likelihood()
        rivals = []
        for rival in self.rivals:
            other = rival.curve.with_known(more)
            apart = other.log_likelihood() - rival.curve.log_likelihood() - told
            odds = rival.odds * float(np.exp(min(apart, MOST_APART)))
            rivals.append(Rival(curve=other, odds=odds))
        likelier.rivals = tuple(rivals)
        return likelier

    def _prior(self, a: FloatArray, b: FloatArray) -> FloatArray:
        """Prior covariance of the curve between two sets of positions, shape (3 n, 3 m)."""
        n = len(self.shape.scale.values)
        bend = np.exp(-0.5 * ((a[:, None] - b[None, :]) / self.shape.length) ** 2)
        x, y = (a - (n - 1) / 2) / (n - 1), (b - (n - 1) / 2) / (n - 1)
        kernel = self.shape.span**2 * (bend + x[:, None] * y[None, :] * 4 + 1)
        return np.asarray(np.kron(kernel, self.channel_covariance))

    def _prior_at(self, position: FloatArray) -> FloatArray:
        """Prior covariance of the curve at single positions, shape (g, 3, 3)."""
        n = len(self.shape.scale.values)
        x = (position - (n - 1) / 2) / (n - 1)
        variance = self.shape.span**2 * (2 + 4 * x * x)
        return np.asarray(variance[:, None, None] * self.channel_covariance)

    @cached_property
    def _whitening(self) -> FloatArray:
        """Inverse of the factor: kept, because every tube that is read asks for it."""
        return np.asarray(np.linalg.inv(self.factor))

    def _explained(self, cross: FloatArray) -> FloatArray:
        """Variance that the known tubes take away, shape (g, 3, 3)."""
        half = (cross @ self._whitening.T).reshape(len(cross) // 3, 3, -1)
        return np.asarray(half @ half.transpose(0, 2, 1))

    def strangeness(self) -> FloatArray:
        """How badly each known tube fits all the others, shape (n,).

        Squared Mahalanobis distance of its color from what the others make of its value, three
        degrees of freedom: with P the inverse of the whole covariance and r the residuals,
        d = (P r)_i' (P_ii)^-1 (P r)_i (Rasmussen & Williams 2006, equations 5.10 to 5.12).
        """
        n = len(self.position)
        inverse = _solve(self.factor, np.eye(3 * n)).reshape(n, 3, n, 3)
        blocks = inverse[np.arange(n), :, np.arange(n), :]
        weights = self.weights.reshape(n, 3)
        return np.asarray(np.einsum("ni,ni->n", weights, _blockwise(blocks, weights)))

    def strangeness_anew(self, at: int) -> float:
        """How badly one known tube fits a curve laid anew through all the others.

        As `strangeness`, but the others choose the bends: a curve that the tube itself has bent
        would go through it.
        """
        ground = self.ground
        left_out = ground.known[at]
        others = Ground(
            (*ground.known[:at], *ground.known[at + 1 :]), ground.background_share, ground.model
        )
        tried = (
            Curve(others, replace(self.shape, length=length, span=span))
            for length in LENGTHS
            for span in SPANS
        )
        best = max(tried, key=lambda curve: curve.log_likelihood())
        predicted = best.predict(left_out.features, np.array([left_out.value]), sample=False)
        apart = best.ground.corrected(left_out.features) - predicted.mean[0]
        return float(apart @ np.linalg.solve(predicted.total[0], apart))

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

    def predict(self, item: Features, values: FloatArray, *, sample: bool = True) -> "Prediction":
        """Color that a tube would have at each value.

        Parameters
        ----------
        item : Features
            The tube being read: its photo's light and background.
        values : ndarray
            Values to try, shape (g,).
        sample : bool
            True for a soil or water sample, False for a standard.
        """
        ground, along = self.ground, self._along(values, sample=sample)
        usual = along.usual
        mean, explained = self._in_light(item, along)
        beforehand = ground.shared_variances(item, usual, along.light)
        whole = along.prior + np.sum(list(beforehand.values()), axis=0) - explained
        return Prediction(
            mean=mean + along.cloud,
            own={"curve": along.variance, **ground.own_terms(item, usual, along.own)},
            shared=whole - along.variance,
            beforehand=beforehand,
            outside=along.outside,
        )

    def _in_light(self, item: Features, along: "Along") -> tuple[FloatArray, FloatArray]:
        """Color at values of the chart in a photo's light, and the variance that is then known.

        Shapes (g, 3) and (g, 3, 3); kept for the other tubes of the photo. Known tubes in the photo
        itself tell each of them something else.
        """
        look = None if item.light is None else tuple(item.light.tolist())
        key, last = (along, look, item.exposure), self._last_light
        in_photo = any(known.photo == item.photo for known in self.ground.items)
        if last is not None and last[0] == key and not in_photo:
            return last[1:]
        usual = along.usual
        cross = along.cross + self.ground.shared_with_known(item, usual, along.light_with_known)
        mean = self.mean + (cross @ self.weights).reshape(-1, 3) + self.ground.by_look(item, usual)
        explained = self._explained(cross)
        if not in_photo:
            self._last_light = key, mean, explained
        return mean, explained

    def _along(self, values: FloatArray, *, sample: bool) -> "Along":
        """Say what holds at values of the chart for every tube; kept, as all are tried there."""
        last = self._last_along
        if last is not None and last.sample == sample and np.array_equal(last.values, values):
            return last
        position = self.shape.scale.position(values)
        cross = self._prior(position, self.position)
        prior = self._prior_at(position)
        # The light acts on the color that each value has, not on the one that is seen: a color that
        # no value has must not explain itself by the light.
        usual = self.mean + (cross @ self.weights).reshape(-1, 3)
        model = self.ground.model
        end = len(self.shape.scale.values) - 1
        self._last_along = along = Along(
            values=values,
            sample=sample,
            outside=np.maximum(np.maximum(-position, position - end), 0),
            prior=prior,
            cross=cross,
            variance=prior - self._explained(cross),
            usual=usual,
            light_with_known=light_effect(model, usual, self.ground.colors).reshape(cross.shape),
            light=light_variance(model, usual),
            cloud=model.usual_turbidity * haze(usual) if sample else np.zeros_like(usual),
            own=single_tube_terms(model, usual, sample=sample),
        )
        return along


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Along:
    """What a curve says at g values of its chart, whatever tube is read there.

    Parameters
    ----------
    values : ndarray
        The values, shape (g,).
    sample : bool
        True for soil or water samples, False for standards.
    outside : ndarray
        Swatch steps by which the values lie beyond the chart's ends, >= 0, shape (g,).
    prior, variance : ndarray
        Covariance of the curve before and after the known tubes, shape (g, 3, 3).
    cross : ndarray
        Covariance of the curve with the m known tubes, shape (3 g, 3 m).
    usual : ndarray
        Color of the curve, log camera channels, shape (g, 3).
    light_with_known, light : ndarray
        Covariance that one light gives to `usual` with the known tubes, shape (3 g, 3 m), and
        alone, shape (g, 3, 3).
    cloud : ndarray
        How a sample's usual cloud moves `usual`, shape (g, 3).
    own : dict of ndarray
        Covariances of what a tube shares with no other, as far as `usual` decides them.
    """

    values: FloatArray
    sample: bool
    outside: FloatArray
    prior: FloatArray
    cross: FloatArray
    variance: FloatArray
    usual: FloatArray
    light_with_known: FloatArray
    light: FloatArray
    cloud: FloatArray
    own: dict[str, FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rival:
    """A curve of another shape, and how probable it is against the one that it rivals, >= 0."""

    curve: Curve
    odds: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prediction:
    """Color that a tube would have at each of g values, with its covariance by cause.

    Parameters
    ----------
    mean : ndarray
        Log camera channels, shape (g, 3).
    own : dict of ndarray
        Covariances of what the tube shares with no other, and of the curve, (g or 1, 3, 3).
    shared : ndarray
        Covariance of what the tubes of a photo share, as far as known tubes do not tell it, shape
        (g, 3, 3).
    beforehand : dict of ndarray
        The same before they tell anything, by cause, each (g, 3, 3).
    outside : ndarray
        Swatch steps by which the values lie beyond the chart's ends, >= 0, shape (g,).
    """

    mean: FloatArray
    own: dict[str, FloatArray]
    shared: FloatArray
    beforehand: dict[str, FloatArray]
    outside: FloatArray

    @property
    def total(self) -> FloatArray:
        """Covariance of all causes together, shape (g, 3, 3)."""
        return np.asarray(sum(self.own.values(), start=self.shared))


def _blockwise(blocks: FloatArray, right: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.solve(blocks, right[..., None])[..., 0])


def _solve(factor: FloatArray, right: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.solve(factor.T, np.linalg.solve(factor, right)))


def fit_curve(known: tuple[Known, ...], values: tuple[float, ...], model: ErrorModel) -> Curve:
    """Lay the curve that makes a chart's standards most probable, with the next probable ones.

    Tried are a few lengths and heights of its bends, both ways to lay values along it, and how much
    of the background's deviation is taken out of a color; then how much this user's tubes and
    photos scatter against the usual.
    """
    uneven = len(values) > 2 and np.ptp(np.diff(values)) > 1e-6 * (values[-1] - values[0])
    scales = [Scale(values=values, by_index=way) for way in ((False, True) if uneven else (True,))]
    tried = (
        Curve(ground, CurveShape(scale=scale, length=length, span=span))
        for ground in (Ground(known, share, model) for share in BACKGROUND_SHARES)
        for scale in scales
        for length in LENGTHS
        for span in SPANS
    )
    likeliest = nlargest(
        SHAPES, ((curve.log_likelihood(), curve) for curve in tried), key=lambda pair: pair[0]
    )
    highest, best = likeliest[0]

    def scattering(curve: Curve, factor: float) -> Curve:
        if factor == 1.0:
            return curve
        ground = Ground(known, curve.ground.background_share, model.scaled(factor))
        return Curve(ground, curve.shape)

    def belief(factor: float) -> float:
        likelihood = scattering(best, factor).log_likelihood()
        return likelihood - 0.5 * float(np.log(factor) / SCATTER_SPREAD) ** 2

    factor = max((1.0, *SCATTERS), key=belief)
    rivals = [
        Rival(
            curve=scattering(curve, factor),
            odds=float(np.exp((likelihood - highest) / SHAPE_CAUTION)),
        )
        for likelihood, curve in likeliest[1:]
    ]
    most_probable = scattering(best, factor)
    return Curve(most_probable.ground, most_probable.shape, tuple(rivals))
