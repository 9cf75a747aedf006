"""Methods, tests and known values from tables."""

from datetime import timedelta

import pytest

from app.survey.import_lab import read_known_values, read_methods, read_tests
from colorcore.errors import SheetError
from tests.app.sample_surveys import NOW
from tests.app.survey.test_import_tables import table


def test_methods() -> None:
    """Ratio as charts write it, minutes as numbers, yes and no as such."""
    (method,) = read_methods(
        table(
            ("Method", "Soil:water", "Extractant", "Color from (min)", "Subtract blank"),
            ("shake", "1 : 5", "water", "10", "yes"),
        )
    )
    assert (method.ratio, method.color_from_min, method.subtract_blank) == ("1:5", 10, True)
    with pytest.raises(SheetError, match=r"Row 2: .*neither yes nor no"):
        read_methods(table(("method", "subtract blank"), ("shake", "perhaps")))


def test_tests() -> None:
    """The quantity by any usual name; without an id the sample and quantity make one."""
    (test,) = read_tests(
        table(
            ("Sample", "Quantity", "Indicator at"),
            ("A1", "nitrate nitrogen", "2026-05-01T09:30+02:00"),
        )
    )
    assert (test.id, test.quantity) == ("A1, nitrogen", "nitrogen")
    assert test.indicator_added_at == NOW
    assert test.indicator_added_at.utcoffset() == timedelta(hours=2)
    (local,) = read_tests(table(("sample", "quantity", "shaken"), ("A1", "pH", "2026-05-01 09:30")))
    assert local.shaken_at is not None
    assert local.shaken_at.utcoffset() is not None
    with pytest.raises(SheetError, match=r"Row 2: .*write it as 2026-05-01 09:30"):
        read_tests(table(("sample", "quantity", "shaken"), ("A1", "pH", "2026-05-01")))
    with pytest.raises(SheetError, match="'A1, ph' stands in row 2 already"):
        read_tests(table(("sample", "quantity"), ("A1", "pH"), ("A1", "ph")))


def test_known_values() -> None:
    """A pH has its unit by itself; an unknown source or a blank value is named by its row."""
    head = ("Sample", "Quantity", "Value", "Unit", "Source")
    one, two = read_known_values(
        table(
            head,
            ("A1", "pH", 6.5, None, "Electrode"),
            ("A1", "Phosphorus", 12, "mg / L", "laboratory"),
        ),
        noted_at=NOW,
        noted_by="P1",
    )
    assert (one.quantity, one.unit, one.value, one.source) == ("ph", "pH", 6.5, "electrode")
    assert (two.quantity, two.unit) == ("phosphorus", "mg/L")
    for row, said in (
        (("A1", "pH", None, None, "electrode"), "the value is blank"),
        (("A1", "pH", 6.5, None, "a friend"), "source must be one of"),
    ):
        with pytest.raises(SheetError, match=f"Row 2: {said}"):
            read_known_values(table(head, row), noted_at=NOW, noted_by="P1")
