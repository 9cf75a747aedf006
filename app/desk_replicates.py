"""Readings of one sample on one chart across all photos on the desk, pooled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.survey.repeats import Repeat, Together, put_together
from app.survey.statistics import pool

if TYPE_CHECKING:
    from app.desk import Desk
    from app.tube_reading import TubeReading
    from calibration.chart import Chart


@dataclass(frozen=True, slots=True, kw_only=True)
class Replicates:
    """What several tubes of one sample say together.

    Parameters
    ----------
    sample : str
        Their name.
    chart : Chart
        What they were read on.
    lines : tuple of TubeReading
        Those that have a value, in the order of the desk.
    together : Together
        Their mean with its interval, and which one lies too far off.
    s : float or None
        Standard deviation of one reading; None for a single one.
    without_value : int
        Tubes of the sample that were refused or lie off the chart's span.
    """

    sample: str
    chart: Chart
    lines: tuple[TubeReading, ...]
    together: Together
    s: float | None
    without_value: int


def replicates_of(desk: Desk, sample: str | None, chart_id: str) -> Replicates | None:
    """Pool the readings of a sample on a chart; None where fewer than two tubes have a value."""
    if not sample:
        return None
    mine = [
        line
        for photo in desk.photos
        if photo.look is not None
        for line in photo.look.lines
        if line.entry.sample == sample
        and line.entry.role == "sample"
        and line.reading.chart_id == chart_id
    ]
    lines, repeats, chart = [], [], None
    for line in mine:
        reading = line.reading
        if reading.value is not None and line.chart is not None:
            chart = line.chart
            lines.append(line)
            repeats.append(Repeat(value=reading.value, low=reading.low, high=reading.high))
    if chart is None or len(lines) < 2:
        return None
    return Replicates(
        sample=sample,
        chart=chart,
        lines=tuple(lines),
        together=put_together(repeats),
        s=pool([repeat.value for repeat in repeats]).s,
        without_value=len(mine) - len(lines),
    )
