"""How good a chart is: what it makes of its own swatches, and where it is thin."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from calibration.chart import Chart, Swatch
from calibration.polyline import polyline_value
from calibration.recipes import COARSE_PH, COARSE_PH_TOLERANCE
from colorcore.color_difference import delta_e_2000

COARSE_COLOR = 15.0
"""Neighbors whose CIEDE2000 is larger are coarse where the values are not pH; half a pH of a mixed
indicator may look that different and is a fine step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """One swatch read from all the others.

    Parameters
    ----------
    value : float
        What it is, in the chart's unit.
    read : float
        What the others make of its color.
    distance : float
        How far its color lies from their polyline, Euclidean in CIELAB.
    """

    value: float
    read: float
    distance: float

    @property
    def error(self) -> float:
        """What it was read as, less what it is."""
        return self.read - self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveOneOut:
    """The leave-one-out test of a chart.

    Parameters
    ----------
    swatches : tuple of LeftOut
        One for each swatch but the two at the ends, which cannot be tested this way. Empty where
        the chart has fewer than three swatches, or labels alone.
    root_mean_square : float or None
        Of the errors; None where there are none.
    """

    swatches: tuple[LeftOut, ...]
    root_mean_square: float | None


def leave_one_out(chart: Chart) -> LeaveOneOut:
    """Read every inner swatch from the polyline through the others.

    References
    ----------
    Leave-one-out cross-validation; the polyline is that of `polyline_value`.
    """
    points = [(swatch.value, swatch.lab) for swatch in chart.swatches if swatch.value is not None]
    tested = []
    for at in range(1, len(points) - 1):
        value, lab = points[at]
        others = points[:at] + points[at + 1 :]
        found = polyline_value(lab, [v for v, _ in others], [c for _, c in others])
        tested.append(LeftOut(value=value, read=found.value, distance=found.distance))
    squares = [item.error**2 for item in tested]
    return LeaveOneOut(
        swatches=tuple(tested),
        root_mean_square=(sum(squares) / len(squares)) ** 0.5 if squares else None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbors:
    """Two swatches side by side.

    Parameters
    ----------
    first, second : Swatch
        In the chart's order.
    color_difference : float
        CIEDE2000 between them.
    """

    first: Swatch
    second: Swatch
    color_difference: float


@lru_cache(maxsize=16)
def neighbors(chart: Chart) -> tuple[Neighbors, ...]:
    """Return each swatch with the next one; kept, because every reading asks for it."""
    return tuple(
        Neighbors(first=a, second=b, color_difference=delta_e_2000(a.lab, b.lab))
        for a, b in pairwise(chart.swatches)
    )


def weakest_neighbors(chart: Chart) -> Neighbors:
    """Return the two neighbors that look most alike: the likeliest to be mixed up."""
    return min(neighbors(chart), key=lambda pair: pair.color_difference)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoarseGap:
    """Two neighbors too far apart for what lies between them to be certain.

    Parameters
    ----------
    low, high : float
        Their values.
    color_difference : float
        CIEDE2000 between them.
    """

    low: float
    high: float
    color_difference: float


def coarse_gaps(chart: Chart) -> tuple[CoarseGap, ...]:
    """Return the neighbors too far apart; none on a chart of labels.

    On a pH chart that is more than 1 pH. The steps of other quantities have no size of their own
    (0, 5, 20, 60 mg/kg is a usual series): there it is more than 15 CIEDE2000.
    """
    found = []
    for pair in neighbors(chart):
        low, high = pair.first.value, pair.second.value
        if low is None or high is None:
            continue
        wide_value = high - low > COARSE_PH + COARSE_PH_TOLERANCE + 1e-9
        wide_color = pair.color_difference > COARSE_COLOR
        if wide_value if chart.analyte.is_ph else wide_color:
            found.append(CoarseGap(low=low, high=high, color_difference=pair.color_difference))
    return tuple(found)


def valid_span(chart: Chart) -> tuple[float, float] | None:
    """Return the lowest and highest value of a chart, None where it has labels alone."""
    first, last = chart.swatches[0].value, chart.swatches[-1].value
    return None if first is None or last is None else (first, last)
