"""How values, intervals and confidence are written, everywhere."""

from calibration.chart import Chart
from calibration.reading import Reading

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
    before, unit = ("pH " if chart.analyte.is_ph else ""), say_unit(chart)
    if reading.value is None:
        if reading.low is not None:
            return f"above {before}{reading.low:g}{unit}"
        if reading.high is not None:
            return f"below {before}{reading.high:g}{unit}"
        if reading.swatch_label is not None and reading.status != "refused":
            return reading.swatch_label
        return "no value"
    low = reading.value if reading.low is None else reading.low
    high = reading.value if reading.high is None else reading.high
    places = decimals_for(high - low)
    value = f"{before}{reading.value:.{places}f}"
    up, down = f"{high - reading.value:.{places}f}", f"{reading.value - low:.{places}f}"
    if up == down:
        return f"{value} ± {up}{unit}"
    return f"{value} ({low:.{places}f} to {high:.{places}f}){unit}"


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
