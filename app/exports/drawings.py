"""Drawings as SVG text: a chart's curve, how well it reads itself, and a control chart.

Everything that a color or a place says is also printed. Texts of the user's are made harmless.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from app.exports.cell_text import printable
from app.exports.screen_color import screen_color
from app.survey.quality import Control
from calibration.chart import Chart
from calibration.checks import LeaveOneOut
from calibration.reading import chart_curve, swatch_values
from colorcore.color_spaces import Lab

INK, FAINT, SIGNAL = "#222222", "#c8c8c8", "#b00020"
TEXT = 11
LABEL_LENGTH = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A drawing.

    Parameters
    ----------
    svg : str
        One `svg` element.
    width, height : int
        Its size at 96 pixels an inch.
    """

    svg: str
    width: int
    height: int


def _drawing(width: int, height: int, said: str, parts: Sequence[str]) -> Drawing:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" font-family="sans-serif" '
        f'font-size="{TEXT}" fill="{INK}"><title>{_safe(said)}</title>'
    )
    return Drawing(svg=head + "".join(parts) + "</svg>", width=width, height=height)


def _safe(text: str) -> str:
    return escape(printable(text), {'"': "&quot;"})


def _line(x1: float, y1: float, x2: float, y2: float, style: str) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {style}/>'


def _text(x: float, y: float, text: str, anchor: str = "middle", style: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {style}>{_safe(text)}</text>'


def _disc(x: float, y: float, r: float, fill: str, edge: str = INK) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r}" fill="{fill}" stroke="{edge}"/>'


def _ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round numbers between two ends.

    Examples
    --------
    >>> _ticks(3.9, 8.1)
    [4.0, 5.0, 6.0, 7.0, 8.0]
    """
    rough = max(high - low, 1e-9) / most
    size = 10.0 ** np.floor(np.log10(rough))
    step = float(next(size * m for m in (1, 2, 5, 10) if size * m >= rough))
    first = int(np.ceil(low / step - 1e-9))
    last = int(np.floor(high / step + 1e-9))
    return [round(i * step, 10) for i in range(first, last + 1)]


def draw_curve(chart: Chart) -> Drawing:
    """Draw a chart's swatches and the curve through them in the a*b* plane of CIELAB."""
    width, height = 340, 300
    left, top, right, bottom = 44, 12, 328, 262
    swatches = np.array([swatch.lab for swatch in chart.swatches])
    values = swatch_values(chart)
    path = chart_curve(chart).lab_along(np.linspace(values[0], values[-1], 80))
    every = np.concatenate([swatches, path])[:, 1:]
    middle = (every.min(axis=0) + every.max(axis=0)) / 2
    reach = max(float(np.ptp(every, axis=0).max()), 10.0) * 0.58
    side = (right - left) / 2

    def place(a: float, b: float) -> tuple[float, float]:
        x = (left + right) / 2 + (a - middle[0]) / reach * side
        y = (top + bottom) / 2 - (b - middle[1]) / reach * (bottom - top) / 2
        return float(x), float(y)

    parts = [
        f'<rect x="{left}" y="{top}" width="{right - left}" height="{bottom - top}" '
        f'fill="none" stroke="{FAINT}"/>'
    ]
    for tick in _ticks(middle[0] - reach, middle[0] + reach):
        x, _ = place(tick, 0)
        parts.append(_line(x, top, x, bottom, f'stroke="{FAINT}" stroke-width="0.5"'))
        parts.append(_text(x, bottom + 14, f"{tick:g}"))
    for tick in _ticks(middle[1] - reach, middle[1] + reach):
        _, y = place(0, tick)
        parts.append(_line(left, y, right, y, f'stroke="{FAINT}" stroke-width="0.5"'))
        parts.append(_text(left - 6, y + 4, f"{tick:g}", "end"))
    parts.append(_text((left + right) / 2, height - 6, "a*  (green to red)"))
    parts.append(
        _text(
            0,
            0,
            "b*  (blue to yellow)",
            style=f'transform="translate(10 {height / 2 - 14:.0f}) rotate(-90)"',
        )
    )
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in (place(a, b) for _, a, b in path))
    parts.append(f'<polyline points="{points}" fill="none" stroke="{INK}" stroke-width="1"/>')
    for swatch in chart.swatches:
        x, y = place(swatch.lab[1], swatch.lab[2])
        parts.append(_disc(x, y, 6, f"#{screen_color(Lab(*swatch.lab))}"))
        name = (swatch.label or "") if swatch.value is None else f"{swatch.value:g}"
        parts.append(_text(x + 9, y - 5, name[:LABEL_LENGTH], "start"))
    said = f"Colors and curve of the chart {chart.name} in the a*b* plane"
    return _drawing(width, height, said, parts)


