"""Values between sites: worked examples, kriging against printed results, and where nothing is."""

import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.site_map.acidity import Scale, mean_reading
from app.site_map.grid import Grid, area_of, grid_around, hull_of, inside_hull, outlines
from app.site_map.interpolation import (
    FEWEST_TO_KRIGE,
    interpolate,
    inverse_distance,
    krige,
    why_no_surface,
)

CORNERS = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]])
VALUES = np.array([5.0, 6.0, 7.0])
QUERY = np.array([[2.0, 3.0]])
WATER, SOIL = Scale(is_ph=True, kind="water"), Scale(is_ph=True, kind="soil")


@pytest.mark.parametrize(("power", "value"), [(1, 5.73674), (2, 5.46977), (3, 5.26584)])
def test_inverse_distance_worked_example(power: float, value: float) -> None:
    """Shepard 1968, computed by hand from distances 3.60555, 8.54400 and 7.28011."""
    found = inverse_distance(CORNERS, VALUES, QUERY, power=power)
    assert found[0] == pytest.approx(value, abs=0.5e-5)


def test_inverse_distance_of_activities_worked_example() -> None:
    """The same with 10^-pH, power 2: computed by hand."""
    found = WATER.from_drawn(inverse_distance(CORNERS, WATER.to_drawn(VALUES), QUERY))
    assert found[0] == pytest.approx(5.14461, abs=0.5e-5)


@given(
    st.lists(
        st.tuples(st.floats(-50, 50), st.floats(-50, 50), st.floats(3, 9)), min_size=1, max_size=8
    )
)
def test_inverse_distance_stays_within_its_points(rows: list[tuple[float, float, float]]) -> None:
    """It is a weighted mean, and at a point it is that point's value."""
    points, values = np.array(rows)[:, :2], np.array(rows)[:, 2]
    found = inverse_distance(points, values, np.array([[0.3, 0.7], rows[0][:2]]))
    assert values.min() - 1e-9 <= found[0] <= values.max() + 1e-9
    assert found[1] in values


def test_kriging_worked_example() -> None:
    """Spherical variogram, nugget 0, sill 1, range 20: the system solved by hand (NumPy)."""
    found = krige(CORNERS, VALUES, QUERY, parameters=[1.0, 20.0, 0.0])
    assert found is not None
    assert found[0][0] == pytest.approx(5.67722, abs=0.5e-5)
    assert found[1][0] ** 2 == pytest.approx(0.365720, abs=0.5e-6)


def test_kriging_against_kitanidis() -> None:
    """Example 3.2 of Kitanidis, Introduction to Geostatistics, as printed in PyKrige's own tests.

    Two points, linear variogram with slope 0.006 and nugget 0.1: 1.6364, variance 0.4201.
    """
    points, values = np.array([[9.7, 47.6], [43.8, 24.6]]), np.array([1.22, 2.822])
    found = krige(points, values, np.array([[18.8, 67.9]]), model="linear", parameters=[0.006, 0.1])
    assert found is not None
    assert found[0][0] == pytest.approx(1.6364, abs=0.5e-4)
    assert found[1][0] ** 2 == pytest.approx(0.4201, abs=0.5e-4)


def _field(count: int) -> tuple[list[tuple[float, float]], list[float]]:
    generator = np.random.default_rng(3)
    points = [(float(x), float(y)) for x, y in generator.uniform(0, 100, (count, 2))]
    return points, [6 + x / 100 - y / 200 for x, y in points]


def test_kriging_only_where_there_are_enough_points() -> None:
    """Below that inverse distances, and few of them are called a sketch."""
    grid = Grid(west=0, south=0, east=100, north=100, columns=10, rows=10)
    many = interpolate(*_field(FEWEST_TO_KRIGE), grid, SOIL)
    some = interpolate(*_field(FEWEST_TO_KRIGE - 1), grid, SOIL)
    few = interpolate(*_field(5), grid, SOIL)
    assert (many.method, some.method) == ("kriging", "inverse distance")
    assert many.standard_errors is not None
    assert some.standard_errors is None
    assert few.is_sketch
    assert not some.is_sketch
    drawn = [
        (v, e) for v, e in zip(many.values, many.standard_errors, strict=True) if v is not None
    ]
    assert drawn
    assert all(e is not None and 0 <= e < 0.5 for _, e in drawn)


