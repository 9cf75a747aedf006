"""A second person can check each number: the steps hold what is printed and lead to the amounts."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.soil.advice import Interpretation, interpret
from app.soil.crops import find_crop
from app.soil.lime import lime_methods
from app.soil.lime_product import LimeProduct
from app.soil.product import SulphurProduct
from app.soil.product_sheet import Products
from app.soil.read_off import read_off
from app.soil.region import shipped_region
from app.soil.soil_reading import Plot, SoilReading
from app.soil.statement import Advice
from app.soil.units import Amount

BED = Plot(name="bed", area_m2=20, depth_cm=20, texture="loam", bulk_density_g_cm3=1.3)
PH = SoilReading(
    quantity="ph", unit="pH", value=5.2, low=5.0, high=5.4, medium="water", ratio="1:1"
)
PRODUCTS = Products(
    limes=(LimeProduct(name="ground lime", cce_percent=90, fineness_percent=76, bag_kg=25),),
    sulphurs=(SulphurProduct(name="prills", percent=90, bag_kg=25),),
)


def said(reading: SoilReading, *more: SoilReading, crop: str = "tomato") -> Interpretation:
    """Return what is said in New Jersey."""
    region = shipped_region("new_jersey")
    return interpret([reading, *more], BED, find_crop(crop), region, products=PRODUCTS)


def find(found: Interpretation, code: str) -> Advice:
    """Return the first advice of a code."""
    return next(advice for advice in found.advice if advice.code == code)


def results(advice: Advice, words: str) -> list[Amount]:
    """Return what came out of the steps that hold some words."""
    return [step.result for step in advice.steps if step.result and words in step.text]


def test_the_rough_guide_shows_its_rows() -> None:
    """Both tables at both ends, as printed; depth, product, area, bags, dressings in this order."""
    lime = find(said(PH), "lime_rough_guide")
    texts = [step.text for step in lime.steps]
    # vcalc.com and agroconection.com, loam: 110 lb/1000 ft2 and 10.5 lb/100 ft2 at pH 5.0
    assert any("lb/1000 ft2: 110 at pH 5;" in text for text in texts)
    assert any("lb/100 ft2: 10.5 at pH 5;" in text for text in texts)
    assert any("82 at pH 5.4, between 110 at 5 and 75 at 5.5" in text for text in texts)
    looked_up = results(lime, "Lime at pH")
    (rate,) = results(lime, "From the least")
    assert (rate.low, rate.high) == (
        pytest.approx(min(a.best for a in looked_up)),
        pytest.approx(max(a.best for a in looked_up)),
    )
    assert looked_up[1].best == pytest.approx(10.5 * 48.824 * 20 / 15, rel=1e-4)
    (of_product,) = results(lime, "CCE 90 % x fineness 76 %")
    assert of_product.high == pytest.approx(rate.high / 0.684)
    (total,) = results(lime, "x 20 m2")
    assert total.high == pytest.approx(of_product.high * 20 / 1000)
    assert lime.amounts[0] == total
    order = [
        "tomato likes",
        "Lime at pH",
        "From the least",
        "/ 0.684",
        "x 20 m2",
        "a bag",
        "At most",
    ]
    places = [next(i for i, text in enumerate(texts) if part in text) for part in order]
    assert places == sorted(places)


@pytest.mark.parametrize("method", lime_methods(), ids=lambda method: method.key)
def test_a_laboratory_rate_shows_its_formula(method: object) -> None:
    """The printed formula, what was put in, and the rate in the source's own unit."""
    key, span = method.key, method.span  # type: ignore[attr-defined]
    value = round(0.6 * span[0] + 0.4 * span[1], 2)
    measured = SoilReading(
        quantity=method.measures,  # type: ignore[attr-defined]
        value=value,
        method=key,
        source="laboratory",
    )
    lime = find(said(PH, measured), "lime_laboratory")
    formula = lime.steps[1]
    assert formula.text.endswith(method.formula)  # type: ignore[attr-defined]
    assert formula.citation == method.citation  # type: ignore[attr-defined]
    (put_in,) = results(lime, "Put in")
    assert put_in.unit == method.unit  # type: ignore[attr-defined]
    assert f"{value:g}" in lime.steps[2].text


def test_north_carolina_can_be_followed_by_hand() -> None:
    """Ac = 4 (6.6 - 6.2) = 1.6; 1.6 (6.5 - 5.2) / (6.6 - 5.2) = 1.486 ton/acre (computed)."""
    measured = SoilReading(
        quantity="buffer_ph", value=6.2, method="mehlich_nc", source="laboratory"
    )
    lime = find(said(PH, measured), "lime_laboratory")
    (rate,) = results(lime, "Put in: buffer pH 6.2, pH 5.2, target 6.5")
    assert rate.unit == "ton/acre"
    assert rate.best == pytest.approx(1.6 * 1.3 / 1.4)


def test_the_formulas_in_words_are_those_of_the_tables() -> None:
    """What is shown for the tri-state and Kansas lines holds their printed coefficients."""
    by_key = {method.key: method.formula for method in lime_methods()}
    for number in ("71.4", "10.3", "60.4", "8.7", "49.3", "7.1"):  # E-2567, LTI is 10 BpH
        assert number in by_key["smp_tristate"]
    for number in ("25620", "6360", "391", "12810", "3180", "196"):  # MF-2586
        assert number in by_key["smp_kansas"]


