"""How fast groundwater moves, and how long it takes from one site to others: ranges."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.site_map.flow import Flow
from app.site_map.site_reading import SiteReading
from app.site_map.water_table import (
    SECONDS_PER_DAY,
    Material,
    darcy_velocity,
    seepage_velocity,
    travel_days,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way that the water takes.

    Parameters
    ----------
    start, end : SiteReading
        From where, and to where down the gradient.
    distance_m : float
        Down the gradient, metres.
    days : (float, float)
        Shortest and longest time.
    """

    start: SiteReading
    end: SiteReading
    distance_m: float
    days: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seepage:
    """How fast groundwater moves through a material.

    Parameters
    ----------
    material : Material
        What it flows through.
    darcy_m_per_day, speed_m_per_day : (float, float)
        Smallest and largest flow through a unit of area (Darcy), and speed between the grains.
    ways : tuple of Way
        From one site to those that lie down the gradient of it.
    """

    material: Material
    darcy_m_per_day: tuple[float, float]
    speed_m_per_day: tuple[float, float]
    ways: tuple[Way, ...]


def seepage_from(
    start: SiteReading, others: Sequence[SiteReading], flow: Flow, material: Material
) -> Seepage | None:
    """Return how groundwater moves from a site to others; None without water levels.

    The slope of the ground is not taken for that of the groundwater.
    """
    if flow.table is None or flow.how != "heads":
        return None
    gradient = flow.table.gradient
    (low, high), (least, _, most) = material.conductivity_m_s, material.porosity
    ways = []
    for other in others:
        along, across = flow.along(start.place, other.place)
        if along > abs(across):
            days = travel_days(along, gradient, material)
            ways.append(Way(start=start, end=other, distance_m=along, days=days))
    return Seepage(
        material=material,
        darcy_m_per_day=(
            SECONDS_PER_DAY * darcy_velocity(low, gradient),
            SECONDS_PER_DAY * darcy_velocity(high, gradient),
        ),
        speed_m_per_day=(
            SECONDS_PER_DAY * seepage_velocity(low, gradient, most),
            SECONDS_PER_DAY * seepage_velocity(high, gradient, least),
        ),
        ways=tuple(ways),
    )
