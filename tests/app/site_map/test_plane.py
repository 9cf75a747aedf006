"""Places in metres: checked against the ellipsoid itself and against printed lengths."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import OrderError
from app.site_map.plane import (
    ECCENTRICITY_2,
    EQUATOR_M,
    LocalPlane,
    azimuth_deg,
    plane_for,
    scale_plan,
)


def _in_space(latitude_deg: float, longitude_deg: float) -> np.ndarray:
    """Position on the ellipsoid of WGS 84 in space, metres (textbook formula)."""
    lat, lon = math.radians(latitude_deg), math.radians(longitude_deg)
    n = EQUATOR_M / math.sqrt(1 - ECCENTRICITY_2 * math.sin(lat) ** 2)
    flat = n * math.cos(lat)
    return np.array(
        [flat * math.cos(lon), flat * math.sin(lon), n * (1 - ECCENTRICITY_2) * math.sin(lat)]
    )


@pytest.mark.parametrize(
    ("latitude", "across", "along"),
    [(0, 111_320, 110_574), (45, 78_847, 111_132), (60, 55_800, 111_412)],
)
def test_a_degree_is_as_long_as_printed(latitude: float, across: float, along: float) -> None:
    """Printed in tables of the length of a degree on WGS 84, to the metre (from memory)."""
    found = LocalPlane(latitude_deg=latitude, longitude_deg=7).metres_per_degree
    assert found == pytest.approx((across, along), abs=1)


def test_a_degree_of_latitude_is_near_that_of_a_sphere() -> None:
    """A sphere of 6371 km has 111.19 km a degree; the ellipsoid strays from it by less than 1 %."""
    for latitude in range(-80, 81, 20):
        _, along = LocalPlane(latitude_deg=latitude, longitude_deg=0).metres_per_degree
        assert along == pytest.approx(111_195, rel=0.007)


@given(
    middle=st.tuples(st.floats(-75, 75), st.floats(-180, 180)),
    first=st.tuples(st.floats(-0.02, 0.02), st.floats(-0.02, 0.02)),
    second=st.tuples(st.floats(-0.02, 0.02), st.floats(-0.02, 0.02)),
)
def test_distances_are_as_right_as_the_plane_says(
    middle: tuple[float, float], first: tuple[float, float], second: tuple[float, float]
) -> None:
    """Against the straight way through space, which is shorter than the ground by 0.1 mm at 4 km.

    The plane's own bound of its error must hold.
    """
    plane = LocalPlane(latitude_deg=middle[0], longitude_deg=middle[1])
    spots = [(middle[0] + lat, middle[1] + lon) for lat, lon in (first, second)]
    points = [plane.to_metres(*spot) for spot in spots]
    true = float(np.linalg.norm(_in_space(*spots[0]) - _in_space(*spots[1])))
    assert abs(math.dist(*points) - true) <= plane.error_m(points) + 1e-3
    assert plane.error_m(points) < 0.005 * (1 + max(math.hypot(*p) for p in points))


@given(latitude=st.floats(-80, 80), longitude=st.floats(-180, 180), x=st.floats(-3e3, 3e3))
def test_there_and_back(latitude: float, longitude: float, x: float) -> None:
    """Also across the date line."""
    plane = LocalPlane(latitude_deg=latitude, longitude_deg=longitude)
    assert plane.to_metres(*plane.to_degrees((x, -x))) == pytest.approx((x, -x), abs=1e-5)


def test_sites_on_both_sides_of_the_date_line_lie_together() -> None:
    """Their middle lies between them, not on the other side of the earth."""
    plane = plane_for([(10.0, 179.99), (10.0, -179.99)])
    assert abs(plane.longitude_deg) == pytest.approx(180)
    assert plane.to_metres(10.0, 179.99)[0] == pytest.approx(-1096, abs=2)


def test_no_map_at_the_pole() -> None:
    """There degrees of longitude mean nothing."""
    with pytest.raises(OrderError):
        plane_for([(89.9, 0.0)])


def test_a_plan_is_scaled_turned_and_moved_by_two_points() -> None:
    """A picture whose right edge looks south: both known points come out where they are."""
    plan = scale_plan((10, 20), (10, 120), (500, 300), (450, 300))
    assert plan.to_metres(10, 20) == pytest.approx((500, 300))
    assert plan.to_metres(10, 120) == pytest.approx((450, 300))
    assert plan.metres_per_px == pytest.approx(0.5)
    assert plan.to_metres(110, 20) == pytest.approx((500, 250))
    assert plan.to_pixels(plan.to_metres(33, 44)) == pytest.approx((33, 44))


@pytest.mark.parametrize("distance", [0.0, None])
def test_two_points_must_be_apart(distance: float | None) -> None:
    """Neither on the picture nor on the ground may they be one."""
    with pytest.raises(OrderError):
        scale_plan((1, 1), (50, 1), (0, 0), distance_m=distance)
    with pytest.raises(OrderError):
        scale_plan((1, 1), (1, 1), (0, 0), distance_m=5.0)


def test_directions_count_from_north_clockwise() -> None:
    """East is 90, west 270."""
    assert azimuth_deg((0, 0), (-3, 0)) == 270
