"""All that is said of one sample: what is given, what is withheld, and why."""

import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.soil.advice import Interpretation, interpret, water_ph
from app.soil.crops import find_crop, shipped_crops
from app.soil.lime_product import LimeProduct
from app.soil.mix import best_mix
from app.soil.product import common_products
from app.soil.product_sheet import Products
from app.soil.region import Region, own_region, region_names, shipped_region
from app.soil.soil_reading import Plot, SoilReading, textures
from app.soil.statement import Advice
from app.soil.units import Amount

BED = Plot(name="bed", area_m2=20, depth_cm=15, texture="loam", phosphorus_allowed=True)
PH = SoilReading(
    quantity="ph", unit="pH", value=5.2, low=5.0, high=5.4, medium="water", ratio="1:1"
)
P_LAB = SoilReading(
    quantity="phosphorus",
    form="P",
    basis="soil",
    unit="mg/kg",
    value=15.0,
    extractant="Mehlich-3",
    source="laboratory",
)
TOMATO = find_crop("tomato")
JERSEY = shipped_region("new_jersey")


def said(
    readings: list[SoilReading], plot: Plot = BED, crop: str = "tomato", **more: object
) -> Interpretation:
    """Return what is said in New Jersey."""
    return interpret(readings, plot, find_crop(crop), JERSEY, **more)  # type: ignore[arg-type]


def find(found: Interpretation, code: str) -> Advice:
    """Return the only advice of a code."""
    (advice,) = (advice for advice in found.advice if advice.code == code)
    return advice


def amount(advice: Advice, name: str) -> Amount:
    """Return the amount of a name."""
    (one,) = (item for item in advice.amounts if item.name == name)
    return one


def codes(found: Interpretation) -> set[str]:
    """Return the codes of all advice."""
    return {advice.code for advice in found.advice}


def test_a_gardener_with_one_bed() -> None:
    """A sour bed for tomatoes: class, crop, rough guide as range, nothing invented."""
    found = said([PH])
    statement = find(found, "reaction_class").statement
    assert statement == "The soil is very strongly acid (11 %) or strongly acid (89 %)."
    lime = find(found, "lime_rough_guide")
    assert "rough guide" in lime.statement
    rate = amount(lime, "rate")
    # loam to pH 6.5: first table at 5.4 (405), second at 5.4 (415); at 5.0 both 537 and 513
    assert rate.best is None
    assert (rate.low, rate.high) == (pytest.approx(400.4, abs=0.5), pytest.approx(537, abs=0.5))
    assert amount(lime, "for this area").high == pytest.approx(537 * 20 / 1000, abs=0.02)
    assert amount(lime, "dressings").high == 2
    assert all(citation.source and citation.region for citation in lime.citations)
    assert {caution.code for caution in lime.cautions} >= {"screening", "lime_safety"}
    assert "no_category" in codes(found)  # phosphorus and potassium were not tested
    assert found.need is not None
    assert found.need.without == ("P2O5",)


def test_both_units_of_every_amount() -> None:
    """What has a counterpart can be shown in both."""
    rate = amount(find(said([PH]), "lime_rough_guide"), "rate")
    assert rate.in_system("us").unit == "lb/1000 ft2"
    assert rate.in_system("us").high == pytest.approx(110, abs=0.1)  # as printed for loam at 5.0


def test_a_reading_that_may_be_right_asks_for_a_repeat() -> None:
    """The interval reaches into no lime at all."""
    lime = find(said([replace(PH, value=5.4, low=5.1, high=5.7)]), "lime_rough_guide")
    assert "reaches into no lime at all" in lime.statement
    assert lime.what_to_do is not None
    assert "Repeat" in lime.what_to_do
    assert amount(lime, "rate").low == 0


def test_nothing_is_recommended_inside_the_range() -> None:
    """The whole interval is right for the crop."""
    found = said([replace(PH, value=6.5, low=6.2, high=6.8)])
    assert "neither lime nor sulphur" in find(found, "nothing_needed").statement
    assert not {"lime_rough_guide", "sulphur_guide"} & codes(found)
    assert found.lime is None


