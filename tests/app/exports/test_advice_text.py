"""The words of an advice: order, overview, units, and what is left for later."""

from dataclasses import replace

import pytest

from app.exports.advice_text import (
    MOST_IN_FULL,
    OVERVIEW,
    describe_advice,
    in_order,
    overview_row,
    say_value,
)
from app.soil.advice import interpret
from app.soil.crops import find_crop
from app.soil.lime_product import LimeProduct
from app.soil.product_sheet import Products
from app.soil.region import shipped_region
from app.soil.soil_reading import Plot, SoilReading
from app.survey.sample import Sample
from app.survey.sample_advice import SampleAdvice, SurveyAdvice, TestedQuantity
from app.tasks.plan_purchases import plan_purchases

PH = SoilReading(
    quantity="ph", unit="pH", value=5.2, low=5.0, high=5.4, medium="water", ratio="1:1"
)
RIGHT = replace(PH, value=6.5, low=6.3, high=6.7)
OPEN = replace(PH, value=5.5, low=5.3, high=5.7)
LIME = Products(limes=(LimeProduct(name="ground lime", cce_percent=90, bag_kg=25, price=5),))


def advice(label: str, reading: SoilReading, products: Products | None = None) -> SampleAdvice:
    """Return what is said of tomatoes on a bed in Iowa."""
    crop, plot = find_crop("tomato"), Plot(name=label, area_m2=20, depth_cm=15, texture="loam")
    found = interpret([reading], plot, crop, shipped_region("iowa"), products=products)
    return SampleAdvice(
        sample=Sample(label=label),
        site=None,
        plot=plot,
        crop=crop,
        tested=(TestedQuantity(reading=reading, numbers=(1,)),),
        notes=(),
        interpretation=found,
    )


def survey(*samples: SampleAdvice, products: Products | None = None) -> SurveyAdvice:
    """Return what is said of several samples."""
    planned, shopping = plan_purchases(samples, products, None)
    return SurveyAdvice(
        survey_id="s", survey_name="Spring", region="Iowa", samples=planned, shopping=shopping
    )


@pytest.mark.parametrize(
    ("reading", "cell"),
    [
        (PH, "lime 8.0 to 10.7 kg"),  # 400 to 537 g/m2 on 20 m2
        (RIGHT, "none needed"),
        (OPEN, "lime? repeat the test"),
        (replace(PH, low=3.9, high=9.0), "lime? repeat the test"),
        (replace(PH, medium="kcl"), "no amount"),
    ],
)
def test_the_overview_says_what_to_do(reading: SoilReading, cell: str) -> None:
    """In a word or two."""
    row = dict(zip(OVERVIEW, overview_row(advice("A", reading)), strict=True))
    assert row["lime or sulphur"] == cell
    assert row["fertilizer"] == "N 0.244 kg (0.195 to 0.293); P2O5 ?; K2O ?"


def test_what_to_do_comes_before_what_it_is() -> None:
    """And a ban before everything."""
    item = advice("A", PH)
    assert in_order(item)[0].topic == "lime"
    banned = replace(
        item,
        interpretation=interpret(
            [PH],
            replace(item.plot, suspected_contamination=True),
            item.crop,
            shipped_region("iowa"),
        ),
    )
    assert in_order(banned)[0].code == "amounts_withheld"
    assert dict(zip(OVERVIEW, overview_row(banned), strict=True))["lime or sulphur"].startswith(
        "no"
    )


def test_one_sample_is_short() -> None:
    """No overview; no shopping list without a product."""
    text = describe_advice(survey(advice("A", PH)))
    assert "sample  " not in text
    assert "To buy" not in text
    assert max(map(len, text.splitlines())) <= 110


def test_many_samples_are_an_overview() -> None:
    """Not one by one, unless the calculations are asked for."""
    items = [advice(f"A{i}", PH) for i in range(MOST_IN_FULL + 1)]
    text = describe_advice(survey(*items))
    assert text.count("very strongly acid") + text.count("strongly acid") >= len(items)
    assert "Sample A1" not in text
    assert "\nSources\n  [1] USDA Soil Survey Manual" in text
    assert "Sample A1" in describe_advice(survey(*items), steps=True)


def test_lime_that_may_not_be_needed_is_not_bought() -> None:
    """It waits for the repeat of the test; the others' bags are counted together."""
    items = (advice("A", PH, LIME), advice("B", PH, LIME), advice("C", OPEN, LIME))
    found = survey(*items, products=LIME)
    assert found.shopping is not None
    (line,) = found.shopping.lines
    one = items[0].interpretation.lime
    assert one is not None
    assert one.high is not None
    assert line.mass.high == pytest.approx(2 * one.high)
    assert found.shopping.wait == ("C",)
    assert "Repeat the test first, no lime or sulphur yet: C." in describe_advice(found)


def test_one_system_of_units_on_request() -> None:
    """Both by default."""
    found = survey(advice("A", PH))
    assert "8.0 to 10.7 kg, that is 17.7 to 23.7 lb, for this area" in describe_advice(found)
    assert "lb" not in describe_advice(found, units="si").split("Cautions")[0]
    pounds = describe_advice(found, units="us")
    assert "17.7 to 23.7 lb, for this area" in pounds
    assert " kg" not in pounds.split("Cautions")[0]


def test_a_value_without_interval_claims_none() -> None:
    """A laboratory's number as it was typed."""
    typed = replace(PH, value=5.25, low=None, high=None, source="laboratory")
    assert say_value(TestedQuantity(reading=typed)) == "pH 5.25"
