"""Quality control of a whole survey: replicates, check standards, people, other instruments."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from app.survey.agreement import Agreement, Precision, bland_altman, precision
from app.survey.control_chart import (
    ControlLimits,
    Drift,
    Signal,
    control_limits,
    drift,
    signals,
)
from app.survey.kept_reading import KeptReading
from app.survey.repeats import Repeat, half_width, put_together
from app.survey.sample import KnownFrom, Sample, SampleKind
from app.survey.statistics import Pooled, grubbs, mean_kind, pool
from app.survey.survey import Survey

BASELINE = 20
"""Results of a check standard that its limits are made of: the first ones (common practice)."""

Key = tuple[str, str, str | None]
"""Sample, quantity and unit: as far as a known value from elsewhere says what it is of."""


class Series(NamedTuple):
    """Results that are repeats of each other: P and P2O5 of one sample are not."""

    sample: str
    quantity: str
    unit: str | None
    form: str | None
    basis: str | None

    @property
    def key(self) -> Key:
        """What a known value must say to be of this series."""
        return self[:3]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What counts of a kept reading when results are put together.

    Parameters
    ----------
    reading : int
        Its number in the survey.
    sample, quantity : str
        What was tested for what.
    unit : str or None
        Unit of the value.
    value : float
        The value.
    low, high : float or None
        Its own 90 % interval; None where an end is open.
    person, chart_id : str
        Who kept it, and the chart.
    kept_at : datetime
        When it was kept.
    form, basis : str or None
        As what it is given ("P2O5"), and of what ("extract", "soil").
    """

    reading: int
    sample: str
    quantity: str
    unit: str | None
    value: float
    low: float | None
    high: float | None
    person: str
    chart_id: str
    kept_at: datetime
    form: str | None = None
    basis: str | None = None

    @property
    def series(self) -> Series:
        """What it is a repeat of."""
        return Series(self.sample, self.quantity, self.unit, self.form, self.basis)

    @property
    def half_width(self) -> float | None:
        """Half its own 90 % interval; None where one end is open."""
        return None if self.low is None or self.high is None else (self.high - self.low) / 2


