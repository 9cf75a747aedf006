"""Sites from the points of a GeoJSON file."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.records.geojson_in import geojson_rows
from app.records.tables_in import read_table
from app.survey.import_tables import read_sites
from colorcore.errors import SheetError


def _feature(place: object, **properties: object) -> dict[str, object]:
    geometry = {"type": "Point", "coordinates": place}
    return {"type": "Feature", "id": "W9", "geometry": geometry, "properties": properties}


def _write(tmp_path: Path, document: object) -> Path:
    path = tmp_path / "sites.geojson"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def test_points_become_sites(tmp_path: Path) -> None:
    """Longitude comes first in the file; the id serves where there is no name."""
    named = _feature([-8.5, 50.25, 12.5], site="North", crop="oats")
    document = {"type": "FeatureCollection", "features": [named, _feature([-8.25, 50.5])]}
    north, other = read_sites(read_table(_write(tmp_path, document)))
    assert (north.name, north.latitude_deg, north.longitude_deg) == ("North", 50.25, -8.5)
    assert (north.elevation_m, north.crop) == (12.5, "oats")
    assert (other.name, other.latitude_deg, other.elevation_m) == ("W9", 50.5, None)


@pytest.mark.parametrize(
    "document",
    [
        {"type": "FeatureCollection", "features": []},
        {"features": [_feature([1.0])]},
        {"features": [_feature(["a", 2])]},
        {"features": [{"geometry": {"type": "Polygon", "coordinates": [[1, 2]]}}]},
        {"features": [None]},
        {"features": [_feature([True, 2])]},
        {"features": [_feature([1e400, 2])]},
        {"nothing": 1},
    ],
)
def test_what_holds_no_points_is_refused(tmp_path: Path, document: object) -> None:
    """Said in two sentences, never guessed."""
    with pytest.raises(SheetError):
        read_table(_write(tmp_path, document))


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    """Nothing else can happen."""
    try:
        geojson_rows(b"{" + data, "x")
    except SheetError:
        return
