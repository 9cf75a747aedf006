"""Readings and surveys made up for tests."""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from app.survey.sample import KnownFrom, KnownValue
from app.tube_reading import TubeEntry, TubeReading
from calibration.chart import Chart
from calibration.reading import Alternative, Reading
from colorcore.geometry import Box
from colorcore.reasons import Reason
from tests.calibration.sample_charts import make_chart, make_measurement

NOW = datetime(2026, 5, 1, 9, 30, tzinfo=timezone(timedelta(hours=2)))
LATER = datetime(2026, 5, 2, 8, 0, tzinfo=UTC)
CHART = make_chart()
DOUBT = Reason(code="blurred", text="Blurred.", what_to_do="Hold still.", weight="doubtful")


def write_photo(folder: Path, name: str = "plot-7.jpg", content: bytes = b"a photo") -> Path:
    """Write something that stands for a photo: the survey keeps bytes and never decodes them."""
    path = folder / name
    path.write_bytes(content)
    return path


def known_ph(
    sample: str, value: float, source: KnownFrom = "electrode", *, uncertainty: float | None = None
) -> KnownValue:
    """Say what the pH of a sample is known to be."""
    return KnownValue(
        sample=sample,
        quantity="ph",
        unit="pH",
        value=value,
        standard_uncertainty=uncertainty,
        source=source,
        noted_at=NOW,
        noted_by="P1",
    )


def make_reading(value: float | None = 6.2, *, status: str = "accepted") -> Reading:
    """Make a reading of one value; None is a refused one."""
    if value is None:
        status = "refused"
    return Reading(
        status=status,  # type: ignore[arg-type]
        value=value,
        low=None if value is None else value - 0.2,
        high=None if value is None else value + 0.25,
        alternatives=(Alternative(value=6.1, low=6.0, high=6.2, probability=0.7),)
        if status == "doubtful"
        else (),
        swatch=None if value is None else float(round(value)),
        swatch_label=None,
        confidence=None if value is None else 0.8,
        probabilities=() if value is None else (0.1, 0.8, 0.1),
        nearest_by_color=6.0,
        color_distance=3.25,
        curve_distance=1 / 3,
        largest_term=None if value is None else "light: 60 %",
        reasons=() if status == "accepted" else (DOUBT,),
        chart_id=CHART.id,
    )


def make_line(
    photo: Path,
    *,
    value: float | None = 6.2,
    tube: int | None = 1,
    sample: str | None = "A1",
    replicate: str | None = None,
    role: str = "sample",
    status: str = "accepted",
    chart: Chart = CHART,
) -> TubeReading:
    """Make one line of an answer about a photo that is there."""
    sha256 = hashlib.sha256(photo.read_bytes()).hexdigest()
    return TubeReading(
        photo=str(photo),
        tube=tube,
        entry=TubeEntry(sample=sample, replicate=replicate, chart=None, role=role),
        chart=chart,
        reading=replace(make_reading(value, status=status), chart_id=chart.id),
        measurement=replace(make_measurement((60.0, 10.0, 40.0 + (value or 0))), sha256=sha256),
        box=Box(10.5, 20.0, 30.0, 80.0),
        card=Box(100.0, 20.0, 60.0, 90.0),
        sha256=sha256,
    )


def make_lines(photo: Path, values: Sequence[float | None]) -> tuple[TubeReading, ...]:
    """Make one line a value, tubes from the left."""
    return tuple(make_line(photo, value=v, tube=i) for i, v in enumerate(values, start=1))
