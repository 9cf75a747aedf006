"""CIEDE2000 against the pairs that its test data paper printed."""

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from colorcore.color_difference import delta_e_2000, delta_e_2000_of
from colorcore.color_spaces import colour_science

LINES = (
    (Path(__file__).parents[1] / "published" / "ciede2000_sharma_2005.csv").read_text().splitlines()
)
PAIRS = [
    tuple(float(cell) for cell in row)
    for row in csv.reader(line for line in LINES[1:] if not line.startswith("#"))
    if row[0].isdigit()
]
lab = st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90))


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"pair {pair[0]:.0f}")
def test_agrees_with_sharma_2005(pair: tuple[float, ...]) -> None:
    """Agrees to the last decimal that the paper prints (half a unit of 1e-4)."""
    assert delta_e_2000(pair[1:4], pair[4:7]) == pytest.approx(pair[7], abs=0.5e-4)
    assert delta_e_2000(pair[4:7], pair[1:4]) == pytest.approx(pair[7], abs=0.5e-4)


def test_all_pairs_are_there() -> None:
    """The paper prints 34 pairs."""
    assert len(PAIRS) == 34


@given(lab, lab)
@settings(deadline=None)  # the library is loaded by the first
def test_agrees_with_colour_science(one: tuple[float, ...], other: tuple[float, ...]) -> None:
    """A second library gives the same difference."""
    other_library = colour_science().delta_E(one, other, method="CIE 2000")
    assert delta_e_2000(one, other) == pytest.approx(float(other_library), abs=1e-6)


def test_arrays_fit_together() -> None:
    """One color against many gives one difference each."""
    many = [(50.0, 2.5, 0.0), (73.0, 25.0, -18.0)]
    assert delta_e_2000_of(many, (50.0, 2.5, 0.0)) == pytest.approx([0.0, 27.1492], abs=0.5e-4)
