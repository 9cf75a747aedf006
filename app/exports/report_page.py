"""The report of a survey as one HTML page: nothing in it is fetched, nothing in it runs."""

import re
from base64 import b64encode
from collections.abc import Callable
from datetime import date, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from app.exports.cell_text import printable
from app.exports.drawings import Drawing, draw_control
from app.exports.report import Report
from app.exports.report_facts import (
    advice_facts,
    causes_of,
    chart_facts,
    columns_shown,
    name_of_test,
    result_row,
    span_of,
)
from app.exports.whole_file import whole_file
from app.survey.control_chart import RULES
from app.version import VERSION
from app.wording import say_amount, say_confidence, say_count, say_interval

Paper = Literal["a4", "letter"]
LONGEST = 1500
"""Characters of one text; what is longer is cut and says so."""
_LONG_WORD = re.compile(r"\S{16}(?=[\w!-~])")
_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")
"""What is written from right to left, or turns the direction of what follows."""


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
        span=span_of(report),
        show=columns_shown(report.overview),
        results=[result_row(kept) for kept in report.readings],
        charts=[chart_facts(chart) for chart in report.survey.charts],
        controls=[(control, draw_control(control)) for control in report.quality.controls],
        causes=causes_of(report.readings),
        value_of=lambda cell: say_interval(cell.value, cell.low, cell.high),
        advised=None if report.advice is None else advice_facts(report.advice),
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


def _day(value: date | None) -> str:
    return "" if value is None else f"{value:%Y-%m-%d}"


def _moment(value: datetime | None) -> str:
    return "" if value is None else f"{value:%Y-%m-%d %H:%M}"


def _short(value: float | None, digits: int = 3) -> str:
    """Write a number of quality control; the figures are rarely worth more than three digits."""
    return "" if value is None else f"{value:.{digits}g}"