def test_a_hopelessly_wide_reading_gives_no_amounts() -> None:
    """Too acid, right and too alkaline are all open."""
    found = said([replace(PH, value=6.5, low=5.0, high=8.0)])
    assert find(found, "too_uncertain").amounts == ()


def test_crops_are_ranked_by_the_soil_as_it_is() -> None:
    """The best first, alike ones together, and what the others want."""
    compare = [find_crop(name) for name in ("azalea", "potato", "asparagus", "rhododendron")]
    found = said([PH], compare=compare)
    statement = find(found, "crop_ranking").statement
    assert "With over 99 %: azalea; rhododendron; potato." in statement
    assert "With under 1 %, wanting lime: tomato; asparagus." in statement
    assert [fit.crop.name for fit in found.fits][-2:] == ["tomato", "asparagus"]
    assert "crop_ranking" not in codes(said([PH]))


def test_sulphur_for_a_crop_of_the_heath() -> None:
    """A range of sources, the cap, the warning to test for free lime."""
    reading = replace(PH, value=6.8, low=6.6, high=7.0)
    advice = find(said([reading], crop="azalea"), "sulphur_guide")
    rate = amount(advice, "rate")
    assert 0 < rate.low < rate.high
    assert amount(advice, "at most in one dressing").best == pytest.approx(24.4, abs=0.05)
    assert {"free_lime", "sulphur_safety"} <= {caution.code for caution in advice.cautions}
    fizzing = said([reading], replace(BED, fizzes=True), "azalea")
    assert find(fizzing, "free_lime").amounts == ()


@pytest.mark.parametrize(
    ("change", "code", "hint"),
    [
        ({"medium": None}, "medium_unknown", "Say whether"),
        ({"medium": "cacl2"}, "not_water_ph", "Measure in water"),
        ({"medium": "kcl"}, "not_water_ph", "Measure in water"),
        ({"value": None, "low": None, "high": 4.0}, "off_span", "reaches further"),
    ],
)
def test_a_ph_that_is_no_water_ph_gives_no_amounts(
    change: dict[str, object], code: str, hint: str
) -> None:
    """And what to do about it is said."""
    found = said([replace(PH, **change)])  # type: ignore[arg-type]
    advice = find(found, code)
    assert advice.amounts == ()
    assert hint in (advice.what_to_do or "")
    assert found.lime is None


def test_an_estimate_in_water_is_made_on_request_and_flagged() -> None:
    """Wider than the reading, with a caution."""
    reading = replace(PH, medium="cacl2", value=4.5, low=4.4, high=4.6)
    assert "reaction_other_liquid" in codes(said([reading]))
    found = said([reading], estimate_water_ph=True)
    assert "estimated_ph" in {caution.code for caution in found.cautions}
    assert find(found, "reaction_class").shares[0].probability < 1
    assert find(found, "lime_rough_guide").amounts


def test_another_ratio_is_converted_on_request_alone() -> None:
    """1:5 reads 0.1 to 0.3 higher than 1:1 (from memory): 0.2 less, a little wider, flagged."""
    reading = replace(PH, ratio="1:5", value=5.4, low=5.2, high=5.6)
    found = said([reading], estimate_water_ph=True)
    advice = find(found, "reaction_class")
    assert advice.statement.startswith("By an estimate of its pH in water 1:1, 5.2 (5.0 to 5.4),")
    assert [caution.code for caution in advice.cautions] == ["estimated_ph"]
    assert "- 0.2" in advice.steps[0].text
    assert "estimated_ph" not in {caution.code for caution in said([reading]).cautions}


def test_a_water_ph_goes_before_others() -> None:
    """A laboratory's before a color test's, water before other liquids, a value before none."""
    laboratory = replace(PH, source="laboratory", value=5.3, low=None, high=None)
    chloride = replace(laboratory, medium="cacl2")
    assert water_ph([chloride, PH, laboratory]) is laboratory
    assert water_ph([chloride, PH]) is PH
    assert water_ph([P_LAB]) is None


