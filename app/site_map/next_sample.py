"""The place where one more sample would shrink the region of the source most."""

from dataclasses import dataclass

import numpy as np

from app.site_map.acidity import FloatArray
from app.site_map.plane import Point
from app.site_map.source_map import SourceMap
from app.site_map.unknowns import STEP

ACROSS = 8
"""Candidate places along each side of the plan, and blocks that the region is counted in."""
OUTCOMES = 40
"""Readings that are imagined at each candidate place."""
LEVEL = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSample:
    """What one more sample would teach.

    Parameters
    ----------
    place : Point
        Where to take it, metres.
    share_now, share_then : float
        Share of the plan that the 80 % region covers now, and on average after it; both counted in
        coarse blocks.
    """

    place: Point
    share_now: float
    share_then: float


def next_sample(found: SourceMap, reading_sd: float, generator: np.random.Generator) -> NextSample:
    """Imagine one more reading at places all over the plan, and see what it would leave.

    Parameters
    ----------
    found : SourceMap
        What is known now.
    reading_sd : float
        Standard deviation of a usual reading.
    generator : numpy.random.Generator
        Where chance comes from.
    """
    grid, drawn, unknowns = found.grid, found.particles, found.unknowns
    scale = found.question.scale
    wide, high = (grid.east - grid.west) / ACROSS, (grid.north - grid.south) / ACROSS
    places = np.array(
        [
            (grid.west + wide * (i + 0.5), grid.south + high * (j + 0.5))
            for j in range(ACROSS)
            for i in range(ACROSS)
        ]
    )
    sources = grid.centers()[drawn.cells] + unknowns.aside[drawn.draws]
    block = np.minimum((sources - (grid.west, grid.south)) // (wide, high), ACROSS - 1)
    blocks = np.eye(ACROSS * ACROSS)[(block[:, 1] * ACROSS + block[:, 0]).astype(np.int64)]
    shares = unknowns.ways.log_share_each(drawn.draws, sources, places)
    power = found.question.powers.low + STEP * drawn.strengths[:, None] + shares.astype(np.float64)
    background = unknowns.background[drawn.draws, None]
    buffer = np.exp(np.log(unknowns.buffers[drawn.draws]).mean(axis=1))[:, None]
    model = float(np.median(unknowns.stray_sd))
    true, more, less = (
        scale.with_excess(background, np.power(10.0, power + off, dtype=np.float64), buffer)
        for off in (0.0, model, -model)
    )
    natural = unknowns.natural_sd[drawn.draws, None]
    sd = np.sqrt(reading_sd**2 + natural**2 + ((more - less) / 2) ** 2)
    told = generator.choice(len(sources), OUTCOMES, replace=False)
    read = true[told] + sd[told] * generator.normal(size=(OUTCOMES, len(places)))
    then = np.array(
        [_share_after(read[:, c], true[:, c], sd[:, c], blocks) for c in range(len(places))]
    )
    best = int(then.argmin())
    now = float(_shares(blocks.mean(axis=0)[None])[0])
    return NextSample(
        place=(float(places[best, 0]), float(places[best, 1])),
        share_now=now,
        share_then=min(now, float(then[best])),
    )


def _share_after(read: FloatArray, true: FloatArray, sd: FloatArray, blocks: FloatArray) -> float:
    """Mean share of the plan that the region covers after each of the imagined readings."""
    log = -0.5 * ((read[:, None] - true) / sd) ** 2 - np.log(sd)
    weight = np.exp(log - log.max(axis=1, keepdims=True))
    return float(_shares(weight @ blocks).mean())


def _shares(weights: FloatArray) -> FloatArray:
    """Share of the blocks that hold the level together, for each row of weights."""
    ordered = -np.sort(-weights / weights.sum(axis=1, keepdims=True), axis=1)
    before = np.cumsum(ordered, axis=1) - ordered
    return np.asarray((before < LEVEL).mean(axis=1))
