"""The table of results of a whole survey."""

from dataclasses import replace

from app.survey.overview import Column, Counting, overview
from app.survey.quality import quality_of, result_of
from tests.app.sample_surveys import make_reading
from tests.app.survey.test_quality import SURVEY, kept


def test_a_row_a_sample_and_a_column_a_test() -> None:
    """Means with what is doubtful; readings without a number are counted, not averaged."""
    line = kept().line
    readings = [
        kept(id=1),
        kept(id=2, line=replace(line, reading=make_reading(6.4, status="doubtful"))),
        kept(id=3, line=replace(line, reading=make_reading(None))),
        kept(id=4, corrected_by=9),
    ]
    counts = Counting()
    results = [r for r in map(result_of, counts.passing(readings)) if r is not None]
    found = overview(SURVEY, quality_of(SURVEY, results).pooled, counts)
    assert found.columns == (Column(quantity="ph", unit="pH", form=None, basis=None),)
    assert [sample.label for sample, _ in found.rows] == ["A1", "W1"]  # no standard, no blank
    (cell,), (nothing,) = (cells for _, cells in found.rows)
    assert nothing is None
    assert cell is not None
    assert (cell.counted, cell.doubtful, cell.without_number) == (2, 1, 1)
    assert cell.value == 6.300000000000001
    assert found.statuses == {"accepted": 1, "doubtful": 1, "refused": 1}


def test_beyond_the_chart_one_end_is_still_known() -> None:
    """The least that all agree on; both ends together say nothing."""
    line = kept().line
    above = replace(make_reading(None), status="doubtful", low=60.0)
    more = replace(above, low=80.0)
    below = replace(make_reading(None), status="doubtful", high=4.0)
    for readings, ends in (((above, more), (60.0, None)), ((above, below), (None, None))):
        counts = Counting()
        list(counts.passing(kept(line=replace(line, reading=r)) for r in readings))
        (_, (cell,)), *_ = overview(SURVEY, (), counts).rows
        assert cell is not None
        assert (cell.low, cell.high, cell.value, cell.without_number) == (*ends, None, 2)