def test_sulphur_shows_every_source_of_every_stretch() -> None:
    """The low end adds up the lowest, the high end the highest; x depth and product."""
    reading = replace(PH, value=7.2, low=7.1, high=7.3)
    sulphur = find(said(reading, crop="potato"), "sulphur_guide")
    assert {step.citation for step in sulphur.steps} >= set(sulphur.citations[:-2])
    (rate,) = results(sulphur, "20/15 for the depth")
    (of_product,) = results(sulphur, "prills holds 90 % sulphur")
    assert of_product.low == pytest.approx(rate.low / 0.9)


def test_a_nutrient_shows_its_way_from_the_tube_to_the_field() -> None:
    """2 mg/L at 1:5 is 10 mg/kg; x 1.3 g/cm3 x 20 cm x 0.1 (computed)."""
    phosphorus = SoilReading(
        quantity="phosphorus",
        form="P",
        basis="extract",
        ratio="1:5",
        ratio_by="mass",
        unit="mg/L",
        value=2.0,
        low=1.8,
        high=2.2,
        extractant="Mehlich-3",
    )
    advice = find(said(PH, phosphorus), "category")
    (soil,) = results(advice, "x 5 for soil to liquid 1:5")
    assert soil.best == pytest.approx(10)
    (compared,) = results(advice, "Mehlich-3, lb/acre, rounded to 1: very low from 0 to below 25")
    assert compared.best == pytest.approx(20)  # lb/acre is twice mg/kg (Rutgers)
    (field,) = results(advice, "1.3 g/cm3 (as given) x 20 cm x 0.1")
    assert field.best == pytest.approx(26)
    oxide = next(a for a in advice.amounts if a.name == "counted as P2O5")
    assert oxide.best == pytest.approx(26 * 2.2914, rel=1e-4)


def test_a_recommendation_shows_its_row() -> None:
    """Very low to medium as printed, then the area."""
    laboratory = SoilReading(
        quantity="phosphorus",
        form="P",
        basis="soil",
        unit="mg/kg",
        value=15.0,
        low=11.0,
        high=19.0,
        extractant="Mehlich-3",
        source="laboratory",
    )
    advice = next(a for a in said(PH, laboratory).advice if a.subject == "P2O5")
    (rate,) = results(advice, "P2O5 for vegetable garden, lb/1000 ft2: very low: 5; low: 4")
    assert rate.in_system("us").high == pytest.approx(5 * 43.56, rel=1e-4)  # lb/acre
    (total,) = results(advice, "x 20 m2")
    assert advice.amounts[0].best == pytest.approx(total.best)


@settings(max_examples=60, deadline=None)
@given(
    value=st.floats(4.3, 8.2),
    half=st.floats(0, 0.3),
    texture=st.sampled_from(["sand", "loam", "clay loam"]),
    crop=st.sampled_from(["tomato", "potato", "azalea", "asparagus", "lawn"]),
)
def test_whatever_is_spread_has_steps_with_sources(
    value: float, half: float, texture: str, crop: str
) -> None:
    """The last total in the steps is the amount that is shown."""
    reading = replace(PH, value=value, low=value - half, high=value + half)
    region = shipped_region("new_jersey")
    plot = replace(BED, texture=texture)
    found = interpret([reading], plot, find_crop(crop), region, products=PRODUCTS)
    for advice in found.advice:
        if advice.topic in ("lime", "sulphur") and advice.amounts:
            totals = [s.result for s in advice.steps if s.text.startswith("x 20 m2")]
            assert advice.amounts[0] == totals[-1]
            assert {s.citation for s in advice.steps if s.citation} <= set(advice.citations)


def test_between_rows_is_said() -> None:
    """On a row the row alone; beyond an end the end."""
    assert read_off([4, 5], [2, 1], 4).printed == "2 at pH 4"
    assert read_off([4, 5], [2, 1], 6) == (1.0, "1 at pH 6")
    assert read_off([4, 5], [2, 1], 4.25).value == pytest.approx(1.75)


@settings(max_examples=60, deadline=None)
@given(
    value=st.floats(4.5, 8.0),
    down=st.floats(0, 0.6),
    half=st.floats(0, 0.3),
    texture=st.sampled_from(["sand", "loam", "clay"]),
)
def test_more_acid_soil_never_gets_less_lime_nor_more_sulphur(
    value: float, down: float, half: float, texture: str
) -> None:
    """Both ends of the total, through product, area and bags; what is not given counts as none."""

    def totals(at: float) -> tuple[float, float, float, float]:
        reading = replace(PH, value=at, low=at - half, high=at + half)
        plot, region = replace(BED, texture=texture), shipped_region("new_jersey")
        found = interpret([reading], plot, find_crop("potato"), region, products=PRODUCTS)
        lime, sulphur = found.lime, found.sulphur
        assert lime is None or sulphur is None
        return (
            0.0 if lime is None else lime.low or 0.0,
            0.0 if lime is None else lime.high or 0.0,
            0.0 if sulphur is None else sulphur.low or 0.0,
            0.0 if sulphur is None else sulphur.high or 0.0,
        )

    acid, less = totals(value - down if value - down - half >= 4.0 else value), totals(value)
    assert min(*acid, *less) >= 0
    assert acid[0] >= less[0] - 1e-9
    assert acid[1] >= less[1] - 1e-9
    assert acid[2] <= less[2] + 1e-9
    assert acid[3] <= less[3] + 1e-9
