"""Places in metres: from degrees on a local plane, from a picture of a plan, or as they are."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.errors import OrderError

EQUATOR_M = 6378137.0
"""Larger half-axis of WGS 84, metres (NIMA TR8350.2)."""
ECCENTRICITY_2 = 0.00669437999014
"""Square of its first eccentricity (NIMA TR8350.2)."""

Point = tuple[float, float]
"""Metres to the east (or right on a plan) and to the north (or up)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalPlane:
    """A plane that touches the earth at one place.

    x = N cos(lat0) (lon - lon0), y = M (lat - lat0), with the radii of curvature of the ellipsoid
    along the parallel (N) and the meridian (M) at the middle.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        The middle, WGS 84.
    """

    latitude_deg: float
    longitude_deg: float

    @property
    def metres_per_degree(self) -> Point:
        """Length of a degree of longitude and of latitude at the middle.

        Examples
        --------
        >>> plane = LocalPlane(latitude_deg=45, longitude_deg=0)
        >>> [round(length) for length in plane.metres_per_degree]
        [78847, 111132]
        """
        latitude = math.radians(self.latitude_deg)
        flat = 1 - ECCENTRICITY_2 * math.sin(latitude) ** 2
        across = EQUATOR_M / math.sqrt(flat) * math.cos(latitude)
        along = EQUATOR_M * (1 - ECCENTRICITY_2) / flat**1.5
        return math.radians(across), math.radians(along)

    def to_metres(self, latitude_deg: float, longitude_deg: float) -> Point:
        """Place a position on the plane; the shorter way round the earth."""
        across, along = self.metres_per_degree
        turn = (longitude_deg - self.longitude_deg + 180) % 360 - 180
        return across * turn, along * (latitude_deg - self.latitude_deg)

    def to_degrees(self, point: Point) -> tuple[float, float]:
        """Return latitude and longitude of a place on the plane, degrees."""
        across, along = self.metres_per_degree
        longitude = self.longitude_deg + point[0] / across
        return self.latitude_deg + point[1] / along, (longitude + 180) % 360 - 180

    def error_m(self, points: Sequence[Point]) -> float:
        """Bound of the error of a distance between any two of the points, metres.

        A degree of longitude shortens towards the pole by the share tan(lat) dlat, which the plane
        leaves out: at most tan(lat) dy dx / R over the span of the points. The curvature of the
        meridian itself adds less than 1 % of dlat; it is counted with dy^2 / (30 R).
        """
        if not points:
            return 0.0
        wide = max(abs(x) for x, _ in points)
        high = max(abs(y) for _, y in points)
        steep = abs(math.tan(math.radians(self.latitude_deg)))
        return 2 * (steep * high * wide + high**2 / 30 + wide**2 * high / EQUATOR_M) / EQUATOR_M


def plane_for(positions: Sequence[tuple[float, float]]) -> LocalPlane:
    """Return the plane in the middle of positions given as latitude and longitude, degrees.

    Raises
    ------
    OrderError
        If there is none, or they lie within a degree of a pole, where degrees of longitude mean
        nothing.
    """
    if not positions:
        raise OrderError("No site has a position.", what_to_do="Give sites their positions.")
    first = positions[0][1]
    turns = [(longitude - first + 180) % 360 - 180 for _, longitude in positions]
    latitude = (min(p[0] for p in positions) + max(p[0] for p in positions)) / 2
    longitude = (first + (min(turns) + max(turns)) / 2 + 180) % 360 - 180
    if abs(latitude) > 89:
        raise OrderError(
            "The sites lie at a pole, where this map cannot be drawn.",
            what_to_do="Give their places in metres on a plan of your own.",
        )
    return LocalPlane(latitude_deg=latitude, longitude_deg=longitude)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanScale:
    """How the picture of a plan lies on the ground: turned, stretched evenly and moved.

    Parameters
    ----------
    east_per_px, north_per_px : float
        Metres to the east and to the north that one pixel to the right means.
    origin : Point
        Place of the picture's upper left corner, metres.
    """

    east_per_px: float
    north_per_px: float
    origin: Point

    @property
    def metres_per_px(self) -> float:
        """Length of a pixel on the ground."""
        return math.hypot(self.east_per_px, self.north_per_px)

    def to_metres(self, right_px: float, down_px: float) -> Point:
        """Place a pixel on the ground."""
        a, b = self.east_per_px, self.north_per_px
        east, north = self.origin
        return east + a * right_px + b * down_px, north + b * right_px - a * down_px

    def to_pixels(self, point: Point) -> Point:
        """Return the pixel of a place: to the right and down from the upper left corner."""
        east, north = point[0] - self.origin[0], point[1] - self.origin[1]
        a, b = self.east_per_px, self.north_per_px
        square = a * a + b * b
        return (a * east + b * north) / square, (b * east - a * north) / square


def scale_plan(
    first_px: Point,
    second_px: Point,
    first_m: Point,
    second_m: Point | None = None,
    *,
    distance_m: float | None = None,
) -> PlanScale:
    """Scale a plan by two known points, or by the distance between two points.

    Where only the distance is known, the plan's upper edge is taken to be north.

    Parameters
    ----------
    first_px, second_px : Point
        To the right and down from the upper left corner, pixels.
    first_m : Point
        Place of the first, metres.
    second_m : Point, optional
        Place of the second, metres.
    distance_m : float, optional
        Between them, where `second_m` is not known.

    Raises
    ------
    OrderError
        If the two points are one, on the picture or on the ground.

    Examples
    --------
    >>> plan = scale_plan((100, 400), (300, 400), (0, 0), distance_m=50)
    >>> plan.to_metres(300, 200)
    (50.0, 50.0)
    """
    right, down = second_px[0] - first_px[0], second_px[1] - first_px[1]
    apart = math.hypot(right, down)
    if second_m is not None:
        east, north = second_m[0] - first_m[0], second_m[1] - first_m[1]
    else:
        stretch = (distance_m or 0.0) / apart if apart else 0.0
        east, north = right * stretch, -down * stretch
    if apart < 1 or math.hypot(east, north) <= 0:
        raise OrderError(
            "The two points that scale the plan lie on top of each other.",
            what_to_do="Mark two points far apart, and give the distance between them in metres.",
        )
    a = (east * right - north * down) / apart**2
    b = (north * right + east * down) / apart**2
    corner = (
        first_m[0] - a * first_px[0] - b * first_px[1],
        first_m[1] - b * first_px[0] + a * first_px[1],
    )
    return PlanScale(east_per_px=a, north_per_px=b, origin=corner)


def azimuth_deg(start: Point, end: Point) -> float:
    """Direction from one place to another, degrees from north, clockwise.

    Examples
    --------
    >>> azimuth_deg((0, 0), (1, 0)), azimuth_deg((0, 0), (-1, -1))
    (90.0, 225.0)
    """
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])) % 360


def compass(azimuth: float) -> str:
    """Name a direction.

    Examples
    --------
    >>> compass(63), compass(359)
    ('east-northeast', 'north')
    """
    names = (
        *("north", "north-northeast", "northeast", "east-northeast"),
        *("east", "east-southeast", "southeast", "south-southeast"),
        *("south", "south-southwest", "southwest", "west-southwest"),
        *("west", "west-northwest", "northwest", "north-northwest"),
    )
    return names[round(azimuth / 22.5) % 16]
