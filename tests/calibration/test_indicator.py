"""What a chart measures, in the words that people write."""

import pytest

from calibration.errors import AnalyteError
from calibration.indicator import Analyte, read_analyte


def test_what_is_not_said_stays_unknown() -> None:
    """A unit of mass says nothing about the substance."""
    assert read_analyte(unit="mg/kg") == Analyte(unit="mg/kg")
    assert read_analyte(quantity=" ", unit=None) == Analyte()
    assert read_analyte(quantity="nitrate", unit="ppm").form is None


@pytest.mark.parametrize(
    ("said", "quantity", "form", "unit"),
    [
        ({"unit": "ph"}, "ph", None, "pH"),
        ({"quantity": "PH"}, "ph", None, "pH"),
        ({"quantity": "nitrate nitrogen", "unit": "mg/kg"}, "nitrogen", "NO3-N", "mg/kg"),
        ({"form": "p2o5", "unit": "MG/L"}, "phosphorus", "P2O5", "mg/L"),
        ({"quantity": "Potassium", "unit": "ppm"}, "potassium", None, "ppm"),
        ({"quantity": "Chloride", "unit": "meq"}, "Chloride", None, "meq"),
    ],
)
def test_spellings(said: dict[str, str], quantity: str, form: str | None, unit: str | None) -> None:
    """Usual spellings meet; own words stay as written."""
    found = read_analyte(**said)
    assert (found.quantity, found.form, found.unit) == (quantity, form, unit)


@pytest.mark.parametrize(
    "said",
    [
        {"quantity": "phosphorus", "form": "NO3"},
        {"quantity": "nitrate nitrogen", "form": "NO3"},
        {"quantity": "ph", "unit": "mg/kg"},
        {"quantity": "potassium", "unit": "pH"},
        {"form": "K2O", "unit": "pH"},
    ],
)
def test_contradictions_are_refused(said: dict[str, str]) -> None:
    """Neither half wins."""
    with pytest.raises(AnalyteError, match="do not go together"):
        read_analyte(**said)


@pytest.mark.parametrize(
    "said",
    [
        {"form": "NO4"},
        {"basis": "plant"},
        {"ratio": "5"},
        {"ratio": "0:5"},
        {"ratio": "1:-5"},
        {"ratio": "1:1e9"},
        {"quantity": "x" * 81},
    ],
)
def test_words_that_are_not_understood_are_refused(said: dict[str, str]) -> None:
    """With what to do about it."""
    with pytest.raises(AnalyteError) as caught:
        read_analyte(**said)
    assert caught.value.what_to_do


@pytest.mark.parametrize(
    "wrong",
    [
        {"form": "P"},
        {"form": "X"},
        {"basis": "air"},
        {"quantity": "ph", "unit": "mg/kg"},
        {"unit": "pH"},
    ],
)
def test_an_impossible_analyte_cannot_be_made(wrong: dict[str, str]) -> None:
    """Programmers get a ValueError."""
    with pytest.raises(ValueError, match=r"form|basis|unit"):
        Analyte(**wrong)  # type: ignore[arg-type]
