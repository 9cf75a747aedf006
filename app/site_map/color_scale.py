"""Colors for values: even steps that read the same with and without red and green."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.chart import Chart
from calibration.reading import swatch_values
from colorcore.color_spaces import Lab

DARK, LIGHT = Lab(25.0, 8.0, -38.0), Lab(92.0, -6.0, 55.0)
"""Ends of the scale, CIELAB: a dark blue and a light yellow. Between them every step is as large as
the next and each is lighter than the one before, so that the scale can be read by its lightness
alone; it turns from blue to yellow, which color-blind people of both common kinds tell apart."""


def scale_color(share: float) -> Lab:
    """Color of a place on the scale, 0 the low end (dark) and 1 the high end (light).

    Examples
    --------
    >>> tuple(scale_color(0.0)), round(scale_color(0.5).lightness, 1)
    ((25.0, 8.0, -38.0), 58.5)
    """
    at = min(1.0, max(0.0, share))
    return Lab(*(start + at * (end - start) for start, end in zip(DARK, LIGHT, strict=True)))


def scale_ends(values: Sequence[float]) -> tuple[float, float]:
    """Return the ends of the scale for some values: theirs, drawn apart where they are one.

    Examples
    --------
    >>> scale_ends([5.2, 6.4]), scale_ends([5.0])
    ((5.2, 6.4), (4.5, 5.5))
    """
    low, high = min(values), max(values)
    return (low, high) if high > low else (low - 0.5, high + 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartScale:
    """What the colors of a chart stand for.

    Parameters
    ----------
    name : str
        The chart's.
    steps : tuple of (float, Lab)
        Its swatches, in rising order of value.
    """

    name: str
    steps: tuple[tuple[float, Lab], ...]


def chart_scale(chart: Chart) -> ChartScale:
    """Return the values and colors of a chart's swatches."""
    labs = (Lab(*swatch.lab) for swatch in chart.swatches)
    return ChartScale(name=chart.name, steps=tuple(zip(swatch_values(chart), labs, strict=True)))


def chart_color(chart: Chart, value: float) -> Lab:
    """Color that a value has on its chart: on the straight line between its two swatches."""
    labs = np.array([swatch.lab for swatch in chart.swatches])
    return Lab(*(float(np.interp(value, swatch_values(chart), axis)) for axis in labs.T))
