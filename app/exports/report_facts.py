"""What the tables of a report say, row by row and chart by chart."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Any

from app.exports.advice_text import (
    OVERVIEW,
    in_order,
    overview_row,
    say_citation,
    say_marks,
    say_shopping,
    say_title,
    say_topic,
)
from app.exports.drawings import draw_curve, draw_self_test
from app.exports.report import Report
from app.exports.screen_color import ink_on, screen_color
from app.survey.kept_reading import KeptReading
from app.survey.overview import Column, Overview
from app.survey.sample_advice import SurveyAdvice
from app.wording import say_swatch, say_value
from calibration.chart import Chart
from calibration.checks import coarse_gaps, leave_one_out, valid_span, weakest_neighbors
from colorcore.color_spaces import Lab

MOST_ADVISED = 50
"""Samples whose advice is written out; the overview holds all."""
CAUSES = {
    "light": "the light: its spectrum, as far as a grey card cannot tell it",
    "level": "how bright the tube stood against the card",
    "liquid": "unevenness and reflections in the liquid",
    "curve": "the chart's curve between its swatches",
    "dose": "the dose of indicator and the width of the tube",
    "tone": "the camera's tone curve: how bright the photo was exposed",
    "turbidity": "cloudiness and the extract's own color",
}
"""What the names of the error model's terms mean to people."""


def name_of_test(column: Column) -> str:
    """Name what is measured: "pH", "phosphorus (P, in extract), mg/L".

    Examples
    --------
    >>> name_of_test(Column(quantity="phosphorus", unit="mg/L", form="P", basis="extract"))
    'phosphorus (P, in extract), mg/L'
    """
    if column.quantity == "ph":
        return "pH"
    basis = None if column.basis is None else f"in {column.basis}"
    facts = ", ".join(fact for fact in (column.form, basis) if fact)
    unit = f", {column.unit}" if column.unit else ""
    return f"{column.quantity} ({facts}){unit}" if facts else f"{column.quantity}{unit}"


def span_of(report: Report) -> tuple[date, date] | None:
    """First and last day on which photos were taken or, where no file says so, readings kept."""
    taken = [kept.taken_at.date() for kept in report.readings if kept.taken_at is not None]
    days = taken or [kept.kept_at.date() for kept in report.readings]
    return (min(days), max(days)) if days else None


def columns_shown(overview: Overview) -> dict[str, bool]:
    """Leave out what is known of no sample."""
    samples = [sample for sample, _ in overview.rows]
    return {
        "site": any(sample.site for sample in samples),
        "day": any(sample.taken_on for sample in samples),
        "depth": any(sample.depth_bottom_cm is not None for sample in samples),
    }


def result_row(kept: KeptReading) -> dict[str, Any]:
    """Collect what the row of one reading shows."""
    line, reading = kept.line, kept.line.reading
    chart, seen = line.chart, line.measurement
    swatch = None
    if chart is not None:
        swatch = next(
            (
                item
                for item in chart.swatches
                if (item.value, item.label) == (reading.swatch, reading.swatch_label)
            ),
            None,
        )
    color = None if seen is None else screen_color(seen.lab)
    near = None if swatch is None else screen_color(Lab(*swatch.lab))
    quantity = "" if chart is None else chart.analyte.quantity or chart.name
    return {
        "kept": kept,
        "quantity": "pH" if quantity == "ph" else quantity,
        "said": "no value" if chart is None else say_value(reading, chart),
        "lab": None if seen is None else " ".join(f"{v:.0f}" for v in seen.lab).replace("-", "−"),
        "color": color,
        "ink": None if color is None else ink_on(color),
        "swatch": say_swatch(reading),
        "near": near,
        "near_ink": None if near is None else ink_on(near),
    }


def chart_facts(chart: Chart) -> dict[str, Any]:
    """Collect what is said of a chart: its facts, swatches, drawings and quality."""
    tested = leave_one_out(chart)
    pair = weakest_neighbors(chart)
    unit = chart.analyte.unit or ""
    swatches = [
        {
            "name": item.label if item.value is None else f"{item.value:g}",
            "color": screen_color(item.lab),
            "ink": ink_on(screen_color(item.lab)),
            "n": item.n,
        }
        for item in chart.swatches
    ]
    return {
        "chart": chart,
        "swatches": swatches,
        "curve": draw_curve(chart),
        "self_test": draw_self_test(tested, "pH" if chart.analyte.is_ph else unit),
        "error": tested.root_mean_square,
        "tested": len(tested.swatches),
        "span": valid_span(chart),
        "weakest": [
            item.label if item.value is None else f"{item.value:g}"
            for item in (pair.first, pair.second)
        ],
        "weakest_difference": pair.color_difference,
        "coarse": [f"{gap.low:g} to {gap.high:g}" for gap in coarse_gaps(chart)],
        "test": name_of_test(
            Column(
                quantity=chart.analyte.quantity or "not said",
                unit=chart.analyte.unit,
                form=chart.analyte.form,
                basis=chart.analyte.basis,
            )
        ),
    }


def causes_of(readings: Sequence[KeptReading]) -> list[tuple[str, int]]:
    """Count what the largest cause of the uncertainty was, the commonest first."""
    terms = Counter(
        kept.line.reading.largest_term.partition(":")[0]
        for kept in readings
        if kept.line.reading.largest_term is not None
    )
    return [(CAUSES.get(term, term), n) for term, n in terms.most_common()]


def advice_facts(advice: SurveyAdvice) -> dict[str, Any]:
    """Collect what is said of the advice, in the words that the terminal uses too."""
    sources = advice.sources(steps=False)
    numbers = {citation: number for number, citation in enumerate(sources, start=1)}
    return {
        "crops": ", ".join(crop.name for crop in advice.crops),
        "heads": OVERVIEW,
        "rows": [overview_row(item) for item in advice.samples],
        "shopping": [] if advice.shopping is None else say_shopping(advice.shopping),
        "samples": [
            {
                "title": say_title(item),
                "notes": item.notes,
                "said": [
                    (said, say_topic(said), say_marks(said.citations, numbers))
                    for said in in_order(item)
                ],
            }
            for item in advice.samples[:MOST_ADVISED]
        ],
        "sources": [(number, say_citation(citation)) for citation, number in numbers.items()],
    }
