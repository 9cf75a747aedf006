"""How good a chart is, in numbers for plots and in words for people."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Literal

import numpy as np

from app.exports.screen_color import screen_color
from calibration.chart import Chart, Swatch
from calibration.checks import (
    LeaveOneOut,
    Neighbors,
    coarse_gaps,
    leave_one_out,
    valid_span,
    weakest_neighbors,
)
from calibration.polyline import polyline_value
from calibration.reading import chart_curve, swatch_values
from calibration.recipes import propose_standards
from colorcore.color_difference import delta_e_2000
from colorcore.color_spaces import Lab

ALIKE = 5.0
"""Neighbors closer than this in CIEDE2000 are easily mixed up (common practice)."""
FAIR, POOR = 0.25, 0.5  # leave-one-out error in swatch steps (common practice)
CURVE_POINTS = 80

Weight = Literal["good", "note", "doubt"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing to say about a chart."""

    weight: Weight
    text: str
    what_to_do: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeResidual:
    """One tube against the polyline through the chart's swatches, in the unit of the chart."""

    value: float
    error: float
    where: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartQuality:
    """A chart with everything that tells how good it is.

    Parameters
    ----------
    chart : Chart
        The chart.
    names, colors : tuple of str
        Of the swatches: value or label, and six hexadecimal digits of sRGB.
    positions : tuple of float
        Where the swatches lie along the value axis; counted where there are labels alone.
    curve : tuple of (float, Lab)
        Color along the chart, from its lowest to its highest value.
    tested : LeaveOneOut
        Inner swatches read from the others.
    residuals : tuple of TubeResidual
        Tubes against the polyline.
    weakest : Neighbors
        The pair that looks most alike.
    findings : tuple of Finding
        What to say, doubts first.
    """

    chart: Chart
    names: tuple[str, ...]
    colors: tuple[str, ...]
    positions: tuple[float, ...]
    curve: tuple[tuple[float, Lab], ...]
    tested: LeaveOneOut
    residuals: tuple[TubeResidual, ...]
    weakest: Neighbors
    findings: tuple[Finding, ...]


def swatch_name(swatch: Swatch) -> str:
    """Return a swatch's value, or its label where it has none.

    A mean of nearly equal buffers is written to two decimals.
    """
    return swatch.label or "" if swatch.value is None else f"{round(swatch.value, 2):.4g}"


def judge_chart(chart: Chart, left_out: Sequence[str] = ()) -> ChartQuality:
    """Judge a chart.

    Parameters
    ----------
    chart : Chart
        The chart.
    left_out : sequence of str
        Tubes that could not be used, and why.
    """
    values = swatch_values(chart)
    along = np.linspace(values[0], values[-1], CURVE_POINTS)
    labs = chart_curve(chart).lab_along(along)
    tested, weakest = leave_one_out(chart), weakest_neighbors(chart)
    return ChartQuality(
        chart=chart,
        names=tuple(swatch_name(swatch) for swatch in chart.swatches),
        colors=tuple(screen_color(swatch.lab) for swatch in chart.swatches),
        positions=values,
        curve=tuple(
            (float(value), Lab(*(float(x) for x in lab)))
            for value, lab in zip(along, labs, strict=True)
        ),
        tested=tested,
        residuals=_residuals(chart),
        weakest=weakest,
        findings=_findings(chart, tested, weakest, left_out),
    )


def _residuals(chart: Chart) -> tuple[TubeResidual, ...]:
    if not chart.has_values:
        return ()
    values, labs = swatch_values(chart), [swatch.lab for swatch in chart.swatches]
    return tuple(
        TubeResidual(
            value=item.value,
            error=polyline_value(item.measurement.lab, values, labs).value - item.value,
            where=f"{item.photo}, tube {item.tube}",
        )
        for item in chart.measurements
        if item.role == "standard" and item.value is not None
    )


def _findings(
    chart: Chart, tested: LeaveOneOut, weakest: Neighbors, left_out: Sequence[str]
) -> tuple[Finding, ...]:
    found = [Finding(weight="doubt", text=f"Left out: {text}") for text in left_out]
    found += [*_span(chart), *_error(chart, tested), *_pair(weakest), *_gaps(chart)]
    found += _repeats(chart)
    order = {"doubt": 0, "good": 1, "note": 2}
    return tuple(sorted(found, key=lambda item: order[item.weight]))


def _span(chart: Chart) -> list[Finding]:
    span = valid_span(chart)
    if span is None:
        return [Finding(weight="note", text="A chart of labels: it gives a swatch, no value.")]
    before = "pH " if chart.analyte.is_ph else ""
    unit = "" if chart.analyte.is_ph or chart.analyte.unit is None else f" {chart.analyte.unit}"
    low, high = (f"{round(end, 2):.4g}" for end in span)
    return [
        Finding(
            weight="note",
            text=f"It reads from {before}{low} to {high}{unit}; beyond, it says below or above.",
        )
    ]


