"""What is in a survey comes out of every export: as numbers, dates and plain text."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from PIL import Image

from app.errors import OrderError
from app.exports.cell_text import LONGEST_CELL, cell_text, printable, short_text
from app.exports.geojson import write_geojson
from app.exports.reading_columns import COLUMNS
from app.exports.screen_color import ink_on, screen_color
from app.exports.spreadsheet import write_spreadsheet
from app.exports.survey_csv import write_csv
from app.records.record_book import create_survey
from app.survey.kept_reading import KeptReading
from app.survey.method import Method, Test
from app.survey.sample import Sample
from app.survey.site import Site
from app.survey.survey import Survey
from colorcore.color_spaces import Lab
from tests.app.sample_surveys import LATER, NOW, known_ph, make_line, write_photo

SITE = Site(name="North", latitude_deg=50.25, longitude_deg=-8.5, elevation_m=210.0, crop="rye")


@pytest.fixture
def made(tmp_path: Path) -> tuple[Survey, tuple[KeptReading, ...]]:
    """Give a survey with a little of everything."""
    with create_survey(tmp_path / "survey", id="s", now=NOW, name="Spring") as book:
        book.add_sites([SITE, Site(name="Empty")], person="P1", now=NOW)
        samples = [
            Sample(label="A1", site="North", taken_on=NOW.date(), depth_top_cm=0.0),
            Sample(label="Buffer 7", kind="check standard"),
        ]
        book.add_samples(samples, person="P1", now=NOW)
        book.add_methods([Method(name="shake", ratio="1:5")], person="P1", now=NOW)
        book.add_tests(
            [Test(id="t1", sample="A1", quantity="ph", method="shake")], person="P1", now=NOW
        )
        known = known_ph("Buffer 7", 7.0, "certificate", uncertainty=0.01)
        book.add_known_values([known])
        photo = write_photo(tmp_path)
        book.keep_readings(
            (
                make_line(photo, value=6.2),
                make_line(photo, value=-3.2, tube=2, status="doubtful", replicate="1-2"),
                make_line(photo, value=None, tube=3, sample=None),
            ),
            "P1",
            NOW,
        )
        checks = [
            make_line(photo, value=7 + i % 3 / 50, tube=i + 4, sample="Buffer 7") for i in range(9)
        ]
        book.keep_readings(checks, "P2", LATER)
        return book.survey(), book.readings()


def rows_of(path: Path, sheet: str) -> list[dict[str, Any]]:
    """Read a sheet back, a dictionary a row."""
    head, *rows = load_workbook(path)[sheet].iter_rows(values_only=True)
    return [dict(zip(map(str, head), row, strict=True)) for row in rows]


def test_the_workbook_holds_numbers_dates_and_colors(
    made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path
) -> None:
    """Read back by the library: types, blanks, and the printed value in the filled cell."""
    target = tmp_path / "out.xlsx"
    assert write_spreadsheet(*made, target) == 12
    assert load_workbook(target).sheetnames == [
        *("readings", "samples", "sites", "charts", "method", "quality", "groups", "known values")
    ]
    first, second, third, *_ = rows_of(target, "readings")
    assert tuple(first) == COLUMNS
    assert (first["value"], first["low_90"], first["high_90"]) == (6.2, 6.0, 6.45)
    assert first["kept_at_utc"] == NOW.astimezone(UTC).replace(tzinfo=None)
    assert first["photo_taken_at"] == datetime(2026, 5, 1, 9, 30)
    assert first["taken_on"] == datetime(2026, 5, 1)
    assert (first["site"], first["method"], first["unit"]) == ("North", "shake", "pH")
    assert (second["value"], second["replicate"], second["reasons"]) == (-3.2, "1-2", "blurred")
    assert (third["status"], third["value"], third["sample"]) == ("refused", None, None)
    assert "latitude_deg" not in first
    sheet = load_workbook(target)["readings"]
    cell = sheet.cell(row=2, column=COLUMNS.index("value") + 1)
    assert cell.data_type == "n"
    assert cell.fill.start_color.rgb == f"00{screen_color(made[1][0].line.measurement.lab)}"  # type: ignore[union-attr]
    assert sheet.cell(row=2, column=COLUMNS.index("taken_on") + 1).is_date
    sites = rows_of(target, "sites")
    assert set(sites[0]) == {
        *("name", "land_use", "area_ha", "crop", "notes", "suspected_contamination")
    }
    charts = rows_of(target, "charts")
    assert [row["swatch_value"] for row in charts] == [5, 6, 7]
    method = {row["what"]: row["is"] for row in rows_of(target, "method")}
    assert method["chart check again on"] == datetime(2026, 8, 1)
    assert method["method ratio"] == "1:5"
    quality = [row for row in load_workbook(target)["quality"].iter_rows(values_only=True)]
    check = next(row for row in quality if row[0] == "Buffer 7" and row[4] == 7)
    assert check[5] == 7  # the certificate is the center
    replicates = next(row for row in quality if row[0] == "A1")
    assert replicates[5] == 2
    assert replicates[6] == pytest.approx(1.5)
    (known,) = rows_of(target, "known values")
    assert (known["sample"], known["value"], known["source"]) == ("Buffer 7", 7, "certificate")
    assert known["noted_at_utc"] == NOW.astimezone(UTC).replace(tzinfo=None)


def test_positions_go_out_only_when_asked_for(
    made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path
) -> None:
    """In no export does a digit of them stand otherwise."""
    for write, name in (
        (write_csv, "a.csv"),
        (write_geojson, "a.geojson"),
        (write_spreadsheet, "a.xlsx"),
    ):
        for asked in (False, True):
            target = tmp_path / name
            write(*made, target, with_positions=asked)  # type: ignore[operator]
            if name.endswith("xlsx"):
                cells = [cell for ws in load_workbook(target) for row in ws.values for cell in row]
                said = any(cell in (50.25, -8.5, 210) for cell in cells)
            else:
                text = target.read_text(encoding="utf-8")
                said = "50.25" in text or "-8.5" in text
            assert said is asked


def test_the_csv_is_tidy(made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path) -> None:
    """One row a reading, dates in ISO 8601, blanks empty, CRLF; the mark only when asked for."""
    target = tmp_path / "out.csv"
    assert write_csv(*made, target, with_positions=True) == 12
    data = target.read_bytes()
    assert data.count(b"\r\n") == 13
    assert not data.startswith(b"\xef\xbb\xbf")
    first, second, third, *_ = csv.DictReader(io.StringIO(data.decode(), newline=""))
    assert (first["value"], second["value"], third["value"]) == ("6.2", "-3.2", "")
    assert first["kept_at_utc"] == "2026-05-01T07:30:00"
    assert (first["latitude_deg"], first["longitude_deg"]) == ("50.25", "-8.5")
    assert first["stands"] == "yes"
    write_csv(*made, target, byte_order_mark=True)
    assert target.read_bytes().startswith(b"\xef\xbb\xbfreading,")


def test_the_map_file_follows_the_standard(
    made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path
) -> None:
    """Longitude first, height third, no crs, null where there is no position (RFC 7946)."""
    target = tmp_path / "out.geojson"
    assert write_geojson(*made, target, with_positions=True) == 13
    data = json.loads(target.read_text(encoding="utf-8"))
    assert set(data) == {"type", "features"}
    assert data["type"] == "FeatureCollection"
    for feature in data["features"]:
        assert set(feature) == {"type", "id", "geometry", "properties"}
        assert feature["type"] == "Feature"
    first, *_, last = data["features"]
    assert first["geometry"] == {"type": "Point", "coordinates": [-8.5, 50.25, 210.0]}
    assert first["properties"]["value"] == 6.2
    assert last["properties"] == {
        "what": "site",
        "name": "Empty",
        **dict.fromkeys(("map_x_m", "map_y_m", "land_use", "area_ha", "crop", "notes")),
        "suspected_contamination": None,
    }
    assert last["geometry"] is None
    write_geojson(*made, target)
    data = json.loads(target.read_text(encoding="utf-8"))
    assert all(feature["geometry"] is None for feature in data["features"])


def test_an_empty_survey(made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path) -> None:
    """Every export is valid without a reading."""
    survey = replace(made[0], sites=(), charts=(), samples=(), methods=(), tests=())
    assert write_csv(survey, (), tmp_path / "a.csv") == 0
    assert write_geojson(survey, (), tmp_path / "a.geojson") == 0
    assert json.loads((tmp_path / "a.geojson").read_text())["features"] == []
    assert write_spreadsheet(survey, (), tmp_path / "a.xlsx") == 0
    assert rows_of(tmp_path / "a.xlsx", "readings") == []


def test_thumbnails(made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path) -> None:
    """Small pictures lie on the rows of their readings."""
    out = io.BytesIO()
    Image.new("RGB", (80, 60), (200, 40, 40)).save(out, "PNG")

    def thumbnail(kept: KeptReading) -> bytes | None:
        return out.getvalue() if kept.id in (1, 3) else None

    target = tmp_path / "out.xlsx"
    write_spreadsheet(*made, target, thumbnail_of=thumbnail)
    sheet = load_workbook(target)["readings"]
    rows = [image.anchor._from.row + 1 for image in sheet._images]  # type: ignore[attr-defined]
    assert rows == [2, 4]
    assert sheet.row_dimensions[2].height == 48


def test_a_file_that_cannot_be_written_leaves_the_old_one(
    made: tuple[Survey, tuple[KeptReading, ...]], tmp_path: Path
) -> None:
    """An export is whole or it is not there."""
    with pytest.raises(OrderError, match="cannot be written"):
        write_csv(*made, tmp_path / "no folder" / "a.csv")
    target = tmp_path / "a.csv"
    target.write_text("old")

    def broken() -> Any:
        yield made[1][0]
        raise RuntimeError("cut off")

    for write in (write_csv, write_geojson, write_spreadsheet):
        with pytest.raises(RuntimeError):
            write(made[0], broken(), target)  # type: ignore[operator]
        assert target.read_text() == "old"
    assert [path.name for path in tmp_path.glob(".*.part")] == []


def test_text_is_made_safe() -> None:
    """Control characters go, formulas are quoted, long text is cut and says so."""
    assert printable("a\x00\x1b[0m\x85b\ud800\ufffe\tc\rd") == "a[0mb\tc\nd"
    assert cell_text("\x00@SUM(A1)") == "'@SUM(A1)"
    assert cell_text("＝1") == "'＝1"
    assert short_text("x" * LONGEST_CELL) == "x" * LONGEST_CELL
    assert short_text("🌱" * LONGEST_CELL).endswith("🌱 … (cut)")
    assert len(short_text("🌱" * LONGEST_CELL).encode("utf-16-le")) <= 2 * LONGEST_CELL


def test_screen_colors_stay_few_and_readable() -> None:
    """Colors far outside the screen are cut; ink is black or white."""
    assert screen_color(Lab(60.1, 10.2, 40.3)) == screen_color(Lab(60.2, 10.1, 40.2))
    assert len(screen_color(Lab(50, 300, -300))) == 6
    assert {ink_on("FFFFFF"), ink_on("000000")} == {"000000", "FFFFFF"}
