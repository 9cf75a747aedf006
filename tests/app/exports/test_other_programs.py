"""The workbook as other programs read it: values, types and dates."""

import csv
import shutil
import subprocess
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from python_calamine import load_workbook

from app.exports.reading_columns import COLUMNS
from app.exports.spreadsheet import write_spreadsheet
from app.records.record_book import create_survey
from app.survey.sample import Sample
from app.survey.site import Site
from tests.app.sample_surveys import NOW, make_line, write_photo

SOFFICE = shutil.which("soffice")


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the workbook of a small survey whose texts look like formulas, dates and numbers."""
    folder = tmp_path_factory.mktemp("workbook")
    with create_survey(folder / "survey", id="s", now=NOW) as book:
        book.add_sites([Site(name="North", area_ha=0.25)], person="P1", now=NOW)
        sample = Sample(label="1-2", site="North", taken_on=NOW.date(), depth_bottom_cm=20.0)
        book.add_samples([sample], person="P1", now=NOW)
        photo = write_photo(folder)
        lines = (
            make_line(photo, value=6.2, sample="1-2", replicate="2026-05-01"),
            make_line(photo, value=-3.2, tube=2, sample="=1+1", replicate="007"),
            make_line(photo, value=None, tube=3, sample="1-2", replicate="\u00fc \U0001f331"),
        )
        book.keep_readings(lines, "P1", NOW)
        write_spreadsheet(book.survey(), book.readings(), folder / "out.xlsx")
    return folder / "out.xlsx"


def test_another_library_reads_the_same_values_and_types(workbook: Path) -> None:
    """Numbers, dates and moments come back as such, texts as texts, blanks as blanks."""
    head, *rows = load_workbook(workbook).get_sheet_by_name("readings").to_python()
    assert tuple(head) == COLUMNS
    first, second, third = (dict(zip(head, row, strict=True)) for row in rows)
    assert (first["value"], first["low_90"], first["tube"]) == (6.2, 6.0, 1.0)
    assert first["taken_on"] == date(2026, 5, 1)
    assert first["kept_at_utc"] == datetime(2026, 5, 1, 7, 30)
    assert (first["sample"], first["replicate"]) == ("1-2", "2026-05-01")
    assert (second["sample"], second["replicate"], second["value"]) == ("'=1+1", "007", -3.2)
    assert (third["value"], third["replicate"]) == ("", "\u00fc \U0001f331")
    assert load_workbook(workbook).sheet_names[-1] == "known values"


@pytest.mark.skipif(SOFFICE is None, reason="LibreOffice (soffice) is not installed")
def test_an_office_program_reads_the_same(workbook: Path, tmp_path: Path) -> None:
    """LibreOffice without a screen shows the same cells, and computes nothing in them."""
    command: list[Any] = [SOFFICE, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless"]
    command += ["--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true"]
    done = subprocess.run(
        [*command, "--outdir", tmp_path, workbook], capture_output=True, timeout=120, check=False
    )
    target = tmp_path / "out.csv"
    assert target.exists(), done.stderr.decode()
    with target.open(encoding="utf-8", newline="") as file:
        first, second, third = csv.DictReader(file)
    assert (float(first["value"]), float(second["value"]), third["value"]) == (6.2, -3.2, "")
    assert first["taken_on"] in ("2026-05-01", "05/01/2026", "05/01/26")  # as the language says
    assert (first["sample"], first["replicate"]) == ("1-2", "2026-05-01")
    assert (second["sample"], second["replicate"]) == ("'=1+1", "007")
    assert third["replicate"] == "\u00fc \U0001f331"