def result_of(kept: KeptReading) -> Result | None:
    """Take what counts; None for a reading without value or sample, or that is no sample.

    Withdrawn and replaced readings do not count. Where a chart does not say its quantity, its name
    stands for it, so that two unknown quantities are never averaged.
    """
    line = kept.line
    if not kept.stands or line.chart is None or line.entry.role != "sample":
        return None
    analyte, reading = line.chart.analyte, line.reading
    if line.entry.sample is None or reading.value is None:
        return None
    return Result(
        reading=kept.id,
        sample=line.entry.sample,
        quantity=analyte.quantity or line.chart.name,
        unit=analyte.unit,
        value=reading.value,
        low=reading.low,
        high=reading.high,
        person=kept.person,
        chart_id=reading.chart_id,
        kept_at=kept.kept_at,
        form=analyte.form,
        basis=analyte.basis,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledResult:
    """All results of one sample for one quantity.

    Parameters
    ----------
    sample, quantity, unit, form, basis : str or None
        What it is of.
    pooled : Pooled
        The results as one, outliers included.
    half_width : float or None
        Mean of half the 90 % intervals of the single readings: it holds what the replicates share.
    low, high : float or None
        90 % interval of the mean: the scatter, and what the replicates share.
    outlier : int or None
        The reading that Grubbs' test finds too far from the others (5 %).
    blank : float or None
        Mean of the blanks of the same chart and day, where the method takes it off and there is
        one.
    less_blank : float or None
        The mean with the blank taken off.
    """

    sample: str
    quantity: str
    unit: str | None
    form: str | None
    basis: str | None
    pooled: Pooled
    half_width: float | None
    low: float | None
    high: float | None
    outlier: int | None
    blank: float | None
    less_blank: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """The control chart of one check standard.

    Parameters
    ----------
    sample, quantity, unit : str
        What it is of.
    results : tuple of Result
        In the order of keeping.
    certified : float or None
        What it should be.
    limits : ControlLimits or None
        None where there are too few results.
    signals : tuple of Signal
        Results that break a rule.
    drift : Drift or None
        Whether results move with time.
    """

    sample: str
    quantity: str
    unit: str | None
    results: tuple[Result, ...]
    certified: float | None
    limits: ControlLimits | None
    signals: tuple[Signal, ...]
    drift: Drift | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One sample measured by several people."""

    sample: str
    quantity: str
    unit: str | None
    precision: Precision


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All samples that were also measured by an electrode or a laboratory."""

    quantity: str
    unit: str | None
    source: KnownFrom
    agreement: Agreement


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """The quality control of a survey, each part in the order of names."""

    pooled: tuple[PooledResult, ...]
    controls: tuple[Control, ...]
    spreads: tuple[Spread, ...]
    comparisons: tuple[Comparison, ...]


def quality_of(survey: Survey, results: Iterable[Result]) -> Quality:
    """Put the results of a survey together.

    Parameters
    ----------
    survey : Survey
        Its samples, methods, tests and known values.
    results : iterable of Result
        In the order of keeping.
    """
    groups: dict[Series, list[Result]] = defaultdict(list)
    for result in results:
        groups[result.series].append(result)
    ordered = sorted(groups.items(), key=lambda item: tuple(str(part) for part in item[0]))
    samples = {sample.label: sample for sample in survey.samples}
    pooled = _pooled(survey, samples, ordered)
    return Quality(
        pooled=pooled,
        controls=tuple(
            _control(survey, series, group)
            for series, group in ordered
            if _kind(samples, series) == "check standard"
        ),
        spreads=_spreads(ordered),
        comparisons=_comparisons(survey, pooled),
    )


def _pooled(
    survey: Survey, samples: Mapping[str, Sample], ordered: Sequence[tuple[Series, list[Result]]]
) -> tuple[PooledResult, ...]:
    subtracting = {method.name for method in survey.methods if method.subtract_blank}
    less = {(test.sample, test.quantity) for test in survey.tests if test.method in subtracting}
    blanks = [
        result for series, group in ordered if _kind(samples, series) == "blank" for result in group
    ]
    pooled = []
    for series, group in ordered:
        sample, quantity, unit, form, basis = series
        values = [result.value for result in group]
        together = pool(values, how=mean_kind(quantity, _kind(samples, series)))
        widths = [result.half_width for result in group if result.half_width is not None]
        own = sum(widths) / len(widths) if widths else None
        low, high = _interval(group, together, own)
        test = grubbs(values)
        blank = _blank_for(group, blanks) if (sample, quantity) in less and unit != "pH" else None
        pooled.append(
            PooledResult(
                sample=sample,
                quantity=quantity,
                unit=unit,
                form=form,
                basis=basis,
                pooled=together,
                half_width=own,
                low=low,
                high=high,
                outlier=group[test.index].reading if test and test.is_outlier else None,
                blank=blank,
                less_blank=None if blank is None else together.mean - blank,
            )
        )
    return tuple(pooled)


def _kind(samples: Mapping[str, Sample], series: Series) -> SampleKind | None:
    return samples[series.sample].kind if series.sample in samples else None


def _interval(
    group: Sequence[Result], pooled: Pooled, own: float | None
) -> tuple[float | None, float | None]:
    """90 % interval of a mean; about the mean of the ion's activity it is taken as even."""
    if pooled.how == "arithmetic":
        together = put_together([Repeat(value=r.value, low=r.low, high=r.high) for r in group])
        return together.low, together.high
    half = half_width(own, pooled)
    return (None, None) if half is None else (pooled.mean - half, pooled.mean + half)


def _blank_for(group: Sequence[Result], blanks: Sequence[Result]) -> float | None:
    """Mean of the blanks read on the same chart on the same day as any of the results."""
    batches = {(result.chart_id, result.kept_at.date()) for result in group}
    values = [b.value for b in blanks if (b.chart_id, b.kept_at.date()) in batches]
    return pool(values).mean if values else None


def _control(survey: Survey, series: Series, group: Sequence[Result]) -> Control:
    certified = next(
        (
            known.value
            for known in survey.known_values
            if (known.sample, known.quantity, known.unit) == series.key
            and known.source == "certificate"
        ),
        None,
    )
    values = [result.value for result in group]
    limits = control_limits(values[:BASELINE], center=certified)
    start = group[0].kept_at
    days = [(result.kept_at - start).total_seconds() / 86400 for result in group]
    return Control(
        sample=series.sample,
        quantity=series.quantity,
        unit=series.unit,
        results=tuple(group),
        certified=certified,
        limits=limits,
        signals=() if limits is None else signals(values, limits),
        drift=drift(days, values),
    )


def _spreads(ordered: Sequence[tuple[Series, list[Result]]]) -> tuple[Spread, ...]:
    spreads = []
    for (sample, quantity, unit, *_), group in ordered:
        people: dict[str, list[float]] = defaultdict(list)
        for result in group:
            people[result.person].append(result.value)
        found = precision(people)
        if found is not None:
            spreads.append(Spread(sample=sample, quantity=quantity, unit=unit, precision=found))
    return tuple(spreads)


def _comparisons(survey: Survey, pooled: Sequence[PooledResult]) -> tuple[Comparison, ...]:
    means = {(p.sample, p.quantity, p.unit): p.pooled.mean for p in pooled}
    pairs: dict[tuple[str, str | None, KnownFrom], list[tuple[float, float]]] = defaultdict(list)
    for known in survey.known_values:
        key = known.sample, known.quantity, known.unit
        if known.source != "certificate" and key in means:
            pairs[known.quantity, known.unit, known.source].append((means[key], known.value))
    comparisons = []
    for (quantity, unit, source), both in sorted(pairs.items(), key=str):
        agreement = bland_altman(both)
        if agreement is not None:
            comparisons.append(
                Comparison(quantity=quantity, unit=unit, source=source, agreement=agreement)
            )
    return tuple(comparisons)
