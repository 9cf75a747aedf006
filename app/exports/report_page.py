"""The report of a survey as one HTML page: nothing in it is fetched, nothing in it runs."""

import re
from base64 import b64encode
from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

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
from app.exports.cell_text import printable
from app.exports.drawings import Drawing, draw_control, draw_curve, draw_self_test
from app.exports.report import Report
from app.exports.screen_color import ink_on, screen_color
from app.exports.whole_file import whole_file
from app.survey.control_chart import RULES
from app.survey.kept_reading import KeptReading
from app.survey.overview import Column, Overview
from app.survey.sample_advice import SurveyAdvice
from app.version import VERSION
from app.wording import (
    say_amount,
    say_confidence,
    say_count,
    say_interval,
    say_swatch,
    say_value,
)
from calibration.checks import coarse_gaps, leave_one_out, valid_span, weakest_neighbors
from colorcore.color_spaces import Lab

Paper = Literal["a4", "letter"]
LONGEST = 1500
"""Characters of one text; what is longer is cut and says so."""
MOST_ADVISED = 50
"""Samples whose advice is written out; the overview holds all."""
_LONG_WORD = re.compile(r"\S{16}(?=[\w!-~])")
_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")
"""What is written from right to left, or turns the direction of what follows."""
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


def report_html(
    report: Report, *, paper: Paper = "a4", place: Callable[[Drawing], str] | None = None
) -> str:
    """Write a report as HTML.

    Parameters
    ----------
    report : Report
        What it shows.
    paper : {"a4", "letter"}
        Size of the printed pages.
    place : callable, optional
        Gives the HTML that stands for a drawing; without it the drawing itself is put in.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup, escape

    def plain(value: Any) -> Any:
        """Make a text harmless; a word that is too long for its column gets places to break."""
        if not isinstance(value, str) or isinstance(value, Markup):
            return value
        pieces = _LONG_WORD.sub("\\g<0>\0", isolated(_short_text(value))).split("\0")
        return "\u200b".join(pieces) if place else Markup("<wbr>").join(pieces)

    env = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=plain,
    )
    env.filters |= {
        "amount": say_amount,
        "confidence": say_confidence,
        "count": say_count,
        "day": _day,
        "moment": _moment,
        "short": _short,
        "test": name_of_test,
        "whole": lambda text: Markup(escape(_short_text(text))),
    }
    template = env.from_string((files("app.exports") / "report.html").read_text(encoding="utf-8"))
    draw = place or (lambda drawing: drawing.svg)
    return template.render(
        r=report,
        survey=report.survey,
        paper=paper,
        on_pages=place is not None,
        version=VERSION,
        draw=lambda drawing: Markup(draw(drawing)),
        rules=RULES,
        jpeg=lambda data: Markup("data:image/jpeg;base64,") + b64encode(data).decode(),
        names={p.code: p.name for p in report.survey.persons if p.name and report.with_names},
        span=_span(report),
        show=_columns_shown(report.overview),
        results=[_result_row(kept) for kept in report.readings],
        charts=[_chart_facts(chart) for chart in report.survey.charts],
        controls=[(control, draw_control(control)) for control in report.quality.controls],
        causes=_causes(report.readings),
        value_of=lambda cell: say_interval(cell.value, cell.low, cell.high),
        advised=None if report.advice is None else _advice_facts(report.advice),
    )


def write_report_html(report: Report, target: Path, *, paper: Paper = "a4") -> None:
    """Write a report as an HTML file; it appears when it is whole.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    html = report_html(report, paper=paper)
    with whole_file(target) as part:
        part.write_text(html, encoding="utf-8", newline="\n")


def isolated(text: str) -> str:
    r"""Keep the direction of a text from turning what stands around it (Unicode Annex 9).

    Examples
    --------
    >>> isolated("plot 7"), isolated("\u202eevil") == "\u2068\u202eevil\u202c\u2069"
    ('plot 7', True)
    """
    if _TURNS.search(text) is None:
        return text
    embedded = sum(text.count(mark) for mark in "\u202a\u202b\u202d\u202e")
    inner = sum(text.count(mark) for mark in "\u2066\u2067\u2068")
    return "\u2068" + text + "\u202c" * embedded + "\u2069" * (inner + 1)


def _short_text(text: str) -> str:
    said = printable(text)
    return said if len(said) <= LONGEST else f"{said[:LONGEST]} … (cut)"


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


def _day(value: date | None) -> str:
    return "" if value is None else f"{value:%Y-%m-%d}"


def _moment(value: datetime | None) -> str:
    return "" if value is None else f"{value:%Y-%m-%d %H:%M}"


def _short(value: float | None, digits: int = 3) -> str:
    """Write a number of quality control; the figures are rarely worth more than three digits."""
    return "" if value is None else f"{value:.{digits}g}"


def _span(report: Report) -> tuple[date, date] | None:
    """First and last day on which photos were taken or, where no file says so, readings kept."""
    taken = [kept.taken_at.date() for kept in report.readings if kept.taken_at is not None]
    days = taken or [kept.kept_at.date() for kept in report.readings]
    return (min(days), max(days)) if days else None


def _columns_shown(overview: Overview) -> dict[str, bool]:
    """Leave out what is known of no sample."""
    samples = [sample for sample, _ in overview.rows]
    return {
        "site": any(sample.site for sample in samples),
        "day": any(sample.taken_on for sample in samples),
        "depth": any(sample.depth_bottom_cm is not None for sample in samples),
    }


def _result_row(kept: KeptReading) -> dict[str, Any]:
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


def _chart_facts(chart: Any) -> dict[str, Any]:
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


def _causes(readings: Sequence[KeptReading]) -> list[tuple[str, int]]:
    """Count what the largest cause of the uncertainty was, the commonest first."""
    terms = Counter(
        kept.line.reading.largest_term.partition(":")[0]
        for kept in readings
        if kept.line.reading.largest_term is not None
    )
    return [(CAUSES.get(term, term), n) for term, n in terms.most_common()]


def _advice_facts(advice: SurveyAdvice) -> dict[str, Any]:
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