def test_off_span_is_said_as_far_as_it_goes() -> None:
    """At least the class at the end of the chart."""
    advice = find(said([replace(PH, value=None, low=8.0, high=None)]), "reaction_class")
    assert (
        advice.statement
        == "The soil is moderately alkaline or more alkaline: the chart ends there."
    )


def test_another_ratio_is_kept_apart() -> None:
    """Said, not corrected; a ratio that nobody knows is not taken for 1:1 in silence."""
    for ratio, codes_said in (("1:5", ["other_ratio"]), (None, ["ratio_unknown"]), ("1:1", [])):
        cautions = find(said([replace(PH, ratio=ratio)]), "reaction_class").cautions
        assert [caution.code for caution in cautions] == codes_said


BUFFER = SoilReading(quantity="buffer_ph", value=6.0, method="sikora_oregon", source="laboratory")


def test_a_laboratory_gives_a_rate() -> None:
    """Sikora 6.0 to 6.4... the tomato's middle is 6.5; depth, ENV, area, cap and bags follow."""
    product = LimeProduct(name="lime", cce_percent=90, fineness_percent=76, bag_kg=25)
    measured = replace(BUFFER, low=5.9, high=6.1)
    found = said([PH, measured], replace(BED, depth_cm=10.16), products=Products(limes=(product,)))
    lime = find(found, "lime_laboratory")
    rate = amount(lime, "rate")
    # between 3.5 (to 6.4) and 4.6 (to 6.8): 3.775 ton/acre, 4 of 6 in, 68.4 %: 825 g/m2
    assert rate.best == pytest.approx(3.775 * 224.17 * (4 / 6) / 0.684, rel=1e-3)
    assert rate.low < rate.best < rate.high
    assert amount(lime, "dressings").best == 2
    assert amount(lime, "bags").best == 1
    assert found.lime is not None
    assert found.lime.best == pytest.approx(rate.best * 20 / 1000)
    assert lime.citations[0].region == "Oregon"
    assert "lime_rough_guide" not in codes(found)


@pytest.mark.parametrize(("key", "reached"), [("sikora_oregon", "7"), ("smp_kansas", "6.8")])
def test_no_soil_is_limed_beyond_a_limit(key: str, reached: str) -> None:
    """Pecan likes 6.4 to 8.0, middle 7.2: not above neutral, nor beyond what a method reaches."""
    lime = find(said([PH, replace(BUFFER, method=key)], crop="pecan"), "lime_laboratory")
    assert f", to pH {reached}." in lime.statement


def test_the_same_seed_gives_the_same_advice() -> None:
    """And another seed almost the same."""
    measured = replace(BUFFER, low=5.9, high=6.1)
    one, again, other = (said([PH, measured], seed=seed) for seed in (1, 1, 2))
    assert one == again
    first, second = (amount(find(f, "lime_laboratory"), "rate") for f in (one, other))
    assert first.high == pytest.approx(second.high, rel=0.02)


@pytest.mark.parametrize(
    ("buffer", "plot", "what"),
    [
        (replace(BUFFER, method=None), BED, "has no method"),
        (replace(BUFFER, method="turf_penn_state"), BED, "not a method of buffer ph"),
        (replace(BUFFER, method="guess"), BED, "is not known"),
        (replace(BUFFER, value=8.0), BED, "outside 5.5 to 6.9"),
        (replace(BUFFER, method="smp_kansas"), replace(BED, depth_cm=None), "per depth"),
    ],
)
def test_a_laboratory_value_that_cannot_be_used(buffer: SoilReading, plot: Plot, what: str) -> None:
    """Why is said, and there is no amount."""
    found = said([PH, buffer], plot)
    advice = find(found, "no_rate")
    assert what in advice.statement
    assert advice.what_to_do
    assert found.lime is None


