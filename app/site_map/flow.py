"""Which way the water goes, from what is known of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from app.site_map.plane import Point, compass
from app.site_map.water_table import Head, WaterTable, fit_water_table

ARROW_SD_DEG = 25.0
"""How well a direction is known that somebody pointed out (judgement)."""
WELL_SD_DEG = 15.0
"""How far the flow strays from the plane through the wells (judgement)."""
SLOPE_SD_DEG = 25.0
"""The same for run-off and the plane through the ground (judgement)."""
ELEVATION_ERROR_M = 0.1
"""Standard error of the height of the ground, metres (judgement: levelled or taped)."""

How = Literal["arrow", "heads", "slope", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """Where the water goes to.

    Parameters
    ----------
    how : {"arrow", "heads", "slope", "unknown"}
        Where the direction comes from.
    azimuth_deg : float or None
        Degrees from north, clockwise; None where it is unknown.
    sd_deg : float
        Its standard uncertainty; 180 where it is unknown.
    table : WaterTable or None
        The plane that it comes from.
    """

    how: How
    azimuth_deg: float | None
    sd_deg: float
    table: WaterTable | None = None

    def towards(self) -> str:
        """Say where the water goes."""
        if self.azimuth_deg is None:
            return "unknown"
        return f"towards {compass(self.azimuth_deg)} ({self.azimuth_deg:.0f} degrees)"

    def along(self, start: Point, end: Point) -> Point:
        """Way from one place to another: with the flow, and across it; metres."""
        turn = math.radians(self.azimuth_deg or 0.0)
        east, north = end[0] - start[0], end[1] - start[1]
        return (
            east * math.sin(turn) + north * math.cos(turn),
            east * math.cos(turn) - north * math.sin(turn),
        )


UNKNOWN = Flow(how="unknown", azimuth_deg=None, sd_deg=180.0)


def arrow(azimuth_deg: float) -> Flow:
    """Return the flow that somebody pointed out."""
    return Flow(how="arrow", azimuth_deg=azimuth_deg % 360, sd_deg=ARROW_SD_DEG)


def from_heads(heads: Sequence[Head]) -> Flow:
    """Return the flow down the plane through water levels.

    Raises
    ------
    OrderError
        As `fit_water_table`.
    """
    table = fit_water_table(heads)
    sd = math.hypot(table.azimuth_sd_deg, WELL_SD_DEG)
    return Flow(how="heads", azimuth_deg=table.azimuth_deg, sd_deg=sd, table=table)


def from_slope(ground: Sequence[Head]) -> Flow:
    """Return the run-off down the plane through heights of the ground.

    Raises
    ------
    OrderError
        As `fit_water_table`.
    """
    table = fit_water_table(ground, error_m=ELEVATION_ERROR_M, what="heights of the ground")
    sd = math.hypot(table.azimuth_sd_deg, SLOPE_SD_DEG)
    return Flow(how="slope", azimuth_deg=table.azimuth_deg, sd_deg=sd, table=table)
