"""Which way groundwater goes, and how fast, from heads in wells."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.errors import OrderError
from app.site_map.plane import Point

THIN_DEG = 15.0
"""Smallest angle of a triangle of wells that still tells a direction (common practice)."""
TIMES_ERROR = 3.0
"""Heads must differ by so many measuring errors (common practice)."""
HEAD_ERROR_M = 0.005
"""Standard error of a head read with a tape, metres, where none is given (common practice)."""
SECONDS_PER_DAY = 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """How high the water stands at a place.

    Parameters
    ----------
    name : str
        The well.
    place : Point
        Metres.
    head_m : float
        Of the water level above one level that is the same for all wells, metres.
    """

    name: str
    place: Point
    head_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterTable:
    """A plane through heads: h = a x + b y + c.

    Parameters
    ----------
    slope_east, slope_north : float
        a and b, metres per metre.
    level_m : float
        c, at the origin.
    residuals_m : tuple of float
        Measured minus plane, in the order of the heads; zeros for three of them.
    azimuth_sd_deg : float
        Standard uncertainty of the direction.
    """

    slope_east: float
    slope_north: float
    level_m: float
    residuals_m: tuple[float, ...]
    azimuth_sd_deg: float

    @property
    def gradient(self) -> float:
        """Steepest slope, metres per metre."""
        return math.hypot(self.slope_east, self.slope_north)

    @property
    def azimuth_deg(self) -> float:
        """Direction that the water goes to, degrees from north, clockwise."""
        return math.degrees(math.atan2(-self.slope_east, -self.slope_north)) % 360


def smallest_angle_deg(places: Sequence[Point]) -> float:
    """Smallest angle of a triangle; 0 where two corners are one."""
    sides = sorted(math.dist(places[i], places[j]) for i, j in ((0, 1), (1, 2), (2, 0)))
    if sides[0] == 0:
        return 0.0
    short, middle, long = sides
    cosine = (middle**2 + long**2 - short**2) / (2 * middle * long)
    return math.degrees(math.acos(min(1.0, max(-1.0, cosine))))


def fit_water_table(
    heads: Sequence[Head], *, error_m: float = HEAD_ERROR_M, what: str = "water levels"
) -> WaterTable:
    """Lay a plane through heads: exactly through three, by least squares through more.

    Parameters
    ----------
    heads : sequence of Head
        At least three.
    error_m : float
        Standard error of one head, metres.
    what : str
        What the heads are, for messages.

    Raises
    ------
    OrderError
        If there are fewer than three, they lie almost in a line (no triangle of them has a
        smallest angle of 15 degrees), or differ by less than three times their error.

    Notes
    -----
    The direction's uncertainty follows from the covariance s^2 (A' A)^-1 of the slopes; s is the
    error of a head, or the scatter round the plane where that is larger.

    Examples
    --------
    >>> wells = ((0, 0, 10.00), (100, 0, 9.60), (0, 80, 9.84))
    >>> heads = [Head(name=str(h), place=(x, y), head_m=h) for x, y, h in wells]
    >>> table = fit_water_table(heads)
    >>> round(table.gradient, 7), round(table.azimuth_deg, 3)
    (0.0044721, 63.435)
    """
    count = len(heads)
    if count < 3:
        raise OrderError(
            f"A direction needs {what} at three places or more; there are {count}.",
            what_to_do="Measure more of them, give the direction in degrees, or call it unknown.",
        )
    places = [head.place for head in heads]
    if _widest_triangle_deg(places) < THIN_DEG:
        raise OrderError(
            f"The places lie almost in a line: their {what} tell no direction across it.",
            what_to_do="Add a place to one side, give the direction in degrees, or call it "
            "unknown.",
        )
    levels = np.array([head.head_m for head in heads])
    if float(np.ptp(levels)) < TIMES_ERROR * error_m:
        raise OrderError(
            f"The {what} differ by {100 * float(np.ptp(levels)):.1f} cm, which is within "
            f"{TIMES_ERROR:g} times their measuring error of {100 * error_m:.1f} cm.",
            what_to_do="Measure places farther apart, or call the direction unknown.",
        )
    rows = np.column_stack([np.asarray(places, float), np.ones(count)])
    middle = rows[:, :2].mean(axis=0)
    centered = rows - np.array([*middle, 0.0])
    (a, b, level), *_ = np.linalg.lstsq(centered, levels, rcond=None)
    left = levels - centered @ np.array([a, b, level])
    scatter = math.sqrt(float(left @ left) / (count - 3)) if count > 3 else 0.0
    size = max(error_m, scatter)
    covariance = size**2 * np.linalg.inv(centered.T @ centered)[:2, :2]
    across = np.array([-b, a]) / (a * a + b * b) if a or b else np.array([math.pi, 0.0])
    turn = math.degrees(math.sqrt(float(across @ covariance @ across)))
    return WaterTable(
        slope_east=float(a),
        slope_north=float(b),
        level_m=float(level - a * middle[0] - b * middle[1]),
        residuals_m=tuple(float(r) for r in left) if count > 3 else (0.0, 0.0, 0.0),
        azimuth_sd_deg=min(turn, 180.0),
    )


def _widest_triangle_deg(places: Sequence[Point]) -> float:
    """Return the largest smallest angle of all triangles (of at most a dozen of the places)."""
    some = places[:: max(1, len(places) // 12)]
    return max(
        smallest_angle_deg((some[i], some[j], some[k]))
        for i in range(len(some))
        for j in range(i)
        for k in range(j)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What the water flows through.

    Parameters
    ----------
    name : str
        Plain name.
    conductivity_m_s : tuple of float
        Smallest and largest hydraulic conductivity, m/s.
    porosity : tuple of float
        Smallest, usual and largest share of the volume that the water flows through.
    """

    name: str
    conductivity_m_s: tuple[float, float]
    porosity: tuple[float, float, float]


