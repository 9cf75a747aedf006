"""Values between sites: inverse distance weighting, ordinary kriging, or why there is neither."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray, Scale
from app.site_map.grid import TOUCHING, Grid, area_of, hull_of, inside_hull
from app.site_map.plane import Point

FEWEST_TO_DRAW = 3
SKETCH_BELOW = 10
"""Fewer points than this make a sketch (common practice)."""
FEWEST_TO_KRIGE = 30
"""A variogram wants about 100 points, at the very least 30 to 50 (Webster & Oliver; memory)."""
REACH = 2.0
"""No value is drawn farther from a point than so many times the usual distance between neighbors
(common practice)."""

Method = Literal["inverse distance", "kriging"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """Values between the sites.

    Parameters
    ----------
    grid : Grid
        Where they stand.
    values : tuple of float or None
        A cell each, row by row from the south, in the unit of the readings; None where nothing is
        drawn.
    standard_errors : tuple of float or None, or None
        The same for the standard error of kriging, in the unit of what was interpolated; None for
        inverse distances, which have none.
    method : {"inverse distance", "kriging"}
        How they were found.
    is_sketch : bool
        Whether the points are so few that it is a sketch.
    note : str
        What was interpolated, and how.
    """

    grid: Grid
    values: tuple[float | None, ...]
    standard_errors: tuple[float | None, ...] | None
    method: Method
    is_sketch: bool
    note: str


def inverse_distance(
    points: FloatArray, values: FloatArray, queries: FloatArray, *, power: float = 2.0
) -> FloatArray:
    """Weigh values by the inverse of a power of their distance (Shepard 1968).

    Parameters
    ----------
    points, queries : array, shape (n, 2) and (m, 2)
        Metres.
    values : array, shape (n,)
        At the points.
    power : float
        > 0, usually 2.

    Returns
    -------
    array, shape (m,)
        At a point, its value.

    Examples
    --------
    >>> corners = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])
    >>> found = inverse_distance(corners, np.array([5.0, 6.0, 7.0]), np.array([[2.0, 3.0]]))
    >>> round(float(found[0]), 5)
    5.46977
    """
    apart = np.linalg.norm(queries[:, None, :] - points[None, :, :], axis=2)
    nearest = apart.min(axis=1, keepdims=True)
    # Relative to the nearest point no power of a distance is too large or too small for a number.
    weights = (np.maximum(nearest, TOUCHING) / np.maximum(apart, TOUCHING)) ** power
    found = weights @ values / weights.sum(axis=1)
    exact = nearest[:, 0] < TOUCHING
    return np.asarray(np.where(exact, values[apart.argmin(axis=1)], found))


def neighbor_distance(points: FloatArray) -> float:
    """Median distance from a point to its nearest neighbor."""
    apart = np.linalg.norm(points[:, None, :] - points[None, :, :], axis=2)
    np.fill_diagonal(apart, np.inf)
    return float(np.median(apart.min(axis=1)))


def why_no_surface(points: Sequence[Point]) -> str | None:
    """Say why nothing is drawn between points; None where it can be."""
    places = list(dict.fromkeys(points))
    if len(places) < FEWEST_TO_DRAW:
        return (
            f"Nothing is drawn between the sites: there are {len(places)} places with a reading, "
            f"and {FEWEST_TO_DRAW} are the fewest that enclose any ground."
        )
    hull = hull_of(places)
    longest = max(math.dist(a, b) for a in hull for b in hull)
    if area_of(hull) < 0.05 * longest**2:
        return (
            "Nothing is drawn between the sites: they lie almost in a line, and what lies beside "
            "it was not sampled."
        )
    return None


def interpolate(
    points: Sequence[Point], values: Sequence[float], grid: Grid, scale: Scale
) -> Surface:
    """Fill a grid from readings at points; `why_no_surface` must have been asked before.

    Readings at one place are put together first. Cells outside the hull of the points, or too far
    from any of them, stay empty.

    Parameters
    ----------
    points : sequence of Point
        Metres.
    values : sequence of float
        Readings.
    grid : Grid
        What is to be filled.
    scale : Scale
        What is interpolated.
    """
    places = list(dict.fromkeys(points))
    drawn = scale.to_drawn(np.asarray(values, dtype=np.float64))
    at = np.array([places.index(point) for point in points])
    means = np.array([drawn[at == i].mean() for i in range(len(places))])
    spots, cells = np.asarray(places, dtype=np.float64), grid.centers()
    apart = np.linalg.norm(cells[:, None, :] - spots[None, :, :], axis=2).min(axis=1)
    shown = inside_hull(hull_of(places), cells) & (apart <= REACH * neighbor_distance(spots))
    errors: FloatArray | None = None
    method: Method = "inverse distance"
    note = f"Interpolated: {scale.drawn}; weights 1/distance squared."
    if len(places) >= FEWEST_TO_KRIGE:
        kriged = krige(spots, means, cells)
        if kriged is None:
            note += " Kriging was left out: its library is missing, or the readings do not vary."
        else:
            (found, errors), method = kriged, "kriging"
            note = f"Interpolated: {scale.drawn}; ordinary kriging, spherical variogram."
            if scale.is_ph and scale.kind == "water":  # an activity cannot be negative
                found = np.clip(found, means.min(), means.max())
    if errors is None:
        found = inverse_distance(spots, means, cells)
    return Surface(
        grid=grid,
        values=_where(shown, scale.from_drawn(found)),
        standard_errors=None if errors is None else _where(shown, errors),
        method=method,
        is_sketch=len(places) < SKETCH_BELOW,
        note=note,
    )


def krige(
    points: FloatArray,
    values: FloatArray,
    queries: FloatArray,
    *,
    model: str = "spherical",
    parameters: Sequence[float] | None = None,
) -> tuple[FloatArray, FloatArray] | None:
    """Ordinary kriging with its standard error (PyKrige).

    Parameters
    ----------
    points, values, queries : array, shape (n, 2), (n,) and (m, 2)
        As for `inverse_distance`.
    model : str
        Of the variogram.
    parameters : sequence of float, optional
        Of the variogram, as PyKrige takes them; fitted where they are not given.

    Returns
    -------
    tuple of array, or None
        Values and standard errors; None where the library is not installed or the values do not
        vary, so that there is no variogram.
    """
    try:
        from pykrige.ok import OrdinaryKriging
    except ImportError:
        return None
    if float(np.ptp(values)) == 0:
        return None
    given = None if parameters is None else list(parameters)
    size = float(np.std(values)) if parameters is None else 1.0  # activities are tiny numbers
    kriging = OrdinaryKriging(
        *points.T, values / size, variogram_model=model, variogram_parameters=given
    )
    found, variance = kriging.execute("points", *queries.T)
    errors = np.sqrt(np.maximum(np.asarray(variance), 0.0))
    return np.asarray(found) * size, errors * size


def _where(shown: NDArray[np.bool_], numbers: FloatArray) -> tuple[float | None, ...]:
    return tuple(float(n) if show else None for n, show in zip(numbers, shown, strict=True))