def test_recent_lime_counts_where_the_rule_counts_it() -> None:
    """North Carolina takes it off; elsewhere there is a caution."""
    limed = replace(BED, recent_lime_kg_per_ha=1000.0, months_since_lime=2.0)
    mehlich = replace(BUFFER, method="mehlich_nc", value=6.2)
    rates = [
        amount(find(said([PH, mehlich], plot), "lime_laboratory"), "rate") for plot in (BED, limed)
    ]
    assert rates[0].best - rates[1].best == pytest.approx(84)  # 1000 kg/ha x (1 - 0.16), g/m2
    other = find(said([PH, BUFFER], limed), "lime_laboratory")
    assert "lime_recent" in {caution.code for caution in other.cautions}


def test_recent_lime_that_could_not_be_counted_is_warned_of() -> None:
    """The credit falls with the months: without them nothing is taken off, which is said."""
    mehlich = replace(BUFFER, method="mehlich_nc", value=6.2)
    for months, is_said in ((None, True), (2.0, False)):
        plot = replace(BED, recent_lime_kg_per_ha=1000.0, months_since_lime=months)
        advice = find(said([PH, mehlich], plot), "lime_laboratory")
        assert ("lime_recent" in {caution.code for caution in advice.cautions}) is is_said


def test_a_buffer_ph_without_a_water_ph() -> None:
    """Enough for a method that does not use it; pH in chloride is never taken for water's."""
    assert find(said([BUFFER]), "lime_laboratory").amounts
    assert find(said([replace(PH, medium="cacl2"), BUFFER]), "lime_laboratory").amounts
    mehlich = replace(BUFFER, method="mehlich_nc", value=6.2)
    found = said([replace(PH, medium="cacl2"), mehlich])
    assert "also needs the pH in water" in find(found, "no_rate").statement


def test_a_laboratory_phosphorus_leads_to_a_need() -> None:
    """15 mg/kg Mehlich-3 is 30 lb/acre, low: 4 lb/1000 ft2 P2O5 (typical, from memory)."""
    found = said([PH, P_LAB])
    assert find(found, "category").shares[0].label == "low"
    advice = next(a for a in found.advice if a.topic == "fertiliser" and "P2O5" in a.statement)
    wanted = amount(advice, "P2O5 wanted")
    assert wanted.converted("lb/1000 ft2").best == pytest.approx(4)
    assert any("from memory" in citation.source for citation in advice.citations)
    assert found.need is not None
    (spreading,) = best_mix([found.need], common_products()).spreadings
    assert spreading.unmet == ()
    assert spreading.given[1] == pytest.approx(found.need.masses_kg[1], rel=1e-4)


def test_what_may_not_be_needed_is_in_no_mix() -> None:
    """A phosphorus between medium and high: the test comes first, and nothing with P is bought."""
    open_ended = replace(P_LAB, value=33.0, low=28.0, high=40.0)  # the limit stands at 36 mg/kg
    found = said([PH, open_ended])
    advice = next(a for a in found.advice if a.subject == "P2O5" and a.code == "requirement")
    assert [share.label for share in advice.shares] == ["medium", "high"]
    assert advice.repeat_first
    assert "no mix before the test is repeated" in advice.statement
    assert found.need is not None
    assert found.need.p2o5 == 0
    assert "P2O5" in found.need.without
    sure = said([PH, replace(P_LAB, value=30.0, low=28.0, high=32.0)]).need
    assert sure is not None
    assert sure.p2o5 > 0


def test_a_color_test_without_extractant_gives_a_category_only() -> None:
    """No amounts, and why."""
    color = replace(P_LAB, source="colour", extractant=None)
    found = said([PH, color])
    advice = find(found, "category_only")
    assert advice.amounts == ()
    assert "extractant" in advice.statement
    assert "orientation" in advice.statement
    assert found.need is None or found.need.p2o5 == 0
    statements = [a.statement for a in found.advice if a.code == "no_category"]
    assert any("P2O5" in statement for statement in statements)


