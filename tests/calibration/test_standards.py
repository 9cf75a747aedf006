"""Buffers and recipes beside printed values, and what is asked of them beyond the tables."""

import pytest

from calibration.errors import StandardError
from calibration.recipes import citrate_phosphate_recipe, fill_gap, propose_standards
from calibration.standards import certified_value, find_buffer, list_buffers
from calibration.table_reader import load_table
from tests.published import published


@pytest.mark.parametrize("row", published("buffers_25c.csv"), ids=lambda row: row["buffer"])
def test_values_at_25_c_are_the_printed_ones(row: dict[str, str]) -> None:
    """Equal to the last decimal that was printed."""
    assert certified_value(row["buffer"], 25).value == pytest.approx(float(row["ph"]), abs=0.0005)


@pytest.mark.parametrize("temperature_c", [0, 5, 10, 15, 20, 25, 30, 35, 40, 50])
def test_phthalate_agrees_with_its_redetermination(temperature_c: int) -> None:
    """Within 0.0105: the redetermination of 1977 lies up to 0.010 above the older column."""
    (row,) = published("phthalate_hetzer_1977.csv")
    kelvin = temperature_c + 273.15
    a, b, c, d = (float(row[key]) for key in "abcd")
    redetermined = a / kelvin + b + c * kelvin + d * kelvin**2
    difference = redetermined - certified_value("phthalate", temperature_c).value
    assert -0.0005 < difference < 0.0105


@pytest.mark.parametrize("temperature_c", range(0, 51, 5))
def test_two_sources_agree_on_the_carbonate_buffer(temperature_c: int) -> None:
    """The shop buffer 10.01 has the certified one's composition; its two decimals must agree."""
    certified = certified_value("carbonate", temperature_c).value
    assert certified_value("ph10", temperature_c).value == pytest.approx(certified, abs=0.0051)


def test_between_two_temperatures_the_line_is_straight() -> None:
    """Borax at 22 C: 9.225 + 0.4 (9.180 - 9.225) = 9.207."""
    assert certified_value("borax", 22).value == pytest.approx(9.207, abs=1e-9)


@pytest.mark.parametrize(("temperature_c", "ph"), [(15, 10.12), (20, 10.06)])
def test_shop_buffer_ten_is_not_shifted_by_a_row(temperature_c: float, ph: float) -> None:
    """Some public tables print the value of 15 C at 20 C."""
    assert certified_value("ph10", temperature_c).value == pytest.approx(ph, abs=1e-9)


@pytest.mark.parametrize("temperature_c", [-0.1, 50.1, float("nan"), float("inf")])
def test_nothing_is_extrapolated(temperature_c: float) -> None:
    """Outside 0 to 50 C there is an error that gives the span."""
    with pytest.raises(StandardError, match="0 to 50 °C"):
        certified_value("borax", temperature_c)


@pytest.mark.parametrize(
    ("buffer", "temperature_c", "span"),
    [
        ("tartrate", 20, "25 to 50 °C"),
        ("tartrate", 24.9, "25 to 50 °C"),
        ("phthalate", 45, "0 to 40 °C and 50 °C"),
        ("phthalate", 42, "0 to 40 °C and 50 °C"),
    ],
)
def test_a_missing_cell_is_not_bridged(buffer: str, temperature_c: float, span: str) -> None:
    """The error says where there are values."""
    with pytest.raises(StandardError, match=span):
        certified_value(buffer, temperature_c)


def test_values_carry_uncertainty_and_source() -> None:
    """Primary 0.004 and 0.01 of convention, secondary 0.01 and 0.01, shop 0.02."""
    assert certified_value("phthalate", 25).uncertainty == pytest.approx(0.01077, abs=5e-6)
    assert certified_value("tetroxalate", 25).uncertainty == pytest.approx(0.01414, abs=5e-6)
    assert certified_value("ph7", 25).uncertainty == pytest.approx(0.02)
    assert "IUPAC" in certified_value("borax", 25).source
    assert "MI 611-211" in certified_value("ph7", 25).source


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("Phthalate", "phthalate"),
        ("KHP", "phthalate"),
        ("borax buffer", "borax"),
        ("pH 4", "ph4"),
        ("ph4", "ph4"),
        ("4.00", "ph4"),
        ("pH 4.01", "ph4.01"),
        ("PH_7", "ph7"),
        ("pH 10.01", "ph10"),
        ("10", "ph10"),
        ("physiological-phosphate", "physiological phosphate"),
        ("phosphate", "phosphate"),
    ],
)
def test_buffers_are_found_by_many_spellings(name: str, found: str) -> None:
    """Case, blanks and the word buffer do not matter."""
    assert find_buffer(name).name == found


