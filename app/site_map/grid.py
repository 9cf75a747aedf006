"""The ground as cells, and shapes on it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray
from app.site_map.plane import Point

TOUCHING = 1e-9
"""Metres within which two places are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Cells of a map, counted from the southwest corner.

    Parameters
    ----------
    west, south, east, north : float
        Its edges, metres.
    columns, rows : int
        Number of cells.
    """

    west: float
    south: float
    east: float
    north: float
    columns: int
    rows: int

    @property
    def size_m(self) -> float:
        """Length of the diagonal."""
        return math.hypot(self.east - self.west, self.north - self.south)

    @property
    def cell_m(self) -> Point:
        """Width and height of a cell."""
        return (self.east - self.west) / self.columns, (self.north - self.south) / self.rows

    def coarser(self) -> "Grid":
        """Return the same ground in cells twice as wide and high."""
        columns, rows = max(1, self.columns // 2), max(1, self.rows // 2)
        return replace(self, columns=columns, rows=rows)

    def centers(self) -> FloatArray:
        """Middle of each cell, row by row from the south, shape (rows * columns, 2)."""
        wide, high = self.cell_m
        x = self.west + wide * (np.arange(self.columns) + 0.5)
        y = self.south + high * (np.arange(self.rows) + 0.5)
        return np.stack([axis.ravel() for axis in np.meshgrid(x, y)], axis=1)


def grid_around(points: Sequence[Point], *, margin: float, cells: int) -> Grid:
    """Lay a grid of about so many square cells around points.

    Parameters
    ----------
    points : sequence of Point
        At least one.
    margin : float
        Added on every side, as a share of the longer side of the points' box.
    cells : int
        Wanted number of cells.
    """
    xs, ys = [x for x, _ in points], [y for _, y in points]
    longer = max(max(xs) - min(xs), max(ys) - min(ys)) or 1.0
    add = margin * longer
    wide, high = max(xs) - min(xs) + 2 * add, max(ys) - min(ys) + 2 * add
    side = math.sqrt(wide * high / cells)
    return Grid(
        west=min(xs) - add,
        south=min(ys) - add,
        east=max(xs) + add,
        north=max(ys) + add,
        columns=max(1, round(wide / side)),
        rows=max(1, round(high / side)),
    )


def hull_of(points: Sequence[Point]) -> tuple[Point, ...]:
    """Corners of the convex hull, counterclockwise (monotone chain).

    Examples
    --------
    >>> hull_of([(0, 0), (4, 0), (4, 4), (0, 4), (2, 2)])
    ((0, 0), (4, 0), (4, 4), (0, 4))
    """
    ordered = sorted(set(points))

    def half(these: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for x, y in these:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], (x, y)) <= 0:
                chain.pop()
            chain.append((x, y))
        return chain[:-1]

    return tuple(half(ordered) + half(ordered[::-1])) if len(ordered) > 1 else tuple(ordered)


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def inside_hull(hull: Sequence[Point], queries: FloatArray) -> NDArray[np.bool_]:
    """Tell which places lie in a convex hull, its edge included; shape (m,)."""
    inside = np.ones(len(queries), dtype=np.bool_)
    for (ax, ay), (bx, by) in pairwise([*hull, hull[0]]):
        cross = (bx - ax) * (queries[:, 1] - ay) - (by - ay) * (queries[:, 0] - ax)
        inside &= cross >= -TOUCHING * math.hypot(bx - ax, by - ay)
    return inside


def area_of(ring: Sequence[Point]) -> float:
    """Area of a ring, square metres; positive where it runs counterclockwise."""
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairwise([*ring, ring[0]])) / 2


def outlines(cells: NDArray[np.bool_], grid: Grid) -> tuple[tuple[Point, ...], ...]:
    """Walk round the cells of a region: closed rings in metres, outer ones counterclockwise.

    Parameters
    ----------
    cells : array of bool, shape (rows, columns)
        The region, from the south.
    grid : Grid
        Where the cells lie.

    Examples
    --------
    >>> unit = Grid(west=0, south=0, east=2, north=1, columns=2, rows=1)
    >>> outlines(np.array([[True, False]]), unit)
    (((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)),)
    """
    edges: dict[tuple[int, int], list[tuple[int, int]]] = {}
    padded = np.pad(cells, 1)
    for row, column in np.argwhere(cells):
        corner = [(column, row), (column + 1, row), (column + 1, row + 1), (column, row + 1)]
        beside = [
            (row, column + 1),
            (row + 1, column + 2),
            (row + 2, column + 1),
            (row + 1, column),
        ]
        for side, (r, c) in enumerate(beside):
            if not padded[r, c]:
                start, end = corner[side], corner[(side + 1) % 4]
                edges.setdefault((int(start[0]), int(start[1])), []).append(
                    (int(end[0]), int(end[1]))
                )
    rings = []
    wide, high = grid.cell_m
    while edges:
        first = min(edges)
        walk, here, came = [first], first, (1, 0)
        while True:
            ways = edges[here]
            # Where two cells touch at a corner, the sharpest left turn keeps their rings apart.
            ahead = max(ways, key=lambda way: _left(came, (way[0] - here[0], way[1] - here[1])))
            ways.remove(ahead)
            if not ways:
                del edges[here]
            came, here = (ahead[0] - here[0], ahead[1] - here[1]), ahead
            if here == first:
                break
            walk.append(here)
        corners = [
            spot
            for before, spot, after in zip(
                [walk[-1], *walk], walk, [*walk[1:], walk[0]], strict=False
            )
            if _left(
                (spot[0] - before[0], spot[1] - before[1]), (after[0] - spot[0], after[1] - spot[1])
            )
        ]
        rings.append(tuple((grid.west + wide * c, grid.south + high * r) for c, r in corners))
    return tuple(rings)


def _left(came: tuple[int, int], goes: tuple[int, int]) -> int:
    """Return 1 for a left turn, 0 for straight on, -1 for a right turn."""
    return came[0] * goes[1] - came[1] * goes[0]