def test_nitrate_in_water_has_amounts() -> None:
    """All of it dissolves; the category needs the region's table."""
    nitrate = SoilReading(
        quantity="nitrogen",
        form="NO3-N",
        basis="extract",
        ratio="1:5",
        ratio_by="mass",
        unit="mg/L",
        value=2.0,
        low=1.8,
        high=2.2,
        extractant="water",
    )
    plot = replace(BED, bulk_density_g_cm3=1.3)
    advice = find(said([nitrate], plot), "content")
    assert amount(advice, "N in the soil").best == pytest.approx(19.5)
    assert "nitrate_moves" in {caution.code for caution in advice.cautions}
    oregon = interpret([nitrate], plot, TOMATO, shipped_region("oregon"))
    assert {share.label for share in find(oregon, "category").shares} == {"low", "medium"}


def test_an_incomplete_reading_says_what_to_fill_in() -> None:
    """Form and basis."""
    advice = find(said([replace(P_LAB, form=None)]), "incomplete")
    assert advice.amounts == ()
    assert "P or P2O5" in (advice.what_to_do or "")


def test_phosphorus_on_lawns_waits_for_the_rules() -> None:
    """Asked first; forbidden means none, whatever the soil."""
    asked = said([P_LAB], replace(BED, phosphorus_allowed=None), "lawn")
    assert find(asked, "phosphorus_rules_unknown").amounts == ()
    assert asked.need is not None
    assert "P2O5" in asked.need.without
    for crop in ("lawn", "tomato"):
        found = said([P_LAB], replace(BED, phosphorus_allowed=False), crop)
        assert find(found, "phosphorus_forbidden").amounts == ()
        assert found.need is not None
        assert "P2O5" in found.need.without
    allowed = said([P_LAB], crop="lawn")
    assert allowed.need is not None
    assert allowed.need.p2o5 > 0


def test_rich_soil_gets_no_phosphorus_and_a_warning() -> None:
    """250 mg/kg Mehlich-3: very high, ruled out; runoff (Penn State, 200 mg/kg)."""
    found = said([replace(P_LAB, value=250.0)])
    assert "runoff" in {caution.code for caution in find(found, "category").cautions}
    assert found.need is not None
    assert (found.need.p2o5, found.need.without) == (0, ("P2O5",))


def test_bray_on_alkaline_soil_is_warned_of() -> None:
    """Minnesota uses Olsen above pH 7.4."""
    bray = replace(P_LAB, extractant="Bray-1")
    found = interpret(
        [replace(PH, value=7.8, low=7.7, high=7.9), bray], BED, TOMATO, shipped_region("iowa")
    )
    assert "bray_high_ph" in {caution.code for caution in find(found, "category").cautions}


def test_a_crop_without_recommendations_says_so() -> None:
    """Nothing is borrowed from another crop."""
    assert find(said([PH], crop="apple"), "no_recommendation").what_to_do


def test_beans_in_texas_use_the_printed_table() -> None:
    """By the crop's own name, before the typical ones."""
    found = interpret([PH], BED, find_crop("bean, pole"), shipped_region("texas"))
    sources = {c.source for a in found.advice if a.topic == "fertiliser" for c in a.citations}
    assert sources <= {"Texas A&M, pinto beans"}


def test_england_limes_by_factor() -> None:
    """(6.2 - 5.2) x 7 t/ha at most for barley's middle above 6.7: target 6.7."""
    field = replace(BED, area_m2=50_000, texture="clay loam")
    found = interpret([PH], field, find_crop("barley"), shipped_region("england_wales"))
    lime = find(found, "lime_rough_guide")
    assert "to pH 6.7" in lime.statement
    assert "depth that their source means" in lime.statement
    rate = amount(lime, "rate").converted("t/ha")
    # factor 8, 93.7 % CaCO3, pH 5.4 and 5.0
    assert (rate.low, rate.high) == (
        pytest.approx(8 * 1.3 * 0.937, rel=2e-3),
        pytest.approx(8 * 1.7 * 0.937, rel=2e-3),
    )


def test_under_suspicion_there_are_no_amounts() -> None:
    """Classes and categories stay, everything that is spread goes."""
    found = said([PH, P_LAB, BUFFER], replace(BED, suspected_contamination=True))
    assert all(advice.amounts == () for advice in found.advice)
    assert not any(step.result for advice in found.advice for step in advice.steps)
    assert (found.need, found.lime) == (None, None)
    assert {"amounts_withheld", "reaction_class", "category"} == codes(found)
    assert "contamination" in {caution.code for caution in found.cautions}


