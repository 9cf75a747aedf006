"""Where the source lies with so much probability, and how much of the plan that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray
from app.site_map.grid import Grid, outlines
from app.site_map.plane import Point

LEVELS = (0.50, 0.80, 0.95)
TOO_WIDE = 0.5
"""An 80 % region above this share of the plan tells nothing."""
AT_EDGE = 0.25
"""Probability along the plan's edge from which the source may as well lie outside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """The most probable places that hold the source together with a given probability.

    Parameters
    ----------
    level : float
        That probability.
    share : float
        Share of the plan that the region covers.
    rings : tuple of tuple of Point
        Its outlines, metres; holes run clockwise.
    """

    level: float
    share: float
    rings: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRegions:
    """Where the source may lie.

    Parameters
    ----------
    grid : Grid
        The plan.
    probability : tuple of float
        Of each cell, row by row from the south.
    regions : tuple of Region
        From the smallest level.
    best : Point
        Middle of the most probable cell.
    edge : float
        Probability of the cells along the plan's edge.
    """

    grid: Grid
    probability: tuple[float, ...]
    regions: tuple[Region, ...]
    best: Point
    edge: float

    @property
    def is_informative(self) -> bool:
        """Whether the 80 % region leaves out at least half of the plan."""
        return self.regions[1].share <= TOO_WIDE

    @property
    def reaches_edge(self) -> bool:
        """Whether the source may as well lie outside the plan."""
        return self.edge > AT_EDGE


def cells_within(probability: FloatArray, level: float) -> NDArray[np.bool_]:
    """Return the fewest cells that hold at least a probability together.

    Examples
    --------
    >>> cells_within(np.array([0.1, 0.6, 0.3]), 0.8).tolist()
    [False, True, True]
    """
    order = np.argsort(-probability, kind="stable")
    before = np.cumsum(probability[order]) - probability[order]
    inside = np.zeros(len(probability), dtype=np.bool_)
    inside[order] = before < level
    return inside


def regions_of(grid: Grid, probability: FloatArray) -> SourceRegions:
    """Turn the probabilities of cells into regions."""
    regions = []
    for level in LEVELS:
        inside = cells_within(probability, level)
        rings = outlines(inside.reshape(grid.rows, grid.columns), grid)
        regions.append(Region(level=level, share=float(inside.mean()), rings=rings))
    across, along = grid.centers()[int(probability.argmax())]
    inner = probability.reshape(grid.rows, grid.columns)[1:-1, 1:-1]
    return SourceRegions(
        grid=grid,
        probability=tuple(float(p) for p in probability),
        regions=tuple(regions),
        best=(float(across), float(along)),
        edge=1 - float(inner.sum()),
    )
