"""Where an acid (or anything else that dilutes) most likely came from, and why that is thought."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.site_map.acidity import Scale
from app.site_map.affected import Background, Excess, compare_sites
from app.site_map.fit import RARE, Residual, misfit_probability, residuals_of, two_sources
from app.site_map.flow import Flow
from app.site_map.grid import Grid, grid_around
from app.site_map.next_sample import NextSample, next_sample
from app.site_map.plane import Point
from app.site_map.regions import SourceRegions, regions_of
from app.site_map.site_reading import SiteReading
from app.site_map.source_map import SourceMap, map_source
from app.site_map.tracing_words import Ranked, reasons_for
from app.site_map.unknowns import Question

CELLS = 600
MARGIN = 0.3
"""The plan reaches so far beyond the sites where its edge is not given, as a share of its side."""
FEWEST_FOR_MODEL = 3
"""Sites besides the background from which the model of spreading is tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedSource:
    """What the readings say of a source.

    Parameters
    ----------
    scale : Scale
        What was compared.
    flow : Flow
        Where the water goes.
    background : Background
        What clean places read.
    ranking : tuple of Ranked
        The sites besides the background, the most suspect first, each with its reasons.
    regions : SourceRegions or None
        Where the source may lie; None where the model was not tried or does not fit.
    why_no_regions : str or None
        Why, in words.
    residuals : tuple of Residual
        Of the best single source, for every site; empty where the model was not tried.
    misfit : float or None
        How often chance alone would fit worse.
    two_sources : tuple of Point or None
        Where the two would be that the readings want.
    next_sample : NextSample or None
        Where one more sample teaches most.
    conclusion : str
        The whole in a sentence or two.
    """

    scale: Scale
    flow: Flow
    background: Background
    ranking: tuple[Ranked, ...]
    regions: SourceRegions | None
    why_no_regions: str | None
    residuals: tuple[Residual, ...]
    misfit: float | None
    two_sources: tuple[Point, Point] | None
    next_sample: NextSample | None
    conclusion: str


def trace(
    readings: Sequence[SiteReading],
    scale: Scale,
    flow: Flow,
    *,
    seed: int,
    plan: Grid | None = None,
) -> TracedSource:
    """Rank the sites and, where one source explains the readings, say where it may lie.

    Parameters
    ----------
    readings : sequence of SiteReading
        One a site.
    scale : Scale
        What they are of.
    flow : Flow
        Where the water goes.
    seed : int
        Fixes chance: the same seed gives the same answer.
    plan : Grid, optional
        Where the source may lie; a box around the sites where it is not given.

    Raises
    ------
    OrderError
        If there is no background site or no other.
    """
    generator = np.random.default_rng(seed)
    background, excess = compare_sites(readings, scale, generator)
    why = _why_no_model(excess)
    if why is not None:
        return _ranking_alone(scale, flow, background, excess, why)
    grid = plan or grid_around([r.place for r in readings], margin=MARGIN, cells=CELLS)
    asked = Question(readings=readings, scale=scale, flow=flow, grid=grid)
    found = map_source(asked, generator)
    residuals = residuals_of(found)
    misfit = misfit_probability(found)
    pair = two_sources(found)
    if pair is not None or misfit < RARE:
        why = (
            "Two sources explain the readings much better than one, so that no region of one "
            "source is drawn."
            if pair is not None
            else "No single source explains the readings: chance alone would fit as badly in "
            f"fewer than {math.ceil(100 * misfit) or 1} of 100 cases. The residuals are shown."
        )
        return _ranking_alone(
            *(scale, flow, background, excess, why), residuals=residuals, misfit=misfit, pair=pair
        )
    regions = regions_of(grid, found.probability)
    nearest = _nearest_site(found, excess)
    ranking = _rank(excess, nearest, scale, flow)
    sd = float(np.median((asked.spread.below + asked.spread.above) / 2))
    return TracedSource(
        scale=scale,
        flow=flow,
        background=background,
        ranking=ranking,
        regions=regions,
        why_no_regions=None,
        residuals=residuals,
        misfit=misfit,
        two_sources=None,
        next_sample=next_sample(found, sd, generator),
        conclusion=_conclude(ranking, regions),
    )


def _why_no_model(excess: Sequence[Excess]) -> str | None:
    if not any(item.is_clear for item in excess):
        return "No site differs clearly from the background, so that there is nothing to trace."
    if len(excess) < FEWEST_FOR_MODEL:
        return (
            f"A region needs {FEWEST_FOR_MODEL} sites besides the background; "
            f"there {'is' if len(excess) == 1 else 'are'} {len(excess)}."
        )
    if len({item.site.place for item in excess}) < FEWEST_FOR_MODEL:
        return "The sites lie on top of each other."
    return None


def _ranking_alone(
    scale: Scale,
    flow: Flow,
    background: Background,
    excess: Sequence[Excess],
    why: str,
    *,
    residuals: tuple[Residual, ...] = (),
    misfit: float | None = None,
    pair: tuple[Point, Point] | None = None,
) -> TracedSource:
    ranking = _rank(excess, None, scale, flow)
    return TracedSource(
        scale=scale,
        flow=flow,
        background=background,
        ranking=ranking,
        regions=None,
        why_no_regions=why,
        residuals=residuals,
        misfit=misfit,
        two_sources=pair,
        next_sample=None,
        conclusion=_conclude(ranking, None, pair),
    )


def _nearest_site(found: SourceMap, excess: Sequence[Excess]) -> list[float]:
    """Probability of each site of being the nearest to the source."""
    places = np.array([item.site.place for item in excess])
    centers = found.grid.centers()
    apart = np.linalg.norm(centers[:, None, :] - places[None, :, :], axis=2)
    each = np.bincount(apart.argmin(axis=1), weights=found.probability, minlength=len(places))
    return [float(p) for p in each]


def _rank(
    excess: Sequence[Excess], nearest: Sequence[float] | None, scale: Scale, flow: Flow
) -> tuple[Ranked, ...]:
    chances = [None] * len(excess) if nearest is None else list(nearest)
    order = sorted(
        range(len(excess)),
        key=lambda i: (-(chances[i] or 0.0), -excess[i].most, -excess[i].amount),
    )
    return tuple(
        Ranked(
            rank=rank,
            excess=excess[i],
            nearest=chances[i],
            reasons=reasons_for(excess[i], chances[i], excess, scale, flow),
        )
        for rank, i in enumerate(order, start=1)
    )


def _conclude(
    ranking: Sequence[Ranked],
    regions: SourceRegions | None,
    pair: tuple[Point, Point] | None = None,
) -> str:
    """Say the whole; never more than "consistent with"."""
    first = ranking[0].excess
    if not any(item.excess.is_clear for item in ranking):
        return "The readings are consistent with no source at all on this ground."
    if pair is not None:
        return (
            f"The readings are consistent with two sources; {first.site.name} is the most "
            "affected site."
        )
    if regions is None:
        return (
            f"The most affected site is {first.site.name}, in {100 * first.most:.0f} of 100 draws. "
            "Where the source lies cannot be said."
        )
    share = regions.regions[1].share
    said = (
        f"The readings are consistent with one source; of the sites, {first.site.name} is "
        f"most probably the nearest to it. "
    )
    if not regions.is_informative:
        return said + (
            f"But the region that holds it with 80 % probability covers {100 * share:.0f} % of the "
            "plan: not informative."
        )
    return (
        said
        + f"The region that holds it with 80 % probability covers {100 * share:.0f} % of the plan."
    )