MATERIALS = (
    Material(name="gravel", conductivity_m_s=(1e-3, 1.0), porosity=(0.12, 0.20, 0.35)),
    Material(name="clean sand", conductivity_m_s=(1e-6, 1e-2), porosity=(0.10, 0.25, 0.35)),
    Material(name="silty sand", conductivity_m_s=(7e-8, 9e-4), porosity=(0.05, 0.15, 0.28)),
    Material(name="silt", conductivity_m_s=(1e-9, 1e-6), porosity=(0.03, 0.10, 0.19)),
    Material(name="sandy clay", conductivity_m_s=(1e-9, 1e-6), porosity=(0.03, 0.07, 0.12)),
    Material(name="glacial till", conductivity_m_s=(1e-12, 2e-6), porosity=(0.06, 0.06, 0.16)),
    Material(name="clay", conductivity_m_s=(1e-12, 2e-9), porosity=(0.01, 0.03, 0.05)),
)
"""Conductivity: of gravel, sands and silt from a San Joaquin County environmental record (document
455058, Table 2); of the others after Freeze & Cherry 1979, Table 2.2 (from memory). Porosity: the
range of specific yield of Johnson 1967 where there is one (gravel, sand, silt, sandy clay, till,
clay; the smallest of clay raised from 0, at which no speed exists), the usual value from memory
(near specific yield, Fetter); the range of silty sand lies between its neighbors."""


def find_material(name: str) -> Material:
    """Return a material by its name.

    Raises
    ------
    OrderError
        If the table does not know it.
    """
    for material in MATERIALS:
        if material.name == name:
            return material
    raise OrderError(
        f"The material '{name[:40]}' is not in the table.",
        what_to_do=f"Choose one of {', '.join(material.name for material in MATERIALS)}.",
    )


def darcy_velocity(conductivity_m_s: float, gradient: float) -> float:
    """Water that passes a unit of area, q = K i, m/s (Darcy's law)."""
    return conductivity_m_s * gradient


def seepage_velocity(conductivity_m_s: float, gradient: float, porosity: float) -> float:
    """Speed of the water between the grains, v = K i / n, m/s.

    Examples
    --------
    >>> round(86400 * seepage_velocity(1e-4, 0.005, 0.25), 4)  # metres a day
    0.1728
    """
    return darcy_velocity(conductivity_m_s, gradient) / porosity


def travel_days(distance_m: float, gradient: float, material: Material) -> tuple[float, float]:
    """Shortest and longest time that the water takes over a distance down the slope, days.

    From the material's whole range of conductivity and porosity. Acid itself arrives later, for the
    ground takes it up.

    Examples
    --------
    >>> fast, slow = travel_days(50, 0.005, MATERIALS[1])
    >>> round(fast, 1), round(slow)
    (1.2, 40509)
    """
    low, high = material.conductivity_m_s
    least, _, most = material.porosity
    fast = distance_m / seepage_velocity(high, gradient, least) / SECONDS_PER_DAY
    slow = distance_m / seepage_velocity(low, gradient, most) / SECONDS_PER_DAY
    return fast, slow
