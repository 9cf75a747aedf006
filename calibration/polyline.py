"""From a color to a value along the straight pieces between the swatches."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from colorcore.color_spaces import Lab


@dataclass(frozen=True, slots=True, kw_only=True)
class PolylinePoint:
    """The nearest point of a chart's polyline to a color.

    Parameters
    ----------
    value : float
        Value at that point, in the chart's unit.
    distance : float
        Euclidean distance in CIELAB.
    segment : int
        Number of the piece, from 0.
    beyond : {"below", "above"} or None
        The color lies past that end of the chart, and `value` is the end's.
    """

    value: float
    distance: float
    segment: int
    beyond: Literal["below", "above"] | None


def polyline_value(color: Lab, values: Sequence[float], labs: Sequence[Lab]) -> PolylinePoint:
    """Project a color on the polyline through the swatches.

    On each piece t = ((m - p_i) . (p_i+1 - p_i)) / |p_i+1 - p_i|^2, held to 0 to 1; the value is
    q_i + t (q_i+1 - q_i) on the piece of least distance.

    Parameters
    ----------
    color : Lab
        The color m.
    values, labs : sequences
        Values q_i in rising order and colors p_i of the swatches, two or more.

    Examples
    --------
    >>> chart = (6.0, 7.0), (Lab(60, 10, 40), Lab(50, -20, 20))
    >>> point = polyline_value(Lab(56, -3, 33), *chart)
    >>> round(point.value, 3), round(point.distance, 3)
    (6.407, 1.389)
    """
    if len(values) < 2:
        raise ValueError("a polyline needs two swatches")
    pieces = enumerate(pairwise(zip(values, labs, strict=True)))
    last = len(values) - 2
    candidates = (_on_piece(color, start, end, number, last) for number, (start, end) in pieces)
    return min(candidates, key=lambda point: point.distance)


def _on_piece(
    color: Lab, start: tuple[float, Lab], end: tuple[float, Lab], number: int, last: int
) -> PolylinePoint:
    (q0, p0), (q1, p1) = start, end
    along = [b - a for a, b in zip(p0, p1, strict=True)]
    length2 = sum(step**2 for step in along)
    offset = [m - a for m, a in zip(color, p0, strict=True)]
    free = sum(o * s for o, s in zip(offset, along, strict=True)) / length2 if length2 else 0.0
    t = min(max(free, 0.0), 1.0)
    distance = sum((o - t * s) ** 2 for o, s in zip(offset, along, strict=True)) ** 0.5
    below, above = number == 0 and free < 0, number == last and free > 1
    return PolylinePoint(
        value=q0 + t * (q1 - q0),
        distance=distance,
        segment=number,
        beyond="below" if below else "above" if above else None,
    )
