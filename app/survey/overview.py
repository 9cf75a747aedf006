"""A whole survey at a glance: a row a sample, a column a test, how many readings of which kind."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from app.survey.kept_reading import KeptReading
from app.survey.quality import PooledResult, Series
from app.survey.sample import Sample
from app.survey.survey import Survey
from calibration.reading import Status


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleResult:
    """What all readings of one test of a sample say together.

    Parameters
    ----------
    value, low, high : float or None
        Mean, with the blank taken off where the method says so, and its 90 % interval. Where no
        reading has a value, one end may still be known: "above 60".
    how : str or None
        How the mean was taken; None where there is no mean.
    counted, doubtful, without_number : int
        Readings in the mean, how many of these are doubtful, and readings that say no number.
    outlier : int or None
        The reading that lies too far from the others; it is in the mean.
    """

    value: float | None
    low: float | None
    high: float | None
    how: str | None
    counted: int
    doubtful: int
    without_number: int
    outlier: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One test: what is measured, in which unit, form and basis."""

    quantity: str
    unit: str | None
    form: str | None
    basis: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """A table of results.

    Parameters
    ----------
    columns : tuple of Column
        pH first, then in the order of their names.
    rows : tuple of (Sample, tuple of SampleResult or None)
        Samples of soil and water in the order of their labels, with a cell a column.
    statuses : dict
        Standing readings by status.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Sample, tuple[SampleResult | None, ...]], ...]
    statuses: dict[Status, int]


class Counting:
    """Counts readings as they come by, so that they need not be held."""

    def __init__(self) -> None:
        self.statuses: Counter[Status] = Counter()
        self.doubtful: Counter[Series] = Counter()
        self.without: Counter[Series] = Counter()
        self.beyond: dict[Series, list[tuple[float | None, float | None]]] = defaultdict(list)

    def passing(self, readings: Iterable[KeptReading]) -> Iterable[KeptReading]:
        """Count readings while they are handed on."""
        for kept in readings:
            if kept.stands:
                self._count(kept)
            yield kept

    def _count(self, kept: KeptReading) -> None:
        line, reading = kept.line, kept.line.reading
        self.statuses[reading.status] += 1
        if line.chart is None or line.entry.sample is None or line.entry.role != "sample":
            return
        analyte = line.chart.analyte
        series = Series(
            line.entry.sample,
            analyte.quantity or line.chart.name,
            analyte.unit,
            analyte.form,
            analyte.basis,
        )
        if reading.value is None:
            self.without[series] += 1
            if reading.low is not None or reading.high is not None:
                self.beyond[series].append((reading.low, reading.high))
        elif reading.status == "doubtful":
            self.doubtful[series] += 1


def overview(survey: Survey, pooled: Iterable[PooledResult], counts: Counting) -> Overview:
    """Lay results out by sample and test."""
    cells: dict[Series, SampleResult] = {
        series: _beyond(counts, series) for series in (*counts.without, *counts.beyond)
    }
    for item in pooled:
        series = Series(item.sample, item.quantity, item.unit, item.form, item.basis)
        cells[series] = _result(item, counts, series)
    samples = [sample for sample in survey.samples if sample.kind in ("soil", "water")]
    labels = {sample.label for sample in samples}
    columns = sorted(
        {series[1:] for series in cells if series.sample in labels},
        key=lambda column: (column[0] != "ph", *map(str, column)),
    )
    return Overview(
        columns=tuple(
            Column(quantity=quantity, unit=unit, form=form, basis=basis)
            for quantity, unit, form, basis in columns
        ),
        rows=tuple(
            (sample, tuple(cells.get(Series(sample.label, *column)) for column in columns))
            for sample in samples
        ),
        statuses=dict(counts.statuses),
    )


def _result(item: PooledResult, counts: Counting, series: Series) -> SampleResult:
    off = item.blank or 0.0
    return SampleResult(
        value=item.pooled.mean - off,
        low=None if item.low is None else item.low - off,
        high=None if item.high is None else item.high - off,
        how=item.pooled.how,
        counted=item.pooled.n,
        doubtful=counts.doubtful[series],
        without_number=counts.without[series],
        outlier=item.outlier,
    )


def _beyond(counts: Counting, series: Series) -> SampleResult:
    """Return the one open end that all readings beyond the chart agree on; else no number."""
    lows = [low for low, _ in counts.beyond[series] if low is not None]
    highs = [high for _, high in counts.beyond[series] if high is not None]
    both = bool(lows and highs)
    return SampleResult(
        value=None,
        low=None if both else min(lows, default=None),
        high=None if both else max(highs, default=None),
        how=None,
        counted=0,
        doubtful=0,
        without_number=counts.without[series],
        outlier=None,
    )