def draw_self_test(tested: LeaveOneOut, unit: str) -> Drawing | None:
    """Draw how far each inner swatch is read off its value by all the others; None for none."""
    if not tested.swatches:
        return None
    width, height = 300, 300
    left, top, right, bottom = 52, 12, 288, 262
    values = [item.value for item in tested.swatches]
    errors = [item.error for item in tested.swatches]
    pad = (max(values) - min(values)) * 0.08 or 1.0
    low, high = min(values) - pad, max(values) + pad
    most = 1.3 * max(1e-6, *map(abs, errors))

    def place(value: float, error: float) -> tuple[float, float]:
        x = left + (value - low) / (high - low) * (right - left)
        return x, (top + bottom) / 2 - error / most * (bottom - top) / 2

    parts = [
        f'<rect x="{left}" y="{top}" width="{right - left}" height="{bottom - top}" '
        f'fill="none" stroke="{FAINT}"/>',
        _line(left, (top + bottom) / 2, right, (top + bottom) / 2, f'stroke="{INK}"'),
    ]
    for tick in _ticks(-most, most):
        _, y = place(low, tick)
        parts.append(_line(left, y, right, y, f'stroke="{FAINT}" stroke-width="0.5"'))
        parts.append(_text(left - 6, y + 4, f"{tick:+g}" if tick else "0", "end"))
    for tick in _ticks(low, high):
        x, _ = place(tick, 0)
        parts.append(_text(x, bottom + 14, f"{tick:g}"))
    for value, error in zip(values, errors, strict=True):
        x, y = place(value, error)
        parts.append(_line(x, (top + bottom) / 2, x, y, f'stroke="{INK}" stroke-width="0.8"'))
        parts.append(_disc(x, y, 4, "#ffffff"))
    parts.append(_text((left + right) / 2, height - 6, f"true value, {unit}" if unit else "value"))
    parts.append(
        _text(
            0,
            0,
            "read less true",
            style=f'transform="translate(11 {height / 2 - 14:.0f}) rotate(-90)"',
        )
    )
    return _drawing(width, height, "How far each swatch is read off by the others", parts)


def draw_control(control: Control) -> Drawing:
    """Draw a check standard's results in the order of keeping, with limits where there are any."""
    width, height = 640, 220
    left, top, right, bottom = 52, 14, 560, 186
    values = [result.value for result in control.results]
    limits = control.limits
    ends = [*values, *(() if limits is None else limits.action)]
    ends += [] if control.certified is None else [control.certified]
    pad = (max(ends) - min(ends)) * 0.1 or 0.1
    low, high = min(ends) - pad, max(ends) + pad

    def place(index: float, value: float) -> tuple[float, float]:
        x = left + (index + 0.5) / len(values) * (right - left)
        return x, bottom - (value - low) / (high - low) * (bottom - top)

    parts = [
        f'<rect x="{left}" y="{top}" width="{right - left}" height="{bottom - top}" '
        f'fill="none" stroke="{FAINT}"/>'
    ]
    for tick in _ticks(low, high):
        _, y = place(0, tick)
        parts.append(_text(left - 6, y + 4, f"{tick:g}", "end"))
    if limits is not None:
        lines = [("center", limits.center, 'stroke-width="1"')]
        lines += [("warning", v, 'stroke-dasharray="5 4"') for v in limits.warning]
        lines += [("action", v, 'stroke-dasharray="1 3"') for v in limits.action]
        for name, value, style in lines:
            _, y = place(0, value)
            parts.append(_line(left, y, right, y, f'stroke="{INK}" {style}'))
            parts.append(_text(right + 6, y + 4, f"{name} {value:.3g}", "start"))
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in (place(i, v) for i, v in enumerate(values)))
    parts.append(f'<polyline points="{points}" fill="none" stroke="{INK}" stroke-width="0.8"/>')
    broken = {signal.index: signal for signal in control.signals}
    for index, value in enumerate(values):
        x, y = place(index, value)
        parts.append(_disc(x, y, 3.5, "#ffffff" if index not in broken else SIGNAL))
        if index in broken:
            number = str(control.results[index].reading)
            above = y - 9 if y > top + 18 else y + 18
            parts.append(_text(x, above, number, style=f'font-weight="bold" fill="{SIGNAL}"'))
    parts.append(_text((left + right) / 2, height - 14, "readings in the order of keeping"))
    said = f"Control chart of {control.sample}, {control.quantity}"
    return _drawing(width, height, said, parts)
