"""Which way the water goes, and how fast: worked examples of hydrogeology."""

import math
from collections.abc import Sequence

import pytest

from app.errors import OrderError
from app.site_map.flow import WELL_SD_DEG, arrow, from_heads, from_slope
from app.site_map.flow_words import say_seepage
from app.site_map.seepage import seepage_from
from app.site_map.site_reading import SiteReading
from app.site_map.water_table import (
    MATERIALS,
    Head,
    Material,
    darcy_velocity,
    fit_water_table,
    seepage_velocity,
    smallest_angle_deg,
    travel_days,
)

Wells = Sequence[tuple[float, float, float]]


def _heads(wells: Wells) -> list[Head]:
    return [Head(name=str(i), place=(x, y), head_m=h) for i, (x, y, h) in enumerate(wells)]


@pytest.mark.parametrize(
    ("wells", "gradient", "azimuth"),
    [
        (((0, 0, 10.00), (100, 0, 9.60), (0, 80, 9.84)), 0.0044721, 63.435),
        (((30, 40, 52.30), (210, 75, 51.15), (95, 220, 51.72)), 0.0062752, 80.976),
        # depths 10.0, 10.2, 10.1 m below level ground: 26.6 degrees south of east in a classroom
        # exercise of hydrogeology
        (((0, 0, -10.0), (100, 0, -10.2), (100, 100, -10.1)), 0.002236, 116.57),
    ],
)
def test_three_point_problem(wells: Wells, gradient: float, azimuth: float) -> None:
    """Computed by hand from h = a x + b y + c."""
    table = fit_water_table(_heads(wells))
    assert table.gradient == pytest.approx(gradient, rel=1e-4)
    assert table.azimuth_deg == pytest.approx(azimuth, abs=0.005)
    assert table.residuals_m == (0.0, 0.0, 0.0)
    x, y, h = wells[1]
    assert table.slope_east * x + table.slope_north * y + table.level_m == pytest.approx(h)


def test_more_wells_leave_residuals() -> None:
    """Four corners of a square with one well 4 cm off: residuals +-1 cm, the direction kept."""
    wells = ((0, 0, 10.00), (100, 0, 9.00), (100, 100, 9.04), (0, 100, 10.00))
    table = fit_water_table(_heads(wells))
    assert [round(r, 3) for r in table.residuals_m] == [0.01, -0.01, 0.01, -0.01]
    assert table.azimuth_deg == pytest.approx(90, abs=2)
    assert table.azimuth_sd_deg > fit_water_table(_heads(wells[:3])).azimuth_sd_deg


def test_uncertain_levels_turn_the_direction() -> None:
    """A gradient of 1 cm in 100 m with an error of 0.5 cm is known to some tens of degrees.

    For a right triangle of side s the slopes have sd sqrt(2) e / s along and across (propagation of
    errors), here 0.707e-4 across a gradient of 2e-4: 0.354 rad.
    """
    wells = ((0, 0, 10.00), (100, 0, 9.98), (0, 100, 10.00))
    table = fit_water_table(_heads(wells), error_m=0.005)
    assert table.azimuth_sd_deg == pytest.approx(math.degrees(0.707e-4 / 2e-4), rel=0.01)


@pytest.mark.parametrize(
    ("wells", "word"),
    [
        (((0, 0, 10.0), (100, 0, 9.0)), "three"),
        (((0, 0, 10.0), (50, 2, 9.5), (100, 0, 9.0)), "line"),
        (((0, 0, 10.0), (50, 50, 10.005), (100, 0, 10.01)), "differ"),
        (((0, 0, 10.0), (0, 0, 9.0), (100, 0, 9.0)), "line"),
    ],
)
def test_what_tells_no_direction_is_refused(wells: Wells, word: str) -> None:
    """Too few wells, a thin triangle, or levels within three errors of each other."""
    with pytest.raises(OrderError, match=word):
        fit_water_table(_heads(wells))


def test_smallest_angle() -> None:
    """Equilateral 60, a 3-4-5 triangle 36.87 degrees."""
    assert smallest_angle_deg([(0, 0), (1, 0), (0.5, math.sqrt(3) / 2)]) == pytest.approx(60)
    assert smallest_angle_deg([(0, 0), (4, 0), (4, 3)]) == pytest.approx(36.87, abs=0.005)


@pytest.mark.parametrize(
    ("conductivity", "gradient", "porosity", "metres_a_year"),
    [(1e-4, 0.005, 0.25, 63.12), (1e-5, 0.01, 0.20, 15.78), (1e-7, 0.01, 0.10, 0.3156)],
)
def test_seepage_velocity(
    conductivity: float, gradient: float, porosity: float, metres_a_year: float
) -> None:
    """Darcy's law, computed by hand with 365.25 days to a year."""
    speed = seepage_velocity(conductivity, gradient, porosity)
    assert speed * 86_400 * 365.25 == pytest.approx(metres_a_year, rel=1e-3)
    assert darcy_velocity(conductivity, gradient) == pytest.approx(speed * porosity)


def test_water_from_site_to_site() -> None:
    """A fall of 5 in 1000 in ground of one K and one porosity: 0.1728 m a day, by hand.

    50 m take 289.4 days. The slope of the ground stands for no water level.
    """
    ground = Material(name="made up", conductivity_m_s=(1e-4, 1e-4), porosity=(0.25, 0.25, 0.25))
    flow = from_heads(_heads(((0, 0, 10.0), (100, 0, 9.5), (0, 100, 10.0))))
    first, below, beside, above = (
        SiteReading(name=name, letter=name, place=place, value=5.0, low=None, high=None)
        for name, place in (("A", (0, 0)), ("B", (50, 10)), ("C", (10, 60)), ("D", (-40, 0)))
    )
    found = seepage_from(first, [below, beside, above], flow, ground)
    assert found is not None
    assert found.darcy_m_per_day == pytest.approx((0.0432, 0.0432), rel=1e-3)
    assert found.speed_m_per_day == pytest.approx((0.1728, 0.1728), rel=1e-3)
    (way,) = found.ways
    assert (way.start.name, way.end.name) == ("A", "B")
    assert way.days == pytest.approx((289.4, 289.4), rel=1e-3)
    assert "Water from A to B (50 m) in made up: 289 days to 289 days." in say_seepage(found)
    slope = from_slope(_heads(((0, 0, 10.0), (100, 0, 9.5), (0, 100, 10.0))))
    assert seepage_from(first, [below], slope, ground) is None


def test_travel_times_are_ranges() -> None:
    """For every material the fast time is shorter, over at least a factor of ten both ways."""
    for material in MATERIALS:
        fast, slow = travel_days(100, 0.01, material)
        assert slow / fast > 100
        least, usual, most = material.porosity
        assert 0 < least <= usual <= most < 1


def test_flow_from_each_input() -> None:
    """Down the slope or the levels, or as somebody points; never surer than the ground allows."""
    wells = _heads(((0, 0, 10.0), (100, 0, 9.0), (0, 100, 10.0)))
    assert from_heads(wells).azimuth_deg == pytest.approx(90)
    assert from_heads(wells).sd_deg >= WELL_SD_DEG
    assert from_slope(wells).how == "slope"
    assert arrow(-90).azimuth_deg == 270
    with pytest.raises(OrderError, match="heights of the ground"):
        from_slope(wells[:2])
