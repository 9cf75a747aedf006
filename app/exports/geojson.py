"""The readings of a survey for maps: GeoJSON (RFC 7946)."""

import json
from collections.abc import Iterable
from dataclasses import fields
from datetime import date
from pathlib import Path

from app.exports.cell_text import printable
from app.exports.in_pieces import Writing, to_the_end
from app.exports.reading_columns import COLUMNS, Cell, places_of, row_of, site_of
from app.exports.whole_file import whole_file
from app.survey.kept_reading import KeptReading
from app.survey.site import Site
from app.survey.survey import Survey

DECIMALS = 7
"""Of a degree: a centimetre."""

_PLACE = ("latitude_deg", "longitude_deg", "elevation_m")
_ON_PLAN = ("map_x_m", "map_y_m")


def writing_geojson(
    survey: Survey,
    readings: Iterable[KeptReading],
    target: Path,
    *,
    with_positions: bool = False,
) -> Writing:
    """Write one feature a reading at its sample's site, and one for every site without a reading.

    Where positions are not asked for, every geometry is null (RFC 7946, 3.2) and no property tells
    where a site lies.

    Returns
    -------
    int
        Features written.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    places, done, seen = places_of(survey), 0, set()
    with whole_file(target) as part, part.open("w", encoding="utf-8", newline="\n") as file:
        file.write('{"type": "FeatureCollection", "features": [')

        def add(site: Site | None, ident: str, properties: dict[str, object]) -> None:
            feature = {
                "type": "Feature",
                "id": ident,
                "geometry": _point(site) if with_positions else None,
                "properties": properties,
            }
            file.write(",\n" if done else "\n")
            file.write(json.dumps(feature, ensure_ascii=False, allow_nan=False))

        for kept in readings:
            site = site_of(kept, places)
            if site is not None:
                seen.add(site.name)
            cells = row_of(kept, places, with_positions=False)
            properties = dict(zip(COLUMNS, map(_plain, cells), strict=True))
            add(site, f"reading {kept.id}", {"what": "reading", **properties})
            done += 1
            yield done
        for site in survey.sites:
            if site.name not in seen:
                add(site, f"site {printable(site.name)}", _site(site, with_positions))
                done += 1
        file.write("\n]}\n")
    return done


write_geojson = to_the_end(writing_geojson)


def _point(site: Site | None) -> dict[str, object] | None:
    if site is None or site.latitude_deg is None or site.longitude_deg is None:
        return None
    place = [round(site.longitude_deg, DECIMALS), round(site.latitude_deg, DECIMALS)]
    if site.elevation_m is not None:
        place.append(round(site.elevation_m, 2))
    return {"type": "Point", "coordinates": place}


def _site(site: Site, with_positions: bool) -> dict[str, object]:
    hidden = _PLACE if with_positions else (*_PLACE, *_ON_PLAN)
    names = [field.name for field in fields(site) if field.name not in hidden]
    return {"what": "site", **{name: _plain(getattr(site, name)) for name in names}}


def _plain(cell: Cell) -> object:
    if isinstance(cell, date):  # a datetime is one too
        return cell.isoformat()
    return printable(cell) if isinstance(cell, str) else cell
