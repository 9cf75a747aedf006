"""A map for other programs: sites, regions of the source and marks as GeoJSON (RFC 7946)."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from app.exports.cell_text import printable
from app.exports.geojson import DECIMALS
from app.exports.whole_file import whole_file
from app.site_map.grid import area_of
from app.site_map.map_view import MapPoint, MapView
from app.site_map.plane import LocalPlane, Point

Feature = dict[str, object]


def write_map_geojson(view: MapView, target: Path, *, with_positions: bool = False) -> int:
    """Write a feature for every site, region and mark of a map.

    Where positions are not asked for, or the sites lie on a plan of the user's own, every geometry
    is null (RFC 7946, 3.2).

    Returns
    -------
    int
        Features written.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    plane = view.plane if with_positions else None
    features = [_site(point, view, plane) for point in view.points]
    if view.traced is not None:
        features += _source(view, plane)
    document = {"type": "FeatureCollection", "features": features}
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)
    with whole_file(target) as part:
        part.write_text(text + "\n", encoding="utf-8", newline="\n")
    return len(features)


def _site(point: MapPoint, view: MapView, plane: LocalPlane | None) -> Feature:
    reading = point.reading
    return _feature(
        {
            "what": "site",
            "site": printable(reading.name),
            "letter": printable(reading.letter),
            "quantity": view.quantity,
            "unit": view.unit,
            "kind": view.kind,
            "value": reading.value,
            "low_90": reading.low,
            "high_90": reading.high,
            "background": reading.is_background,
        },
        _point(reading.place, plane),
    )


def _source(view: MapView, plane: LocalPlane | None) -> list[Feature]:
    traced = view.traced
    features: list[Feature] = []
    if traced is None:
        return features
    if traced.regions is not None:
        for region in traced.regions.regions:
            said = {"what": "region of the source", "probability": region.level}
            said |= {"share_of_plan": region.share, "note": "consistent with, no proof"}
            features.append(_feature(said, _polygons(region.rings, plane)))
        best = {"what": "most probable place of the source"}
        features.append(_feature(best, _point(traced.regions.best, plane)))
    for place in traced.two_sources or ():
        features.append(_feature({"what": "one of two possible sources"}, _point(place, plane)))
    if traced.next_sample is not None:
        next_one = {"what": "next sample would teach most"}
        features.append(_feature(next_one, _point(traced.next_sample.place, plane)))
    return features


def _feature(properties: Mapping[str, object], geometry: Feature | None) -> Feature:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def _point(place: Point, plane: LocalPlane | None) -> Feature | None:
    return None if plane is None else {"type": "Point", "coordinates": _position(place, plane)}


def _polygons(rings: Sequence[Sequence[Point]], plane: LocalPlane | None) -> Feature | None:
    """Group rings into polygons: each outer ring with the holes that lie inside it."""
    if plane is None:
        return None
    outer = [ring for ring in rings if area_of(ring) > 0]
    polygons = [[ring] for ring in outer]
    for hole in rings:
        if area_of(hole) < 0:
            around = min(
                (p for p in polygons if _is_inside(hole, p[0])), key=lambda p: area_of(p[0])
            )
            around.append(hole)
    return {
        "type": "MultiPolygon",
        "coordinates": [
            [[_position(corner, plane) for corner in (*ring, ring[0])] for ring in polygon]
            for polygon in polygons
        ],
    }


def _is_inside(hole: Sequence[Point], ring: Sequence[Point]) -> bool:
    """Tell whether a hole lies in a ring, by a place just beside the middle of its first side."""
    (ax, ay), (bx, by) = hole[0], hole[1]
    # Clockwise holes have their inside on the right.
    x, y = (ax + bx) / 2 + (by - ay) * 1e-3, (ay + by) / 2 - (bx - ax) * 1e-3
    crossings = 0
    for (px, py), (qx, qy) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (py > y) != (qy > y) and x < px + (y - py) / (qy - py) * (qx - px):
            crossings += 1
    return crossings % 2 == 1


def _position(place: Point, plane: LocalPlane) -> list[float]:
    latitude, longitude = plane.to_degrees(place)
    return [round(longitude, DECIMALS), round(latitude, DECIMALS)]
