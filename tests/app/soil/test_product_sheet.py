"""What a user has, from a sheet; a line that cannot be is named."""

from pathlib import Path

import pytest

from app.soil.lime_product import LimeProduct
from app.soil.product import SulphurProduct
from app.soil.product_sheet import HEADINGS, OPTIONS, Products, products_of
from calibration.sheet_reader import read_sheet
from colorcore.errors import SheetError

HEAD = (
    "name,grade,n,p2o5,k2o,acidity,cce,fineness,pass_20,pass_60,pass_100,fineness_by,sulphur,"
    "bag_kg,bag_lb,price\n"
)


def read(folder: Path, text: str) -> Products:
    """Read a sheet."""
    sheet = folder / "products.csv"
    sheet.write_text(text, encoding="utf-8")
    return products_of(read_sheet(sheet, required=HEADINGS, optional=OPTIONS))


def test_what_is_filled_in_says_what_it_is(tmp_path: Path) -> None:
    """Grade in one cell or three, a lime by its sieves, sulphur, bags in kg or lb, or loose."""
    found = read(
        tmp_path,
        "Name;Grade;N;K2O;CCE;pass 20;pass 60;pass 100;fineness by;sulphur;bag kg;bag lb;price\n"
        "mix;15,5-0-10;;;;;;;;;25;;12,5\n"
        "manure;;1;1;;;;;;;;;0\n"
        "lime;;;;90;95;70;50;Cornell;;;50;4\n"
        "prills;;;;;;;;;90;25;;30\n",
    )
    mix, manure = found.fertilisers
    assert (mix.grade, mix.bag_kg, mix.price) == ((15.5, 0, 10), 25, 12.5)
    assert (manure.grade, manure.bag_kg, manure.price) == ((1, 0, 1), None, 0)
    (lime,) = found.limes
    assert lime.effective_percent == pytest.approx(68.4)  # ENV of the worked example, computed
    assert lime.bag_kg == pytest.approx(50 * 0.45359237)
    assert found.sulphurs == (SulphurProduct(name="prills", percent=90, bag_kg=25, price=30),)


def test_a_common_name_brings_its_acidity(tmp_path: Path) -> None:
    """Where the sheet says none, and the nitrogen is the same (Pierre's convention, memory)."""
    found = read(
        tmp_path, "name,grade,acidity\nUrea,46-0-0,\nurea of ours,46-0-0,\nsulphate,21-0-0,5\n"
    )
    assert [item.acidity for item in found.fertilisers] == [1.8, None, 5]


def test_the_lime_that_costs_least_for_what_it_does() -> None:
    """Per kilogram of effective calcium carbonate; without all prices the first."""
    strong = LimeProduct(name="strong", cce_percent=100, bag_kg=25, price=6)  # 0.24 a kg
    weak = LimeProduct(name="weak", cce_percent=50, bag_kg=25, price=4)  # 0.32 a kg
    loose = LimeProduct(name="loose", cce_percent=80, price=0.16)  # 0.20 a kg
    assert Products(limes=(weak, strong)).lime == strong
    assert Products(limes=(weak, strong, loose)).lime == loose
    unpriced = LimeProduct(name="unpriced", cce_percent=100)
    assert Products(limes=(weak, unpriced)).lime == weak
    assert Products().lime is None
    assert Products().sulphur is None


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("mix,60-60-0,,,,,,,,,,,,,,", "grade 60-60-0 cannot be"),
        ("mix,0-0-0,,,,,,,,,,,,,,", "grade 0-0-0 cannot be"),
        ("mix,ten,,,,,,,,,,,,,,", "grade 'ten' is not understood"),
        ("mix,10-0-0,5,,,,,,,,,,,,,", "is not understood"),
        ("mix,,-5,9,,,,,,,,,,,,", "cannot be"),
        ("thing,,,,,,,,,,,,,25,,", "no fertilizer, no lime and no sulphur"),
        ("thing,10-0-0,,,,,90,,,,,,,,,", "more than one of them"),
        ("gypsum,,,,,,0,,,,,,,,,", "it is no lime"),
        ("lime,,,,,,300,,,,,,,,,", "cce of 300"),
        ("lime,,,,,,90,120,,,,,,,,", "fineness of 120"),
        ("lime,,,,,,90,,95,70,50,,,,,", "by whose rule"),
        ("lime,,,,,,90,,95,70,,cornell,,,,", "sieves 20, 60, 100"),
        ("lime,,,,,,90,,50,70,80,cornell,,,,", "finer sieve"),
        ("prills,,,,,,,,,,,,190,,,", "Sulphur of 190"),
        ("mix,10-0-0,,,,,,,,,,,,0,,", "bag cannot hold 0 kg"),
        ("mix,10-0-0,,,,,,,,,,,,25,50,", "in kg and one in lb"),
        ("mix,10-0-0,,,,,,,,,,,,25,,-1", "price is below 0"),
        (",10-0-0,,,,,,,,,,,,25,,", "'name' is blank"),
    ],
)
def test_a_line_that_cannot_be_is_named(tmp_path: Path, line: str, what: str) -> None:
    """With its number, and what to do."""
    with pytest.raises(SheetError, match=f"Line 3: .*{what}") as caught:
        read(tmp_path, f"{HEAD}first,10-0-0,,,,,,,,,,,,,,\n{line}\n")
    assert caught.value.what_to_do


def test_two_products_of_one_name_are_refused(tmp_path: Path) -> None:
    """Also where one is a lime."""
    with pytest.raises(SheetError, match="Line 3: 'Mix' stands on line 2"):
        read(tmp_path, "name,grade,cce\nmix,10-0-0,\nMix,,90\n")
