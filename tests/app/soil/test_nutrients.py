"""From extract to soil to field, and into categories; nothing from what is unknown."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.soil.nutrients import (
    Content,
    Gap,
    category,
    category_shares,
    content_per_area,
    extract_factor,
    matching_scale,
    soil_content,
    widest_category,
)
from app.soil.region import shipped_region
from app.soil.region_tables import CATEGORIES
from app.soil.soil_reading import Plot, SoilReading
from app.soil.spread import Spread, exactly
from app.soil.units import convert

NITRATE = SoilReading(
    quantity="nitrogen",
    form="NO3-N",
    basis="extract",
    ratio="1:5",
    ratio_by="mass",
    unit="mg/L",
    value=2.0,
    low=1.5,
    high=2.6,
)
FIELD = Plot(depth_cm=15, bulk_density_g_cm3=1.3)


def content(reading: SoilReading, plot: Plot = FIELD) -> Content:
    """Return the content of a reading that has one."""
    found = soil_content(reading, plot)
    assert isinstance(found, Content), found
    return found


def test_nitrate_from_extract_to_field() -> None:
    """2 mg/L at 1:5 is 10 mg/kg, 19.5 kg/ha and 17.4 lb/acre at 1.3 g/cm3 and 15 cm (computed)."""
    found = content(NITRATE)
    assert (found.unit, found.spread.value) == ("mg/kg", pytest.approx(10))
    amount = content_per_area(found, FIELD)
    assert not isinstance(amount, Gap)
    assert amount.best == pytest.approx(19.5)
    assert (amount.low, amount.high) == (pytest.approx(14.625), pytest.approx(25.35))
    assert amount.in_system("us").best == pytest.approx(17.4, abs=0.05)


@pytest.mark.parametrize(
    ("depth_in", "density"),
    # computed from 2,000,000 lb/acre, the furrow slice of United States convention
    [(20 / 3, 1.324), (6, 1.471), (7, 1.261)],
)
def test_the_furrow_slice(depth_in: float, density: float) -> None:
    """At these depths and densities lb/acre is twice the mg/kg."""
    plot = Plot(depth_cm=convert(depth_in, "in", "cm"), bulk_density_g_cm3=density)
    found = Content(element="P", unit="mg/kg", spread=exactly(100.0))
    amount = content_per_area(found, plot)
    assert not isinstance(amount, Gap)
    assert amount.in_system("us").best == pytest.approx(200, rel=4e-4)
    assert convert(2_000_000, "lb/acre", "kg/ha") == pytest.approx(2.2417e6, abs=50)


def test_a_value_of_the_soil_is_never_multiplied_again() -> None:
    """Whatever ratio stands beside it."""
    soil = replace(NITRATE, basis="soil", unit="mg/kg")
    assert content(soil).spread == NITRATE.spread()
    assert content(replace(soil, ratio="1:10")).spread == NITRATE.spread()
    assert content(replace(soil, unit="ppm")).spread == NITRATE.spread()


def test_oxides_and_ions_become_elements() -> None:
    """100 mg/kg of P2O5 hold 100 / 2.2914 of P; nitrate 1 / 4.4268 of N."""
    oxide = SoilReading(quantity="phosphorus", form="P2O5", basis="soil", unit="mg/kg", value=100.0)
    assert content(oxide).spread.value == pytest.approx(43.642, abs=0.001)
    ion = replace(NITRATE, form="NO3", basis="soil", unit="mg/kg", value=44.268, high=50.0)
    assert content(ion).spread.value == pytest.approx(10, abs=0.001)


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"form": None}, "the form"),
        ({"basis": None}, "the basis"),
        ({"ratio": None}, "the ratio"),
        ({"unit": None}, "a unit of liquid"),
        ({"unit": "mg/kg"}, "a unit of liquid"),
        ({"basis": "soil", "unit": "mmol/kg"}, "a unit of soil"),
        ({"value": None, "low": None, "high": None}, "a value"),
    ],
)
def test_the_unknown_gives_nothing(change: dict[str, str | None], missing: str) -> None:
    """It is named, with what to fill in."""
    found = soil_content(replace(NITRATE, **change), FIELD)
    assert isinstance(found, Gap)
    assert found.missing == missing
    assert found.fill_in


def test_a_ratio_by_volume_has_the_range_of_the_scoop() -> None:
    """1.0 to 1.3 g/mL (from memory), said in a note; 10 g in 8.5 mL is 1.18."""
    found = content(replace(NITRATE, ratio_by="volume", low=2.0, high=2.0))
    assert found.spread.low == pytest.approx(10 / 1.3)
    assert found.spread.high == pytest.approx(10)
    assert "from memory" in found.notes[-1]
    assert content(replace(NITRATE, ratio_by=None)).notes == found.notes
    assert extract_factor((1, 5), scoop_density=10 / 8.5) == pytest.approx(4.25)


def test_moisture_is_taken_off_the_soil_and_added_to_the_liquid() -> None:
    """20 % water: (5 + 0.2) / 0.8 = 6.5 instead of 5."""
    assert extract_factor((1, 5), moisture=0.2) == pytest.approx(6.5)
    moist = content(NITRATE, replace(FIELD, moisture=0.2))
    assert moist.spread.value == pytest.approx(13)
    assert not moist.notes
    assert content(NITRATE).notes == ("the sample is taken as dry",)


def test_what_lacks_depth_or_density_has_no_amount_per_area() -> None:
    """The texture stands in for the density, with its own range on peat."""
    found = content(NITRATE)
    for plot, missing in ((Plot(bulk_density_g_cm3=1.3), "depth"), (Plot(depth_cm=15), "density")):
        gap = content_per_area(found, plot)
        assert isinstance(gap, Gap)
        assert missing in gap.missing
    peat = content_per_area(
        Content(element="N", unit="mg/kg", spread=exactly(10.0)), Plot(depth_cm=15, texture="peat")
    )
    assert not isinstance(peat, Gap)
    assert (peat.low, peat.high) == (pytest.approx(3), pytest.approx(6))


def test_per_litre_of_soil_needs_no_density() -> None:
    """10 mg/L over 20 cm: 2,000 m3 of soil a hectare hold 20 kg."""
    found = Content(element="P", unit="mg/L", spread=exactly(10.0))
    amount = content_per_area(found, Plot(depth_cm=20))
    assert not isinstance(amount, Gap)
    assert amount.best == pytest.approx(20)


@given(value=st.floats(0, 1e5), low=st.floats(0, 1e5), moisture=st.floats(0, 0.9))
def test_contents_are_never_negative(value: float, low: float, moisture: float) -> None:
    """Also where an interval reaches below zero."""
    reading = replace(NITRATE, value=value, low=min(value, low) - 10, high=value + 1)
    assert content(reading, replace(FIELD, moisture=moisture)).spread.low >= 0


@pytest.mark.parametrize(
    ("mg_per_kg", "name"),
    # Rutgers, Mehlich-3 P in lb/acre, halved: 0-12, 12.5-22.5, 23-35.5, 36-68.5, > 68.5
    [
        (12, "very low"),
        (12.5, "low"),
        (22.5, "low"),
        (23, "medium"),
        (35.5, "medium"),
        (36, "high"),
        (68.5, "high"),
        (69, "very high"),
    ],
)
def test_categories_of_new_jersey(mg_per_kg: float, name: str) -> None:
    """lb/acre is twice mg/kg; the edges are the printed ones."""
    scale = shipped_region("new_jersey").categories[0]
    found = Content(element="P", unit="mg/kg", spread=exactly(mg_per_kg))
    (share,) = category_shares(found, scale)
    assert share.label == name == category(2 * mg_per_kg, scale)


@pytest.mark.parametrize(
    ("region", "at", "value", "name"),
    [
        ("new_jersey", 1, 145, "medium"),  # Rutgers, K, lb/acre
        ("new_jersey", 2, 296, "very high"),  # Rutgers, Mg, lb/acre
        ("iowa", 0, 20, "medium"),  # PM 1688, from memory
        ("iowa", 1, 10, "medium"),
        ("minnesota", 0, 10.5, "medium"),  # from memory; 10.5 rounds to 11
        ("oregon", 0, 19, "low"),  # EC 1478, from memory: no class very low
        ("oregon", 0, 0, "low"),
        ("oregon", 2, 31, "very high"),
        ("northern_ireland", 0, 15, "low"),  # Statutory Rules 2019/81, index 1
        ("northern_ireland", 0, 46, "very high"),  # index 4
        ("england_wales", 0, 240, "medium"),  # RB209, index 2+, from memory
    ],
)
def test_categories_elsewhere(region: str, at: int, value: float, name: str) -> None:
    """Value in the unit of the table."""
    assert category(value, shipped_region(region).categories[at]) == name


@given(st.floats(0, 2000), st.floats(0, 2000), st.sampled_from(["new_jersey", "iowa", "oregon"]))
def test_categories_rise_with_the_value(one: float, other: float, region: str) -> None:
    """Never a lower category for more."""
    for scale in shipped_region(region).categories:
        low, high = sorted((one, other))
        assert CATEGORIES.index(category(low, scale)) <= CATEGORIES.index(category(high, scale))


def test_both_categories_are_named() -> None:
    """Iowa Olsen: 9.6 rounds to 10, medium; 8 to 11 reaches into low."""
    scale = shipped_region("iowa").categories[1]
    found = Content(element="P", unit="mg/kg", spread=Spread(value=9.6, low=8.0, high=11.0))
    low, medium = category_shares(found, scale)
    assert (low.label, medium.label) == ("low", "medium")
    assert low.probability + medium.probability == pytest.approx(1, abs=0.01)


def test_the_extractant_must_match() -> None:
    """However it is spelled; nitrate matches by any, and units must be comparable."""
    region = shipped_region("iowa")
    reading = SoilReading(
        quantity="phosphorus", form="P", basis="soil", unit="mg/kg", value=12.0, extractant="BRAY 1"
    )
    found = content(reading)
    assert matching_scale(reading, found, region.categories) is region.categories[0]
    for extractant in (None, "a field kit"):
        other = replace(reading, extractant=extractant)
        assert matching_scale(other, found, region.categories) is None
    assert matching_scale(NITRATE, content(NITRATE), shipped_region("oregon").categories)
    olsen = replace(reading, extractant="Olsen")
    assert matching_scale(olsen, found, shipped_region("northern_ireland").categories) is None


def test_an_orientation_spans_all_scales() -> None:
    """12 mg/kg P in Iowa: low by Bray-1, medium by Olsen."""
    reading = SoilReading(quantity="phosphorus", form="P", basis="soil", unit="mg/kg", value=12.0)
    labels, scales = widest_category(reading, content(reading), shipped_region("iowa").categories)
    assert labels == ("low", "medium")
    assert len(scales) == 2
