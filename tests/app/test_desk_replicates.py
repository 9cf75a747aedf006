"""Tubes of one sample on all photos of the desk, pooled."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.desk import Desk, DeskPhoto
from app.desk_replicates import replicates_of
from app.tube_reading import PhotoLook, TubeEntry, TubeReading
from calibration.reading import Reading
from tests.calibration.sample_charts import make_chart

CHART = make_chart()


def line(photo: str, value: float | None, sample: str = "Oak Bed") -> TubeReading:
    """Make a reading of a value, or a refused one."""
    reading = Reading(
        status="refused" if value is None else "accepted",
        value=value,
        low=None if value is None else value - 0.2,
        high=None if value is None else value + 0.2,
        alternatives=(), swatch=value, swatch_label=None, confidence=0.9, probabilities=(),
        nearest_by_color=None, color_distance=None, curve_distance=None, largest_term=None,
        reasons=(), chart_id=CHART.id,
    )  # fmt: skip
    return TubeReading(
        photo=photo, tube=1, entry=TubeEntry(sample=sample), chart=CHART, reading=reading,
        measurement=None, box=None, card=None, sha256=None,
    )  # fmt: skip


def desk(*lines: TubeReading) -> Desk:
    """Lay a photo open for each line."""
    look = PhotoLook(
        width=1, height=1, card=None, tubes=(), measurements=(), lines=(), reasons=(),
        taken_at=None, camera=None, sha256=None,
    )  # fmt: skip
    photos = tuple(
        DeskPhoto(path=Path(str(number)), look=replace(look, lines=(item,)))
        for number, item in enumerate(lines)
    )
    return Desk(photos=photos)


def test_mean_and_scatter_of_three_tubes() -> None:
    """6.2, 6.4, 6.3: mean 6.3, s 0.1 by hand; another sample and a refused tube stay out."""
    lines = (
        line("a", 6.2),
        line("b", 6.4),
        line("c", 6.3),
        line("d", 4.0, "Fern"),
        line("e", None),
    )
    pooled = replicates_of(desk(*lines), "Oak Bed", CHART.id)
    assert pooled is not None
    assert pooled.together.value == pytest.approx(6.3)
    assert pooled.s == pytest.approx(0.1)
    assert (len(pooled.lines), pooled.without_value, pooled.together.outlier) == (3, 1, None)


def test_an_outlier_is_shown_and_stays_in_the_mean() -> None:
    """Grubbs' test names the fifth; the mean is that of all five."""
    values = (6.2, 6.21, 6.19, 6.2, 7.4)
    pooled = replicates_of(desk(*(line(str(v), v) for v in values)), "Oak Bed", CHART.id)
    assert pooled is not None
    assert pooled.together.outlier == 4
    assert pooled.together.value == pytest.approx(6.44)


def test_a_single_tube_is_no_series() -> None:
    """One tube, or a tube without a name, is not pooled."""
    assert replicates_of(desk(line("a", 6.2)), "Oak Bed", CHART.id) is None
    assert replicates_of(desk(line("a", 6.2), line("b", 6.2)), None, CHART.id) is None