def _error(chart: Chart, tested: LeaveOneOut) -> list[Finding]:
    if tested.root_mean_square is None:
        if not chart.has_values:
            return []
        return [
            Finding(
                weight="note",
                text="With two values alone nothing tests the chart.",
                what_to_do="Add a value between them.",
            )
        ]
    values = swatch_values(chart)
    step = median(b - a for a, b in pairwise(values))
    share = tested.root_mean_square / step
    text = (
        f"Each inner swatch, read from the others alone, is off by {tested.root_mean_square:.2g} "
        f"({share:.2g} of a step)"
    )
    worst = max(tested.swatches, key=lambda item: abs(item.error))
    if share <= FAIR:
        return [Finding(weight="good", text=f"{text}: good.")]
    remedy = f"Look at {worst.value:.4g} first: it was read as {worst.read:.3g}."
    if share <= POOR:
        return [Finding(weight="note", text=f"{text}: fair.", what_to_do=remedy)]
    return [Finding(weight="doubt", text=f"{text}: too much.", what_to_do=remedy)]


def _pair(pair: Neighbors) -> list[Finding]:
    names = f"{swatch_name(pair.first)} and {swatch_name(pair.second)}"
    if pair.color_difference < ALIKE:
        return [
            Finding(
                weight="doubt",
                text=f"{names} look almost alike ({pair.color_difference:.1f} CIEDE2000).",
                what_to_do="Readings there will be unsure: more indicator or another one.",
            )
        ]
    return [
        Finding(
            weight="good",
            text=f"The two most alike, {names}, are {pair.color_difference:.1f} CIEDE2000 apart.",
        )
    ]


def _gaps(chart: Chart) -> list[Finding]:
    gaps = coarse_gaps(chart)
    if not gaps:
        return []
    said = ", ".join(f"{round(gap.low, 2):.4g} to {round(gap.high, 2):.4g}" for gap in gaps)
    recipes = ""
    if chart.analyte.is_ph:
        proposals = propose_standards(swatch_values(chart))
        recipes = "\n".join(proposal.text for proposal in proposals)
    return [
        Finding(
            weight="doubt",
            text=f"Wide gaps ({said}): readings there will be doubtful.",
            what_to_do=f"Add next:\n{recipes}" if recipes else "Add standards between them.",
        )
    ]


def _repeats(chart: Chart) -> list[Finding]:
    single = [swatch_name(swatch) for swatch in chart.swatches if swatch.n == 1]
    if chart.kind == "printed" or not single:
        return []
    some = ", ".join(single[:4]) + (" and others" if len(single) > 4 else "")
    return [
        Finding(
            weight="note",
            text=f"Photographed once only: {some}.",
            what_to_do="A second photo in another light tells how far the light moves them.",
        )
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartComparison:
    """How two charts differ.

    Parameters
    ----------
    one, other : ChartQuality
        The two.
    words : str
        What their difference comes to.
    is_alike : bool
        Whether their values may lie on one axis.
    """

    one: ChartQuality
    other: ChartQuality
    words: str
    is_alike: bool


def compare_charts(first: Chart, second: Chart) -> ChartComparison:
    """Compare two charts at the values that both of them reach."""
    one, other = judge_chart(first), judge_chart(second)
    return ChartComparison(
        one=one,
        other=other,
        words=_difference(first, second),
        is_alike=first.analyte.agrees_with(second.analyte)
        and first.has_values == second.has_values,
    )


def _difference(first: Chart, second: Chart) -> str:
    if not first.analyte.agrees_with(second.analyte):
        return "These charts measure different things; their colors may be seen, not compared."
    spans = valid_span(first), valid_span(second)
    if spans[0] is None or spans[1] is None:
        return "A chart of labels has no values by which it could be compared."
    low, high = max(spans[0][0], spans[1][0]), min(spans[0][1], spans[1][1])
    if low >= high:
        return "The two charts have no values in common."
    along = np.linspace(low, high, 21)
    apart = [
        delta_e_2000(a, b)
        for a, b in zip(
            (Lab(*map(float, lab)) for lab in chart_curve(first).lab_along(along)),
            (Lab(*map(float, lab)) for lab in chart_curve(second).lab_along(along)),
            strict=True,
        )
    ]
    most = int(np.argmax(apart))
    return (
        f"At the same value their colors differ by {np.mean(apart):.1f} CIEDE2000 on average, most "
        f"at {along[most]:.3g} ({apart[most]:.1f}). Other lamps, phones or indicator batches do "
        "that; read with the chart made in the light you read in."
    )
