"""A place where samples are taken."""

import math
from dataclasses import dataclass

from app.survey.names import check_name, check_texts

LARGEST_HA = 1e7  # more than any farm: what is larger was mistyped


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A place where samples are taken. What is unknown is None.

    Parameters
    ----------
    name : str
        The user's name for it, fixed at creation.
    latitude_deg, longitude_deg : float or None
        WGS 84; both or neither.
    elevation_m : float or None
        Metres above sea level.
    map_x_m, map_y_m : float or None
        Place on the survey's own plan, metres to the right and up; both or neither.
    land_use, crop, notes : str or None
        The user's words.
    area_ha : float or None
        Hectares, > 0.
    suspected_contamination : bool or None
        Whether the ground is under suspicion: then no amounts are advised for it.
    """

    name: str
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None
    map_x_m: float | None = None
    map_y_m: float | None = None
    land_use: str | None = None
    area_ha: float | None = None
    crop: str | None = None
    notes: str | None = None
    suspected_contamination: bool | None = None

    def __post_init__(self) -> None:
        check_name("name", self.name)
        check_texts(self)
        latitude, longitude = self.latitude_deg, self.longitude_deg
        if (latitude is None) != (longitude is None):
            raise ValueError("latitude_deg and longitude_deg go together")
        if latitude is not None and not -90 <= latitude <= 90:
            raise ValueError(f"latitude_deg must be -90 to 90, got {latitude:g}")
        if longitude is not None and not -180 <= longitude <= 180:
            raise ValueError(f"longitude_deg must be -180 to 180, got {longitude:g}")
        if (self.map_x_m is None) != (self.map_y_m is None):
            raise ValueError("map_x_m and map_y_m go together")
        for name in ("elevation_m", "map_x_m", "map_y_m"):
            number = getattr(self, name)
            if number is not None and not math.isfinite(number):
                raise ValueError(f"{name} must be finite, got {number}")
        if self.area_ha is not None and not 0 < self.area_ha <= LARGEST_HA:
            raise ValueError(f"area_ha must be above 0, to {LARGEST_HA:g}, got {self.area_ha:g}")
