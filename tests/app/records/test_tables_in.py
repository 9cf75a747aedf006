"""Tables are read from whatever a spreadsheet program wrote; anything else is refused plainly."""

import io
import random
import zipfile
from datetime import date, datetime
from pathlib import Path

import pytest
from openpyxl import Workbook

from app.records import tables_in
from app.records.tables_in import read_table
from app.survey.import_tables import read_sites
from colorcore.errors import SheetError


def write(folder: Path, data: bytes, name: str = "field.csv") -> Path:
    """Write a file."""
    path = folder / name
    path.write_bytes(data)
    return path


def workbook(*rows: tuple[object, ...]) -> bytes:
    """Make the bytes of a workbook of one sheet."""
    book = Workbook()
    assert book.active is not None
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        "site,lat,lon\r\nNörd,1.5,2\r\n\r\nSüd,3,4\r\n".encode(),
        "site,lat,lon\nNörd,1.5,2\n\nSüd,3,4".encode("utf-8-sig"),
        "site;lat;lon\nNörd;1,5;2\n\nSüd;3;4".encode(),
        "site\tlat\tlon\r\nNörd\t1.5\t2\r\n\r\nSüd\t3\t4".encode("utf-16"),
        workbook(("site", "lat", "lon"), ("Nörd", 1.5, 2), (), ("Süd", "3", 4.0)),
    ],
)
def test_one_table_in_many_shapes(tmp_path: Path, data: bytes) -> None:
    """Delimiters, encodings and workbooks make no difference; rows keep their numbers."""
    table = read_table(write(tmp_path, data))
    assert table.headings == ("site", "lat", "lon")
    assert [number for number, _ in table.rows] == [2, 4]
    sites = read_sites(table)
    assert [(site.name, site.latitude_deg) for site in sites] == [("Nörd", 1.5), ("Süd", 3.0)]


def test_dates_and_formulas_of_a_workbook(tmp_path: Path) -> None:
    """Dates are dates; a formula that was never computed is blank."""
    data = workbook(
        ("sample", "date", "x"), ("A", date(2026, 5, 1), "=1+1"), ("_x0042_", None, None)
    )
    (first, second) = read_table(write(tmp_path, data, "field.xlsx")).rows
    assert first[1] == ("A", datetime(2026, 5, 1))
    assert second == (3, ("B",))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "empty"),
        (b"\r\n\r\n", "empty"),
        (b"site,lat\n", "headings but no rows"),
        (b"site\n\xff\xfe\xfd", "not text in UTF-8"),
        (b"site\nA\0B", "not text in UTF-8"),
        (b'site\n"A', "quotation marks do not close"),
        (b"\xd0\xcf\x11\xe0" + bytes(600), "workbook of an old kind"),
        (b"PK\x03\x04 no zip", "cannot be read as a workbook"),
    ],
)
def test_what_is_no_table(tmp_path: Path, data: bytes, message: str) -> None:
    """Each says what it is and what to do."""
    with pytest.raises(SheetError, match=message):
        read_table(write(tmp_path, data))


def test_other_zip_files_and_damaged_workbooks(tmp_path: Path) -> None:
    """A zip that is no workbook, one that unpacks too large, and one with bytes changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("readme.txt", "no workbook")
    with pytest.raises(SheetError, match="cannot be read as a workbook"):
        read_table(write(tmp_path, out.getvalue()))
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", bytes(tables_in.MAX_UNPACKED + 1))
    with pytest.raises(SheetError, match="unpacks to"):
        read_table(write(tmp_path, out.getvalue()))
    good = workbook(("site",), *[(f"Site {i}",) for i in range(50)])
    chance = random.Random(7)
    for _ in range(60):
        data = bytearray(good)
        for _ in range(chance.choice((1, 4, 40))):
            data[chance.randrange(len(data))] = chance.randrange(256)
        try:
            read_table(write(tmp_path, bytes(data)))
        except SheetError:
            continue


def test_limits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A table that is too long or too large is refused before it fills the memory."""
    with pytest.raises(SheetError, match="There is no file"):
        read_table(tmp_path / "nothing.csv")
    monkeypatch.setattr(tables_in, "MAX_ROWS", 10)
    with pytest.raises(SheetError, match="more than 10 rows"):
        read_table(write(tmp_path, b"site\n" + b"A\n" * 20))
    monkeypatch.setattr(tables_in, "MAX_BYTES", 10)
    with pytest.raises(SheetError, match="larger than"):
        read_table(write(tmp_path, b"site\n" + b"A\n" * 20))
