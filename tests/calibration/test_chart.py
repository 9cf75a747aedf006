"""Charts refuse nonsense at birth; swatches average their tubes."""

from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
import pytest

from calibration.chart import SAME_PH, SCATTER_PRIOR, make_swatches
from calibration.errors import ChartError
from colorcore.color_spaces import Lab
from tests.calibration.sample_charts import COVARIANCE, make_chart, make_standard


def test_a_swatch_is_the_mean_of_its_tubes_and_the_values_rise() -> None:
    """Any order in, rising order out; the largest uncertainty of one bottle stays."""
    swatches = make_swatches(
        [
            make_standard(7.0, (50, -20, 20)),
            make_standard(6.0, (61, 11, 41), uncertainty=0.02),
            make_standard(6.0, (59, 9, 39), uncertainty=0.05),
        ]
    )
    assert [swatch.value for swatch in swatches] == [6.0, 7.0]
    assert swatches[0].lab == Lab(60, 10, 40)
    assert [swatch.n for swatch in swatches] == [2, 1]
    assert swatches[0].standard_uncertainty == 0.05
    assert swatches[1].standard_uncertainty is None


def test_one_tube_borrows_the_scatter_of_the_others() -> None:
    """(S_pool + W) / n for a single tube; S_i drawn to its own scatter where there are several."""
    rng = np.random.default_rng(5)
    standards = [
        make_standard(6.0, tuple(map(float, lab)))  # type: ignore[arg-type]
        for lab in rng.normal((60, 10, 40), (1, 2, 3), (5, 3))
    ]
    swatches = make_swatches([*standards, make_standard(7.0, (50, -20, 20))])
    own = np.cov([item.measurement.lab for item in standards], rowvar=False)
    inside = np.array(COVARIANCE)
    assert np.allclose(swatches[1].covariance, own + inside)  # all scatter comes from the five
    assert np.allclose(swatches[0].covariance, (own + inside) / 5)
    twice = [*standards, make_standard(7.0, (50, -20, 20)), make_standard(7.0, (50, -20, 20))]
    alike = make_swatches(twice)
    pooled = own * 4 / 5
    expected = (4 * own + SCATTER_PRIOR * pooled) / (4 + SCATTER_PRIOR)
    assert np.allclose(alike[0].covariance, (expected + inside) / 5)


def test_without_replicates_the_scatter_inside_the_tubes_is_all() -> None:
    """Nothing is invented."""
    for swatch in make_chart().swatches:
        assert np.allclose(swatch.covariance, COVARIANCE)


def test_one_buffer_on_two_days_is_one_swatch() -> None:
    """A buffer of pH 7.02 at 20 C and 7.016 at 21 C are the same bottle; 7.05 is not."""
    standards = [make_standard(value, (50, 0, 0)) for value in (7.016, 7.02, 7.02 + SAME_PH, 4.0)]
    merged = make_swatches(standards, same_within=SAME_PH)
    assert [round(swatch.value or 0, 3) for swatch in merged] == [4.0, 7.018, 7.04]
    assert len(make_swatches(standards)) == 4


def test_blanks_are_kept_apart() -> None:
    """A blank is no swatch, whatever its value."""
    blank = make_standard(0.0, (95, 0, 0), role="blank")
    chart = make_chart()
    with_blank = replace(chart, measurements=(*chart.measurements, blank))
    assert len(make_swatches(with_blank.measurements)) == 3
    assert with_blank.blanks == (blank,)


def test_labels_alone_make_swatches_in_the_order_given() -> None:
    """Without values there is no other order."""
    standards = [
        make_standard(None, (50, 40, 30), label="red"),
        make_standard(None, (60, 10, 40), label="amber"),
        make_standard(None, (52, 42, 32), label="red"),
    ]
    swatches = make_swatches(standards)
    assert [(swatch.label, swatch.n) for swatch in swatches] == [("red", 2), ("amber", 1)]
    chart = replace(make_chart(), swatches=swatches, measurements=tuple(standards))
    assert not chart.has_values


def test_values_beside_labels_and_two_labels_of_one_value_are_refused() -> None:
    """The user is told what to change."""
    red, six = make_standard(None, (50, 40, 30), label="red"), make_standard(6.0, (60, 10, 40))
    with pytest.raises(ChartError, match="only a label"):
        make_swatches([red, six])
    with pytest.raises(ChartError, match="two labels"):
        make_swatches([replace(six, label="a"), replace(six, label="b")])


def test_a_chart_needs_two_swatches_in_rising_order() -> None:
    """Too few, falling, doubled, or of both kinds."""
    chart = make_chart()
    one, two, three = chart.swatches
    labelled = replace(one, value=None, label="a")
    for swatches in ((), (one,), (two, one), (one, one), (one, labelled), (labelled, labelled)):
        with pytest.raises(ChartError):
            replace(chart, swatches=swatches)
    assert replace(chart, swatches=(one, three)).has_values


@pytest.mark.parametrize(
    "wrong",
    [
        {"id": "a/b"},
        {"id": "0" * 31},
        {"kind": "paper"},
        {"card_reflectance": (0.18, 0.18, 1.0)},
        {"card_reflectance": (0.18, 0.18)},
        {"card_reflectance": (float("nan"),) * 3},
        {"created_at": datetime(2026, 5, 1)},
        {"white": "D50"},
    ],
)
def test_an_impossible_chart_cannot_be_made(wrong: dict[str, Any]) -> None:
    """Programmers get a ValueError that names the field."""
    with pytest.raises(ValueError, match=next(iter(wrong))):
        replace(make_chart(), **wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"value": None},
        {"value": float("inf")},
        {"value": -1e200},  # a number, but its square is none
        {"lab": Lab(float("nan"), 0, 0)},
        {"covariance": ((1, 2, 0), (0, 1, 0), (0, 0, 1))},
        {"covariance": ((-1, 0, 0), (0, 1, 0), (0, 0, 1))},
        {"covariance": ((float("nan"), 0, 0), (0, 1, 0), (0, 0, 1))},
        {"covariance": ((1, 0), (0, 1))},
        {"n": 0},
        {"standard_uncertainty": 0.0},
        {"standard_uncertainty": float("nan")},
    ],
)
def test_an_impossible_swatch_cannot_be_made(wrong: dict[str, Any]) -> None:
    """A covariance must be one."""
    with pytest.raises(ValueError, match=r"value|lab|covariance|n must|uncertainty"):
        replace(make_chart().swatches[0], **wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"value": None},
        {"value": float("nan")},
        {"uncertainty": -0.1},
        {"role": "sample"},
        {"tube": 0},
        {"photo": "../s001.jpg"},
        {"photo": "a\\b.jpg"},
        {"photo": ".."},
        {"photo": ""},
    ],
)
def test_an_impossible_standard_cannot_be_made(wrong: dict[str, Any]) -> None:
    """A photo is a name without folder: a chart's file never points elsewhere on the disk."""
    with pytest.raises(ValueError, match=r"value|uncertainty|role|tube|photo"):
        replace(make_chart().measurements[0], **wrong)
