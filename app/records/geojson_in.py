"""Points of a GeoJSON file (RFC 7946) as rows of a table."""

import json
from typing import Any

from app.survey.table_rows import Cell
from colorcore.errors import SheetError

Rows = list[tuple[int, tuple[Cell, ...]]]

NAMES = ("name", "site")
MOST = 1e6
"""No coordinate is as large (and no number that is none is smaller)."""
PLACE = ("latitude", "longitude", "elevation")


def geojson_rows(data: bytes, name: str) -> Rows:
    """Return headings and a row a point: its properties, then its place.

    A feature without a name among its properties goes by its id. Positions are WGS 84, longitude
    first (RFC 7946, 3.1.1 and 4).

    Raises
    ------
    SheetError
        If it is no collection of points.
    """
    try:
        document = json.loads(data.decode("utf-8-sig"))
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise _no_points(name) from error
    features = document.get("features") if isinstance(document, dict) else None
    if not isinstance(features, list) or not features:
        raise _no_points(name)
    points = [_point(feature, number, name) for number, feature in enumerate(features, start=1)]
    named = next((k for p, _ in points for k in p if k.casefold() in NAMES), NAMES[0])
    for feature, (properties, _) in zip(features, points, strict=True):
        if properties.get(named) in (None, "") and "id" in feature:
            properties[named] = str(feature["id"])
    headings = list(dict.fromkeys(key for properties, _ in points for key in properties))
    kept = [heading for heading in headings if heading.casefold() not in PLACE]
    rows: Rows = [(0, (*kept, *PLACE))]
    for number, (properties, place) in enumerate(points, start=1):
        rows.append((number, (*(properties.get(key) for key in kept), *place)))
    return rows


def _point(
    feature: Any, number: int, name: str
) -> tuple[dict[str, Cell], tuple[float, float, float | None]]:
    geometry = feature.get("geometry") if isinstance(feature, dict) else None
    place = geometry.get("coordinates") if isinstance(geometry, dict) else None
    is_point = isinstance(geometry, dict) and geometry.get("type") == "Point"
    if (
        not is_point
        or not isinstance(place, list)
        or len(place) < 2
        or not all(map(_number, place))
    ):
        raise SheetError(
            f"Feature {number} of {name} is no point with a position.",
            what_to_do="Keep points alone, each with longitude and latitude.",
        )
    given = feature.get("properties")
    properties: dict[str, Cell] = {
        str(key): value
        for key, value in (given if isinstance(given, dict) else {}).items()
        if value is None or isinstance(value, str | int | float | bool)
    }
    height = float(place[2]) if len(place) > 2 else None
    return properties, (float(place[1]), float(place[0]), height)


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < MOST


def _no_points(name: str) -> SheetError:
    return SheetError(
        f"{name} is no GeoJSON file with features.",
        what_to_do="Save the points as a GeoJSON feature collection, or as a table.",
    )
