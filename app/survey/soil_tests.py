"""The readings of a soil sample, put together test by test into what its advice rests on."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from app.soil.soil_reading import Medium, RatioBy, SoilReading, medium_of
from app.survey.kept_reading import KeptReading
from app.survey.method import Method
from app.survey.repeats import Repeat, put_together
from app.survey.sample_advice import TestedQuantity
from calibration.errors import AnalyteError
from calibration.indicator import Analyte, normal_ratio

_BY = re.compile(r"\s*\bby\s+(mass|weight|volume)\s*$", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilTest:
    """What is known of how a reading came about; readings that share it are repeats."""

    analyte: Analyte
    quantity: str
    ratio: str | None
    ratio_by: RatioBy | None
    extractant: str | None


def soil_test_of(kept: KeptReading, method: Method | None) -> SoilTest | None:
    """Return how a reading came about; None where its chart does not say what it measures.

    What was done (the method of the test) goes before what the chart was made for.
    """
    chart = kept.line.chart
    if chart is None or chart.analyte.quantity is None:
        return None
    ratio, ratio_by = (None, None) if method is None else _ratio(method.ratio)
    extractant = None if method is None else method.extractant
    return SoilTest(
        analyte=chart.analyte,
        quantity=chart.analyte.quantity,
        ratio=ratio or chart.analyte.ratio,
        ratio_by=ratio_by,
        extractant=extractant or chart.extractant,
    )


def _ratio(text: str | None) -> tuple[str | None, RatioBy | None]:
    """Return a method's ratio, which is the user's own text, and what it counts; else None."""
    said = _BY.search(text or "")
    by: RatioBy | None = None
    if said is not None:
        by = "volume" if said[1].casefold() == "volume" else "mass"
    try:
        return normal_ratio(_BY.sub("", text or "") or None), by
    except AnalyteError:
        return None, None


def put_test_together(
    test: SoilTest, group: Sequence[KeptReading], *, blank: float | None, medium: Medium | None
) -> TestedQuantity:
    """Make one reading of the repeats of a test."""
    valued = [kept for kept in group if kept.line.reading.value is not None]
    beyond = [kept for kept in group if _is_beyond(kept)]
    value, low, high = _span_beyond(beyond)
    outlier = None
    if valued:
        repeats = [_repeat(kept) for kept in valued]
        found = put_together(repeats)
        off = blank or 0.0
        value = found.value - off
        low = None if found.low is None else found.low - off
        high = None if found.high is None else found.high - off
        outlier = None if found.outlier is None else valued[found.outlier].id
    counted = valued or beyond
    reading = SoilReading(
        quantity=test.quantity,
        unit=test.analyte.unit,
        value=value,
        low=low,
        high=high,
        form=test.analyte.form,
        basis=test.analyte.basis,
        ratio=test.ratio,
        ratio_by=test.ratio_by,
        extractant=test.extractant,
        medium=(medium_of(test.extractant) or medium) if test.analyte.is_ph else None,
        source="colour",
        doubtful=any(kept.line.reading.status == "doubtful" for kept in (*counted, *beyond)),
    )
    return TestedQuantity(
        reading=reading,
        numbers=tuple(kept.id for kept in counted),
        outlier=outlier,
        beyond=len(beyond),
        refused=len(group) - len(valued) - len(beyond),
        blank=blank if valued else None,
    )


def _is_beyond(kept: KeptReading) -> bool:
    reading = kept.line.reading
    return reading.value is None and (reading.low is not None or reading.high is not None)


def _repeat(kept: KeptReading) -> Repeat:
    reading = kept.line.reading
    assert reading.value is not None  # only readings with a value come here
    return Repeat(value=reading.value, low=reading.low, high=reading.high)


def _span_beyond(beyond: Sequence[KeptReading]) -> tuple[None, float | None, float | None]:
    """Return the one open end that all readings beyond the chart agree on; else no end."""
    lows = [k.line.reading.low for k in beyond if k.line.reading.low is not None]
    highs = [k.line.reading.high for k in beyond if k.line.reading.high is not None]
    if lows and highs:
        return None, None, None
    return None, min(lows, default=None), max(highs, default=None)
