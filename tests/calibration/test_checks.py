"""How a chart judges itself."""

from dataclasses import replace

import pytest

from calibration.chart import make_swatches
from calibration.checks import coarse_gaps, leave_one_out, neighbors, valid_span, weakest_neighbors
from calibration.indicator import Analyte
from tests.calibration.sample_charts import make_chart, make_standard

GREYS = tuple((value, (50.0 + 4 * i, 0.0, 0.0)) for i, value in enumerate((4.0, 5.0, 6.0, 7.1)))


def test_leaving_out_a_swatch_of_a_straight_chart_finds_it_again() -> None:
    """On a straight, even line the error is zero; only inner swatches can be tested."""
    chart = make_chart(GREYS[:3])
    found = leave_one_out(chart)
    assert [item.value for item in found.swatches] == [5.0]
    assert found.swatches[0].error == pytest.approx(0)
    assert found.root_mean_square == pytest.approx(0)


def test_leaving_out_a_swatch_shows_a_wrong_value() -> None:
    """A tube labelled 5.4 with the color of 5.0 is read as 5.0."""
    points = (GREYS[0], (5.4, GREYS[1][1]), GREYS[2])
    found = leave_one_out(make_chart(points))
    assert found.swatches[0].error == pytest.approx(-0.4)
    assert found.swatches[0].distance == pytest.approx(0)
    assert found.root_mean_square == pytest.approx(0.4)


def test_two_swatches_cannot_be_tested_this_way() -> None:
    """Unknown stays unknown."""
    found = leave_one_out(make_chart(GREYS[:2]))
    assert found.swatches == ()
    assert found.root_mean_square is None


def test_the_weakest_neighbors_look_most_alike() -> None:
    """The pair with the least CIEDE2000."""
    chart = make_chart(((4, (50, 0, 0)), (5, (60, 0, 0)), (6, (62, 0, 0)), (7, (75, 0, 0))))
    weakest = weakest_neighbors(chart)
    assert (weakest.first.value, weakest.second.value) == (5, 6)
    assert weakest.color_difference == min(pair.color_difference for pair in neighbors(chart))


def test_more_than_one_ph_is_coarse() -> None:
    """With a tenth for the shop buffers' own drift; how gaudy the step is does not matter."""
    assert coarse_gaps(make_chart(GREYS)) == ()
    wide = coarse_gaps(make_chart((*GREYS[:3], (7.2, GREYS[3][1]))))
    assert [(gap.low, gap.high) for gap in wide] == [(6.0, 7.2)]
    assert coarse_gaps(make_chart((GREYS[0], (4.5, (50, 60, 0))))) == ()


def test_more_than_fifteen_in_color_is_coarse_for_a_nutrient() -> None:
    """Its numbers have no size of their own: 53 mg/kg are no 53 pH."""
    points = ((0.0, (50.0, 0.0, 0.0)), (5.0, (54.0, 0.0, 0.0)), (58.0, (54.0, 40.0, 0.0)))
    phosphorus = Analyte(quantity="phosphorus", unit="mg/kg")
    chart = replace(make_chart(points), analyte=phosphorus)
    (gap,) = coarse_gaps(chart)
    assert (gap.low, gap.high) == (5.0, 58.0)
    assert gap.color_difference > 15
    paler = replace(make_chart((points[0], (58.0, points[1][1]))), analyte=phosphorus)
    assert coarse_gaps(paler) == ()


def test_a_chart_of_labels_has_no_span_and_no_gap() -> None:
    """There is nothing to be between."""
    standards = [
        make_standard(None, (50, 40, 30), label="red"),
        make_standard(None, (60, -40, 40), label="green"),
    ]
    chart = replace(make_chart(), swatches=make_swatches(standards))
    assert valid_span(chart) is None
    assert coarse_gaps(chart) == ()
    assert leave_one_out(chart).root_mean_square is None
    assert weakest_neighbors(chart).color_difference > 15
    assert valid_span(make_chart()) == (5.0, 7.0)
