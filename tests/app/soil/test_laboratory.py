"""What a laboratory measured, typed in: never mistaken for what a color test says."""

from pathlib import Path

import pytest

from app.soil.laboratory import HEADINGS, OPTIONS, LaboratoryValue, laboratory_values
from app.soil.lime import lime_methods
from calibration.sheet_reader import read_sheet
from colorcore.errors import SheetError

HEAD = "sample,method,value,quantity,unit,form,low,high,uncertainty\n"


def read(folder: Path, text: str) -> tuple[LaboratoryValue, ...]:
    """Read a sheet."""
    sheet = folder / "lab.csv"
    sheet.write_text(text, encoding="utf-8")
    return laboratory_values(read_sheet(sheet, required=HEADINGS, optional=OPTIONS))


@pytest.mark.parametrize("method", lime_methods(), ids=lambda method: method.key)
def test_every_method_is_known_by_key_and_title(tmp_path: Path, method: object) -> None:
    """And tells by itself what was measured."""
    key, title = method.key, method.title  # type: ignore[attr-defined]
    for name in (key, f'"{title.upper()}"'):
        (found,) = read(tmp_path, f"sample,method,value\nA1,{name},6.2\n")
        assert found.reading.method == key
        assert found.reading.quantity == method.measures  # type: ignore[attr-defined]
        assert found.reading.source == "laboratory"


def test_ph_and_nutrients(tmp_path: Path) -> None:
    """Acidity by its liquid and ratio, nutrients per kilogram of soil by their extractant."""
    ph, acid, phosphorus = read(
        tmp_path,
        f"{HEAD}A1,pH in water 1:2.5,5.4,,,,,,0.1\nA1,0.01 M CaCl2,4.9,pH,,,,,\n"
        "A1,Mehlich-3,15,Phosphorus,ppm,p,12,18,\n",
    )
    assert (ph.reading.quantity, ph.reading.medium, ph.reading.ratio) == ("ph", "water", "1:2.5")
    assert ph.reading.high == pytest.approx(5.4 + 1.6449 * 0.1, abs=1e-5)
    assert acid.reading.medium == "cacl2"
    assert (phosphorus.reading.basis, phosphorus.reading.form) == ("soil", "P")
    assert (phosphorus.reading.extractant, phosphorus.reading.low) == ("Mehlich-3", 12)


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("A1,guess,6.2,,,,,,", "'guess' does not tell what was measured"),
        ("A1,SMP,6.2,buffer pH,,,,,", "lime method 'SMP' is not known"),
        ("A1,woodruff,6.2,exchangeable acidity,,,,,", "not a method of exchangeable acidity"),
        ("A1,woodruff,6.2,,mg/kg,,,,", "unit of buffer ph is mg/kg"),
        ("A1,woodruff,,,,,,,", "'value' is blank"),
        ("A1,electrode,6.2,pH,,,,,", "in which liquid"),
        ("A1,Olsen,7,phosphorus,,,,,", "unit of phosphorus is blank"),
        ("A1,Olsen,7,phosphorus,mg/kg,K,,,", "no form of phosphorus"),
        ("A1,Olsen,7,gold,mg/kg,,,,", "quantity 'gold'"),
        ("A1,Olsen,7,phosphorus,mg/kg,P,8,9,", "does not hold the value"),
        ("A1,Olsen,7,phosphorus,mg/kg,P,6,,", "does not hold the value"),
        ("A1,Olsen,7,phosphorus,mg/kg,P,6,8,1", "beside an interval"),
        (",woodruff,6.2,,,,,,", "'sample' is blank"),
    ],
)
def test_a_line_that_cannot_be_is_named(tmp_path: Path, line: str, what: str) -> None:
    """With its number, and what to do."""
    with pytest.raises(SheetError, match=f"Line 2: .*{what}") as caught:
        read(tmp_path, f"{HEAD}{line}\n")
    assert caught.value.what_to_do