def test_kriging_makes_no_negative_activity() -> None:
    """A pH is drawn in every cell, also where the weights are negative."""
    points, values = _field(40)
    values[0] = 3.0
    grid = grid_around(points, margin=0, cells=400)
    found = interpolate(points, values, grid, WATER)
    assert found.method == "kriging"
    drawn = [v for v in found.values if v is not None]
    assert min(values) - 1e-6 <= min(drawn) <= max(drawn) <= max(values) + 1e-6


def test_without_the_library_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """PyKrige is optional: inverse distances take its place, with a word about it."""
    monkeypatch.setitem(sys.modules, "pykrige.ok", None)
    points, values = _field(40)
    found = interpolate(points, values, grid_around(points, margin=0, cells=100), SOIL)
    assert found.method == "inverse distance"
    assert "library is missing" in found.note


def test_nothing_is_drawn_outside_the_sites() -> None:
    """Neither outside their hull nor far from all of them."""
    points = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (100.0, 100.0)]
    grid = Grid(west=-10, south=-10, east=110, north=110, columns=60, rows=60)
    found = interpolate(points, [5.0, 6.0, 7.0, 8.0], grid, SOIL)
    shown = [
        (x, y) for (x, y), v in zip(grid.centers(), found.values, strict=True) if v is not None
    ]
    assert shown
    assert all(x > -1 and y > -1 for x, y in shown)
    assert not any(30 < x < 70 for x, _ in shown)


@pytest.mark.parametrize(
    ("points", "word"),
    [([(0, 0), (5, 5)], "2 places"), ([(0, 0), (50, 1), (100, 0)], "line")],
)
def test_why_there_is_no_surface(points: list[tuple[float, float]], word: str) -> None:
    """Too few places, or all in a line."""
    assert word in str(why_no_surface(points))
    assert why_no_surface([*points, (40, 60), (60, 50)]) is None


def test_repeats_at_one_place_count_once() -> None:
    """Two readings at a place are put together before anything is drawn."""
    points = [(0.0, 0.0), (0.0, 0.0), (10.0, 0.0), (0.0, 10.0)]
    grid = Grid(west=-1, south=-1, east=1, north=1, columns=1, rows=1)
    assert interpolate(points, [5.0, 6.0, 6.0, 7.0], grid, SOIL).values == (5.5,)


@pytest.mark.parametrize(
    ("values", "activity"), [((5.2, 5.4, 5.9), 5.41456), ((4.5, 5.5, 6.5), 4.9318)]
)
def test_means_of_water_and_soil(values: tuple[float, ...], activity: float) -> None:
    """Virginia Tech's example prints 5.50 and 5.41; the further decimals are computed."""
    assert mean_reading(values, WATER) == pytest.approx(activity, abs=0.5e-4)
    assert mean_reading(values, SOIL) == pytest.approx(5.5)


def test_outlines_go_round_holes_and_touching_corners() -> None:
    """A ring with a hole is two rings of opposite turn; cells that touch at a corner are two."""
    grid = Grid(west=0, south=0, east=3, north=3, columns=3, rows=3)
    ring = np.ones((3, 3), dtype=bool)
    ring[1, 1] = False
    assert sorted(area_of(r) for r in outlines(ring, grid)) == [-1.0, 9.0]
    corner = np.zeros((3, 3), dtype=bool)
    corner[0, 0] = corner[1, 1] = True
    assert [area_of(r) for r in outlines(corner, grid)] == [1.0, 1.0]


@given(st.integers(0, 2**20 - 1))
def test_outlines_enclose_exactly_the_cells(bits: int) -> None:
    """The areas of the rings, holes taken off, add up to the cells."""
    cells = np.array([bool(bits >> i & 1) for i in range(20)]).reshape(4, 5)
    grid = Grid(west=0, south=0, east=5, north=4, columns=5, rows=4)
    assert sum(area_of(r) for r in outlines(cells, grid)) == pytest.approx(cells.sum())


def test_hull() -> None:
    """Points inside and on the edge are in, others out."""
    hull = hull_of([(0, 0), (4, 0), (0, 4), (1, 1)])
    inside = inside_hull(hull, np.array([[1.0, 1.0], [2.0, 2.0], [3.0, 3.0]]))
    assert inside.tolist() == [True, True, False]
