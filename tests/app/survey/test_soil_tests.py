"""What is known of how a reading came about, from chart and method."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.survey.kept_reading import KeptReading
from app.survey.method import Method
from app.survey.soil_tests import put_test_together, soil_test_of
from calibration.indicator import Analyte
from tests.app.sample_surveys import CHART, make_line, write_photo

NITRATE = replace(
    CHART,
    analyte=Analyte(quantity="nitrogen", form="NO3-N", basis="extract", ratio="1:5", unit="mg/L"),
)


def kept(folder: Path, value: float = 2.0) -> KeptReading:
    """Return a reading of nitrate."""
    return KeptReading(
        id=1,
        kept_at=datetime(2026, 5, 1, tzinfo=UTC),
        person="P1",
        software_version="0",
        test=None,
        line=make_line(write_photo(folder), value=value, chart=NITRATE),
        known=(),
        card_reflectance=None,
        corrects=None,
        correction=None,
        withdrawn=False,
        corrected_by=None,
    )


@pytest.mark.parametrize(
    ("said", "ratio", "by"),
    [
        ("1:10 by mass", "1:10", "mass"),
        ("1:10 By weight ", "1:10", "mass"),
        ("1 : 2.5 by volume", "1:2.5", "volume"),
        ("1:10", "1:10", None),
        (None, "1:5", None),
        ("a spoon", "1:5", None),
        ("a spoon by mass", "1:5", None),
    ],
)
def test_the_method_says_ratio_and_how_it_is_counted(
    tmp_path: Path, said: str | None, ratio: str, by: str | None
) -> None:
    """It goes before the chart's; what is no ratio counts as not said."""
    reading = kept(tmp_path)
    test = soil_test_of(reading, Method(name="shake", ratio=said))
    assert test is not None
    assert (test.ratio, test.ratio_by) == (ratio, by)
    found = put_test_together(test, [reading], blank=0.5, medium="water").reading
    assert (found.ratio, found.ratio_by, found.value) == (ratio, by, 1.5)
    assert (found.medium, found.source) == (None, "colour")  # a medium is for pH alone
