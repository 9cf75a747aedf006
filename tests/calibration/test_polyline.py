"""From a color to a value along the swatches."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.polyline import polyline_value
from colorcore.color_spaces import Lab

VALUES = (6.0, 7.0)
LABS = (Lab(60, 10, 40), Lab(50, -20, 20))


@pytest.mark.parametrize(
    ("lab", "value", "distance"), [((55, -5, 30), 6.500, 0.0), ((56, -3, 33), 6.407, 1.389)]
)
def test_the_worked_example(lab: tuple[float, float, float], value: float, distance: float) -> None:
    """Worked by hand: t = 570/1400 = 0.40714 for the second color."""
    found = polyline_value(Lab(*lab), VALUES, LABS)
    assert found.value == pytest.approx(value, abs=5e-4)
    assert found.distance == pytest.approx(distance, abs=5e-4)
    assert found.beyond is None


@pytest.mark.parametrize(
    ("lab", "value", "beyond"), [((70, 40, 60), 6.0, "below"), ((40, -50, 0), 7.0, "above")]
)
def test_past_an_end_the_value_stays_there_and_says_so(
    lab: tuple[float, float, float], value: float, beyond: str
) -> None:
    """The end swatch clamps."""
    found = polyline_value(Lab(*lab), VALUES, LABS)
    assert found.value == value
    assert found.beyond == beyond


def test_two_swatches_of_one_color_make_no_line_but_a_point() -> None:
    """A piece without length is no division by zero."""
    found = polyline_value(Lab(1, 2, 3), VALUES, (LABS[0], LABS[0]))
    assert found.value == 6.0


def test_one_swatch_is_no_polyline() -> None:
    """A programmer's mistake."""
    with pytest.raises(ValueError, match="two swatches"):
        polyline_value(LABS[0], (6.0,), LABS[:1])


colors = st.tuples(st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80)).map(
    lambda lab: Lab(*lab)
)


@given(color=colors, labs=st.lists(colors, min_size=2, max_size=7))
def test_no_point_of_the_polyline_is_nearer(color: Lab, labs: list[Lab]) -> None:
    """The value lies within the chart, and no sampled point of any piece beats the distance."""
    values = [float(i) for i in range(len(labs))]
    found = polyline_value(color, values, labs)
    assert 0 <= found.value <= values[-1]
    for a, b in pairwise(labs):
        for t in (0, 0.25, 0.5, 0.75, 1):
            point = [x + t * (y - x) for x, y in zip(a, b, strict=True)]
            apart = sum((m - p) ** 2 for m, p in zip(color, point, strict=True)) ** 0.5
            assert found.distance <= apart + 1e-9
