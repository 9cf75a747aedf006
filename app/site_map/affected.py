"""Excess over the background at each site, and which site has most of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.errors import OrderError
from app.site_map.acidity import FloatArray, Scale, draw_buffers, mean_reading
from app.site_map.site_reading import SiteReading, spread_of

DRAWS = 2000
FEWEST_BACKGROUNDS = 3
"""As many clean places are wanted, up-gradient and off the site (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Background:
    """What the ground would read without the spill.

    Parameters
    ----------
    value, low, high : float
        Mean of the background sites and its 90 % interval.
    sites : tuple of str
        Their names.
    """

    value: float
    low: float
    high: float
    sites: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Excess:
    """How much more a site has than the background.

    Parameters
    ----------
    site : SiteReading
        The site.
    amount, low, high : float
        Median and 90 % interval: mol/L for the pH of water, mmol/kg for the pH of soil, else the
        reading's unit.
    times_background : float or None
        Median of the excess in backgrounds; None for the pH of soil, and where the background is
        nothing.
    is_clear : bool
        Whether it lies above zero in 95 of 100 draws.
    most : float
        Probability that this site has most of all.
    """

    site: SiteReading
    amount: float
    low: float
    high: float
    times_background: float | None
    is_clear: bool
    most: float


def compare_sites(
    readings: Sequence[SiteReading], scale: Scale, generator: np.random.Generator
) -> tuple[Background, tuple[Excess, ...]]:
    """Draw readings, background and buffering, and count how often each site has most.

    Parameters
    ----------
    readings : sequence of SiteReading
        At least one of a background site and one of another.
    scale : Scale
        What they are of.
    generator : numpy.random.Generator
        Where chance comes from.

    Returns
    -------
    tuple of (Background, tuple of Excess)
        The sites that are no background, in their order.

    Raises
    ------
    OrderError
        If there is no background site or no other.
    """
    clean = [reading for reading in readings if reading.is_background]
    asked = [reading for reading in readings if not reading.is_background]
    if not clean or not asked:
        what = "no background site has" if not clean else "no site but the background has"
        raise OrderError(
            f"Nothing can be compared: {what} a reading of this quantity.",
            what_to_do="Name as background the sites that the spill cannot have reached, and keep "
            "readings of the others.",
        )
    background = _draw_background(clean, scale, generator)
    values = spread_of(asked, is_ph=scale.is_ph).draw(DRAWS, generator)
    buffers = draw_buffers([reading.texture for reading in asked], DRAWS, generator)
    excess = scale.excess_of(values, background[:, None], buffers)
    winners = np.bincount(excess.argmax(axis=1), minlength=len(asked)) / DRAWS
    unit = _background_amount(scale, background)
    low, middle, high = np.quantile(excess, (0.05, 0.5, 0.95), axis=0)
    found = tuple(
        Excess(
            site=site,
            amount=float(middle[i]),
            low=float(low[i]),
            high=float(high[i]),
            times_background=None if unit is None else float(np.median(excess[:, i] / unit)),
            is_clear=bool(low[i] > 0),
            most=float(winners[i]),
        )
        for i, site in enumerate(asked)
    )
    middle_values = spread_of(clean, is_ph=scale.is_ph).middle
    bottom, top = np.quantile(background, (0.05, 0.95))
    mean = mean_reading([float(v) for v in middle_values], scale)
    names = tuple(reading.name for reading in clean)
    return Background(value=mean, low=float(bottom), high=float(top), sites=names), found


def _draw_background(
    clean: Sequence[SiteReading], scale: Scale, generator: np.random.Generator
) -> FloatArray:
    """Draw the mean of the background sites: their readings, and which of them stand for the rest.

    Each draw weighs the sites anew (Rubin 1981, the Bayesian bootstrap), so that sites that differ
    make the background unsure.
    """
    values = spread_of(clean, is_ph=scale.is_ph).draw(DRAWS, generator)
    weights = generator.dirichlet(np.ones(len(clean)), DRAWS)
    return scale.from_drawn((weights * scale.to_drawn(values)).sum(axis=1))


def _background_amount(scale: Scale, background: FloatArray) -> FloatArray | None:
    if scale.is_ph and scale.kind == "soil":
        return None
    amount = scale.to_drawn(background)
    return amount if bool(np.all(amount > 0)) else None
