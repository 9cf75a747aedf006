"""What was read at a place, with how sure it is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from app.site_map.acidity import FloatArray
from app.site_map.plane import Point

TO_SD = NormalDist().inv_cdf(0.95)
"""Half a 90 % interval in standard deviations."""
UNSURE_PH = 0.3
"""Standard deviation of a pH that came without an interval (judgement)."""
UNSURE_SHARE = 0.2
"""The same for other quantities, as a share of the value (judgement)."""
BEYOND_PH = 1.0
"""How far a pH beyond the chart may lie from its end, standard deviation (judgement)."""
BEYOND_SHARE = 0.5
"""The same for other quantities, as a share of the end (judgement)."""
SMALLEST = 0.02
"""No side of a reading is surer than this share of what a missing interval would count for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteReading:
    """One quantity at one site.

    Parameters
    ----------
    name : str
        The site.
    letter : str
        Its letter on the map.
    place : Point
        Metres.
    value, low, high : float or None
        The reading and its 90 % interval; beyond the chart the value is None and there is one end.
    is_background : bool
        Whether the user says that nothing reached it.
    texture : str or None
        Of the soil.
    """

    name: str
    letter: str
    place: Point
    value: float | None
    low: float | None
    high: float | None
    is_background: bool = False
    texture: str | None = None

    def __post_init__(self) -> None:
        if self.value is None and (self.low is None) == (self.high is None):
            raise ValueError("a reading has a value, or lies beyond one end of its chart")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Readings as distributions: two half bells that meet at the middle, one a site.

    Parameters
    ----------
    middle, below, above : array, shape (sites,)
        The middle, and the standard deviations on its two sides.
    """

    middle: FloatArray
    below: FloatArray
    above: FloatArray

    def draw(self, draws: int, generator: np.random.Generator) -> FloatArray:
        """Draw values, shape (draws, sites)."""
        shape = (draws, len(self.middle))
        down = generator.random(shape) < self.below / (self.below + self.above)
        step = np.abs(generator.normal(size=shape))
        return np.asarray(self.middle + np.where(down, -self.below, self.above) * step)

    def log_density(self, site: int, true: FloatArray, more_sd: FloatArray) -> FloatArray:
        """Log density of the reading of a site at true values, with more scatter added.

        Parameters
        ----------
        site : int
            Which.
        true : array
            What the reading would be without any error.
        more_sd : array
            Standard deviation of what scatters besides the reading, same shape.
        """
        below = np.hypot(self.below[site], more_sd)
        above = np.hypot(self.above[site], more_sd)
        # The interval says where the true value lies where nothing else is known: read the other
        # way round it is the likelihood.
        side = np.where(true < self.middle[site], below, above)
        size = math.log(2 / math.sqrt(2 * math.pi)) - np.log(below + above)
        return np.asarray(size - 0.5 * ((true - self.middle[site]) / side) ** 2)


def spread_of(readings: Sequence[SiteReading], *, is_ph: bool) -> Spread:
    """Turn readings into distributions.

    Examples
    --------
    >>> sure = SiteReading(name="A", letter="A", place=(0, 0), value=5.0, low=4.8, high=5.4)
    >>> found = spread_of([sure], is_ph=True)
    >>> [round(float(side[0]), 3) for side in (found.middle, found.below, found.above)]
    [5.0, 0.122, 0.243]
    """
    rows = [_bell(reading, is_ph=is_ph) for reading in readings]
    middle, below, above = np.array(rows, dtype=np.float64).reshape(-1, 3).T
    return Spread(middle=middle, below=below, above=above)


def _bell(reading: SiteReading, *, is_ph: bool) -> tuple[float, float, float]:
    ends = [end for end in (reading.value, reading.low, reading.high) if end is not None]
    unsure = UNSURE_PH if is_ph else UNSURE_SHARE * abs(ends[0])
    least = SMALLEST * unsure or SMALLEST
    if reading.value is None:
        beyond = max(BEYOND_PH if is_ph else BEYOND_SHARE * abs(ends[0]), least)
        return (ends[0], beyond, least) if reading.low is None else (ends[0], least, beyond)
    below = unsure if reading.low is None else (reading.value - reading.low) / TO_SD
    above = unsure if reading.high is None else (reading.high - reading.value) / TO_SD
    return reading.value, max(below, least), max(above, least)
