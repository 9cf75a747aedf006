"""How values, intervals, amounts and confidence are written, everywhere."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from app.soil.units import Amount, System

if TYPE_CHECKING:  # the window's first page needs no numpy
    from calibration.chart import Chart
    from calibration.reading import Reading

TONNES_FROM_KG = 10_000
"""From here on a mass is written in tonnes."""
CONFIDENCE_WORDS = ((0.9, "very sure"), (0.75, "sure"), (0.5, "fairly sure"), (0.0, "unsure"))


def decimals_for(width: float) -> int:
    """Decimals that an interval of this width deserves: one more than its first digit's place.

    Examples
    --------
    >>> [decimals_for(width) for width in (0.04, 0.3, 4.0, 30.0)]
    [2, 1, 1, 0]
    """
    if width < 0.1:
        return 2
    return 1 if width < 10 else 0


def say_unit(chart: Chart) -> str:
    """Return the unit as it stands behind a value; pH stands before it and has none behind."""
    unit = chart.analyte.unit
    return "" if unit is None or chart.analyte.is_ph else f" {unit}"


def say_value(reading: Reading, chart: Chart) -> str:
    """Write a value with its 90 % interval: "pH 6.4 ± 0.3", "6.4, 6.1 to 6.8" or "above 60".

    The ± form is kept for intervals that are symmetric in what is printed.
    """
    no_number = reading.value is None and reading.low is None and reading.high is None
    if no_number and reading.swatch_label is not None and reading.status != "refused":
        return reading.swatch_label
    before = "pH " if chart.analyte.is_ph else ""
    return say_interval(
        reading.value, reading.low, reading.high, before=before, unit=say_unit(chart)
    )


def say_interval(
    value: float | None, low: float | None, high: float | None, *, before: str = "", unit: str = ""
) -> str:
    """Write a value with its 90 % interval, with what stands before and behind it.

    Examples
    --------
    >>> say_interval(6.4, 6.1, 6.7, before="pH "), say_interval(None, 60.0, None, unit=" mg/L")
    ('pH 6.4 ± 0.3', 'above 60 mg/L')
    """
    if value is None:
        if low is not None:
            return f"above {before}{low:g}{unit}"
        return "no value" if high is None else f"below {before}{high:g}{unit}"
    low = value if low is None else low
    high = value if high is None else high
    places = decimals_for(high - low)
    said = f"{before}{value:.{places}f}"
    up, down = f"{high - value:.{places}f}", f"{value - low:.{places}f}"
    if up == down:
        return f"{said} ± {up}{unit}"
    return f"{said} ({low:.{places}f} to {high:.{places}f}){unit}"


def say_confidence(confidence: float | None) -> str:
    """Write a confidence as percent and word.

    Examples
    --------
    >>> say_confidence(0.82)
    '82 %, sure'
    """
    if confidence is None:
        return ""
    word = next(word for limit, word in CONFIDENCE_WORDS if confidence >= limit)
    return f"{100 * confidence:.0f} %, {word}"


def say_swatch(reading: Reading) -> str:
    """Write the nearest swatch: its value, its label, or both."""
    value = None if reading.swatch is None else f"{reading.swatch:g}"
    said = [part for part in (value, reading.swatch_label) if part is not None]
    return " ".join(said)


def say_count(number: int, thing: str) -> str:
    """Write how many there are of a thing.

    Examples
    --------
    >>> say_count(1, "reading"), say_count(0, "reading")
    ('1 reading', '0 readings')
    """
    return f"{number} {thing}{'' if number == 1 else 's'}"


def say_amount(amount: Amount, units: System | None = None) -> str:
    """Write an amount with its name, in one system of units or in both.

    A range is rounded so that its width keeps two digits, a single figure to three digits.

    Parameters
    ----------
    units : {"si", "us"} or None
        None for SI units with US units behind them where there are any.

    Examples
    --------
    >>> say_amount(Amount(name="rate", unit="g/m2", low=187.3, high=541.2))
    'rate: 190 to 540 g/m2, that is 38 to 111 lb/1000 ft2'
    >>> say_amount(Amount(name="dressings", unit="1", low=1.0, high=2.0))
    'dressings: 1 to 2'
    >>> say_amount(Amount(name="P", unit="mg/kg", best=12.34, low=9.1, high=15.6))
    'P: 12.3 mg/kg (9.1 to 15.6)'
    """
    return f"{amount.name}: {say_figures(amount, units)}"


def say_figures(amount: Amount, units: System | None = None) -> str:
    """Write an amount without its name.

    Examples
    --------
    >>> say_figures(Amount(name="lime", unit="kg", best=10.0), "us")
    '22.0 lb'
    """
    if amount.unit == "kg" and max(amount.high or 0.0, amount.best or 0.0) >= TONNES_FROM_KG:
        amount = amount.converted("t")
    if units is not None:
        return _say_figures(amount.in_system(units))
    here, there = amount.in_system("si"), amount.in_system("us")
    said = _say_figures(here)
    return said if there.unit == here.unit else f"{said}, that is {_say_figures(there)}"


def _say_figures(amount: Amount) -> str:
    unit = "" if amount.unit == "1" else f" {amount.unit}"
    low, high, best = amount.low, amount.high, amount.best
    if low is None or high is None or low == high:
        number = high if best is None else best
        return f"{_rounded(number or 0.0, amount)}{unit}"
    span = f"{_rounded(low, amount)} to {_rounded(high, amount)}"
    if best is None:
        return f"{span}{unit}"
    return f"{_rounded(best, amount)}{unit} ({span})"


def _rounded(number: float, amount: Amount) -> str:
    """Write a number with as many digits as the amount's range deserves; counts as they are."""
    if number == 0 or amount.unit in ("1", "months"):
        return f"{number:g}"
    width = (amount.high or 0.0) - (amount.low or 0.0)
    place = math.floor(math.log10(width)) - 1 if width > 0 else math.floor(math.log10(number)) - 2
    return f"{round(number, -place):.{max(0, -place)}f}"