def test_doubt_travels_along() -> None:
    """A doubtful reading is used, and said to be one."""
    found = said([replace(PH, doubtful=True)])
    assert "doubtful" in {caution.code for caution in found.cautions}


readings = st.builds(
    lambda value, half, medium, doubtful: SoilReading(
        quantity="ph",
        value=value,
        low=value - half,
        high=value + half,
        medium=medium,
        doubtful=doubtful,
    ),
    st.floats(3, 9.5),
    st.floats(0, 1),
    st.sampled_from(["water", "cacl2", "kcl", None]),
    st.booleans(),
)
nutrients = st.builds(
    lambda value, half, form, basis, extractant, source: SoilReading(
        quantity="phosphorus",
        value=value,
        low=value - half,
        high=value + half,
        form=form,
        basis=basis,
        unit="ppm",
        ratio="1:5",
        extractant=extractant,
        source=source,
    ),
    st.floats(0, 400),
    st.floats(0, 50),
    st.sampled_from(["P", "P2O5", None]),
    st.sampled_from(["soil", "extract", None]),
    st.sampled_from(["Mehlich-3", "Olsen", None]),
    st.sampled_from(["colour", "laboratory"]),
)
plots = st.builds(
    Plot,
    area_m2=st.none() | st.floats(1, 1e6),
    depth_cm=st.none() | st.floats(2, 40),
    texture=st.none() | st.sampled_from(textures()),
    fizzes=st.sampled_from([True, False, None]),
    phosphorus_allowed=st.sampled_from([True, False, None]),
    suspected_contamination=st.booleans(),
)


@settings(max_examples=150, deadline=None)
@given(
    ph=readings,
    phosphorus=nutrients,
    plot=plots,
    crop=st.sampled_from(shipped_crops()),
    region=st.sampled_from([shipped_region(name) for name in region_names()]),
)
def test_anything_can_be_asked(
    ph: SoilReading, phosphorus: SoilReading, plot: Plot, crop: object, region: Region
) -> None:
    """Always an answer: amounts only with a source, a gap always with what to do."""
    found = interpret([ph, phosphorus], plot, crop, region)  # type: ignore[arg-type]
    for advice in found.advice:
        assert advice.statement
        if advice.amounts and advice.code != "content":
            assert advice.citations
        if advice.code in ("no_rate", "incomplete", "no_scale", "no_category"):
            assert advice.what_to_do
            assert not advice.amounts
    if plot.suspected_contamination:
        assert not any(advice.amounts for advice in found.advice)
    if ph.medium != "water":
        assert not any(a.amounts for a in found.advice if a.topic in ("lime", "sulphur"))


OWN = (
    "# source: the maker's leaflet, checked against our laboratory\n# region: our farm\n"
    "# year: 2024\n# unit: mg/kg\n"
    "quantity,extractant,low_from,medium_from,high_from,very_high_from\n"
    "phosphorus,our field test,5,10,20,40\n"
)


def test_own_categories_turn_a_color_test_into_amounts() -> None:
    """The table that the answer asks for is all that was missing."""
    color = replace(
        P_LAB, source="colour", extractant="Our field test", value=7.0, low=5.5, high=8.5
    )
    found = interpret([color], BED, TOMATO, own_region([("own.csv", OWN)]))
    advice = find(found, "category")
    assert advice.shares[0].label == "low"
    assert amount(advice, "P in the soil").best == pytest.approx(7.0 * 1.4 * 15 * 0.1)
    assert advice.citations[0].region == "our farm"
    assert found.need is not None
    assert found.need.p2o5 > 0


def test_nothing_heavy_is_loaded_before_it_is_needed() -> None:
    """The optimizer's half second is paid by whoever mixes fertilizers."""
    code = (
        "import sys, app.soil.advice; sys.exit('scipy' in sys.modules or 'colour' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