@pytest.mark.parametrize(
    ("typo", "meant"), [("phtalate", "phthalate"), ("borx", "borax"), ("carbonat", "carbonate")]
)
def test_a_typo_is_answered_with_the_likely_name(typo: str, meant: str) -> None:
    """The error asks 'did you mean'."""
    with pytest.raises(StandardError, match=f"Did you mean '{meant}'"):
        find_buffer(typo)


@pytest.mark.parametrize("name", ["", "vinegar", "ph8.5", "12", "x" * 5000])
def test_an_unknown_buffer_is_not_guessed(name: str) -> None:
    """Nothing is taken for something else."""
    with pytest.raises(StandardError, match="no buffer"):
        find_buffer(name)


def test_no_two_buffers_share_a_name_and_each_has_values() -> None:
    """Every name leads to its own buffer, and every buffer has a value at 25 C."""
    for buffer in list_buffers():
        assert all(find_buffer(name) == buffer for name in (buffer.name, *buffer.aliases))
        assert 1 < certified_value(buffer.name, 25).value < 13


def test_every_recipe_of_the_series_fills_20_ml() -> None:
    """A + B = 20.00 mL in every printed row; the acid falls as the pH rises."""
    rows = load_table("citrate_phosphate.csv").records()
    assert len(rows) == 30
    for row in rows:
        total = float(row["phosphate_ml"]) + float(row["citric_acid_ml"])
        assert total == pytest.approx(20, abs=1e-9)
    acid = [float(row["citric_acid_ml"]) for row in rows]
    assert acid == sorted(acid, reverse=True)


def test_a_recipe_scales_and_interpolates() -> None:
    """Between pH 5.0 (10.30 mL) and 5.2 (10.72 mL), in 50 mL."""
    recipe = citrate_phosphate_recipe(5.1, 50)
    assert recipe.phosphate_ml == pytest.approx(2.5 * 10.51)
    assert recipe.phosphate_ml + recipe.citric_acid_ml == pytest.approx(50)
    assert "ionic strength" in recipe.warning
    assert citrate_phosphate_recipe(2.2).phosphate_ml == pytest.approx(0.40)
    assert citrate_phosphate_recipe(8.0).phosphate_ml == pytest.approx(19.45)


@pytest.mark.parametrize("ph", [2.19, 8.01, float("nan")])
def test_the_series_is_not_continued(ph: float) -> None:
    """Outside 2.2 to 8.0 there is an error that gives the span."""
    with pytest.raises(StandardError, match=r"2\.2 to 8"):
        citrate_phosphate_recipe(ph)


@pytest.mark.parametrize("total_ml", [0, -1, float("nan"), float("inf")])
def test_a_recipe_needs_a_volume(total_ml: float) -> None:
    """A volume that cannot be is a programmer's mistake."""
    with pytest.raises(ValueError, match="total_ml"):
        citrate_phosphate_recipe(7, total_ml)


@pytest.mark.parametrize("at_hand", [(4.00, 7.00, 10.01), (10.06, 4.0, 7.02), (4.0, 7.04, 10.12)])
def test_three_shop_buffers_get_the_missing_standards(at_hand: tuple[float, ...]) -> None:
    """Four more make a chart of unit steps; what the series cannot make says so."""
    proposals = propose_standards(at_hand)
    assert [round(p.value) for p in proposals] == [5, 6, 8, 9]
    for proposal in proposals:
        assert (proposal.recipe is not None) == (proposal.value <= 8)
        assert "mL" in proposal.text or "borate" in proposal.text
    assert propose_standards((*at_hand, *(p.value for p in proposals))) == ()


def test_a_fine_chart_gets_no_proposal_and_a_gap_of_color_gets_its_middle() -> None:
    """Half units are fine; a gap that is coarse by color alone still gets one standard."""
    assert propose_standards((5.0, 5.5, 6.0, 7.0)) == ()
    assert [p.value for p in fill_gap(5.0, 6.0)] == [5.5]
