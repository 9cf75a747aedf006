"""What is known of the ground goes before what the survey says."""

from pathlib import Path

import pytest

from app.soil.ground import HEADINGS, OPTIONS, Ground, grounds_of
from app.soil.soil_reading import Plot
from calibration.sheet_reader import read_sheet
from colorcore.errors import SheetError


def read(folder: Path, text: str) -> tuple[Ground, ...]:
    """Read a sheet."""
    sheet = folder / "ground.csv"
    sheet.write_text(text, encoding="utf-8")
    return grounds_of(read_sheet(sheet, required=HEADINGS, optional=OPTIONS))


def test_facts_replace_and_blanks_do_not(tmp_path: Path) -> None:
    """A blank leaves what the survey says; "no" is an answer."""
    first, second = read(
        tmp_path,
        "sample,area_m2,bulk_density,moisture_percent,recent_lime_kg_per_ha,months_since_lime,"
        "fizzes,phosphorus,suspected_contamination\nA,20,1.3,15,1000,2,no,forbidden,yes\nB,,,,,,,,\n",
    )
    known = Plot(name="A", area_m2=500, texture="loam", fizzes=True)
    assert first.laid_on(known) == Plot(
        name="A",
        area_m2=20,
        texture="loam",
        bulk_density_g_cm3=1.3,
        moisture=0.15,
        recent_lime_kg_per_ha=1000,
        months_since_lime=2,
        fizzes=False,
        phosphorus_allowed=False,
        suspected_contamination=True,
    )
    assert second.laid_on(known) == known


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("sample,area_m2\nA,-5\n", "Line 2: A number cannot be: area_m2"),
        ("sample,moisture_percent\nA,100\n", "Line 2: A number cannot be: moisture"),
        ("sample,fizzes\nA,perhaps\n", "Line 2: fizzes 'perhaps'"),
        ("sample,phosphorus\nA,yes\n", "Line 2: phosphorus 'yes'"),
        ("sample,area_m2\nA,5\nA,6\n", "Line 3: 'A' stands on line 2"),
    ],
)
def test_a_line_that_cannot_be_is_named(tmp_path: Path, text: str, what: str) -> None:
    """With its number."""
    with pytest.raises(SheetError, match=what):
        read(tmp_path, text)
