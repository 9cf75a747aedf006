"""Rates of lime beside printed and computed examples, and what must hold for any soil."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import OrderError
from app.soil.amendment import caps, dressings, for_depth, for_strength, whole_bags
from app.soil.lime import (
    LimeMethod,
    find_lime_method,
    lime_from_laboratory,
    lime_methods,
)
from app.soil.lime_formulas import (
    acidity_as_lime_mg_per_kg,
    adams_evans,
    base_unsaturation,
    mehlich_1976,
    mehlich_acidity,
    mehlich_nc,
    residual_credit,
    sikora_oregon,
    smp_kansas,
    smp_tristate,
    turf_penn_state,
    woodruff,
)
from app.soil.lime_guide import (
    LimeRange,
    lime_by_factor,
    lime_by_table,
    lime_rough_guide,
    shipped_lime_tables,
)
from app.soil.lime_product import LimeProduct, fineness
from app.soil.region import shipped_region
from app.soil.soil_reading import SoilReading
from app.soil.spread import Spread, exactly
from app.soil.units import convert


def test_mehlich_of_north_carolina() -> None:
    """NCDA&CS: pH 5.0 to 6.0 at BpH 6.3: Ac 1.2; 0.75 ton/acre (it prints 0.76), 1.68 t/ha."""
    assert mehlich_acidity(6.3) == pytest.approx(1.2)
    rate = mehlich_nc(6.3, ph=5.0, target=6.0)
    assert rate == pytest.approx(0.75)
    assert rate == pytest.approx(0.76, abs=0.0101)  # as printed, from rounded steps
    assert convert(rate, "ton/acre", "t/ha") == pytest.approx(1.68, abs=0.005)


def test_mehlich_of_north_carolina_below_its_least_rate() -> None:
    """Under 0.3 ton/acre none; recent lime counts, 8 % a month less of it (NCDA&CS)."""
    assert mehlich_nc(6.5, ph=5.0, target=6.0) == 0  # 0.25
    assert residual_credit(0.5, 5) == pytest.approx(0.3)
    assert residual_credit(0.5, 5, organic=True) == pytest.approx(0.1)
    assert residual_credit(0.5, 20) == 0
    assert mehlich_nc(6.3, ph=5.0, target=6.0, credit=0.3) == pytest.approx(0.45)
    assert mehlich_nc(6.3, ph=5.0, target=6.0, credit=0.5) == 0


@pytest.mark.parametrize(
    ("buffer_ph", "target", "tons"),
    # Oregon EM 9585, Table 1; 6.0 to 5.6 is its own example
    [(6.0, 5.6, 1.7), (6.0, 6.4, 3.5), (6.9, 5.6, 0.0), (5.5, 7.2, 12.9), (6.5, 6.8, 2.5)],
)
def test_sikora_of_oregon(buffer_ph: float, target: float, tons: float) -> None:
    """The cells themselves; 3.5 ton/acre are 7.85 t/ha (computed)."""
    assert sikora_oregon(buffer_ph, target=target) == pytest.approx(tons)
    assert convert(3.5, "ton/acre", "t/ha") == pytest.approx(7.85, abs=0.005)


def test_sikora_between_its_cells() -> None:
    """Straight: half-way between 2.2 and 3.5 for 5.65, between 1.7 and 2.5 for a target of 5.8."""
    assert sikora_oregon(5.65, target=5.6) == pytest.approx(2.85)
    assert sikora_oregon(6.0, target=5.8) == pytest.approx(2.1)


@pytest.mark.parametrize(("target", "tons"), [(6.8, 5.48), (6.5, 4.72), (6.0, 3.86)])
def test_smp_of_the_three_states(target: float, tons: float) -> None:
    """E-2567 (from memory), BpH 6.4, computed from its lines."""
    assert smp_tristate(6.4, target=target) == pytest.approx(tons, abs=0.005)


@pytest.mark.parametrize(("target", "pounds", "tonnes"), [(6.8, 5588, 6.26), (6.0, 2917, 3.27)])
def test_smp_of_kansas(target: float, pounds: float, tonnes: float) -> None:
    """MF-2586 (from memory), BpH 6.4 over 6 inches, computed from its curves."""
    rate = 6 * smp_kansas(6.4, target=target)
    assert rate == pytest.approx(pounds, abs=0.5)
    assert convert(rate, "lb/acre", "t/ha") == pytest.approx(tonnes, abs=0.005)


def test_adams_evans() -> None:
    """Adams & Evans 1962 (from memory): pH 5.0 to 6.5 at BpH 7.80, computed."""
    assert base_unsaturation(5.0) == pytest.approx(0.70735, abs=5e-6)
    assert base_unsaturation(6.5) == pytest.approx(0.26010, abs=5e-6)
    rate = adams_evans(7.80, ph=5.0, target=6.5)
    assert rate == pytest.approx(1517, abs=0.5)
    assert convert(rate, "lb/acre", "kg/ha") == pytest.approx(1701, abs=0.6)


def test_mehlich_of_1976() -> None:
    """Mehlich 1976 (from memory): BpH 6.0, Ac 2.4, 2.98 t/ha to 20 cm, computed."""
    assert mehlich_acidity(6.0) == pytest.approx(2.4)
    assert mehlich_1976(6.0) == pytest.approx(2.98, abs=0.005)


def test_woodruff() -> None:
    """Woodruff 1948 (from memory): BpH 6.7, 3 meq, 3000 lb/acre, 3.36 t/ha, computed."""
    assert woodruff(6.7) == pytest.approx(3000)
    assert convert(woodruff(6.7), "lb/acre", "t/ha") == pytest.approx(3.36, abs=0.005)


def test_exchangeable_acidity() -> None:
    """1 cmol/kg is 500 mg/kg of CaCO3, 1000 lb/acre furrow slice, 1121 kg/ha (computed)."""
    assert acidity_as_lime_mg_per_kg(1.0) == pytest.approx(500, abs=0.5)
    assert 2 * acidity_as_lime_mg_per_kg(1.0) == pytest.approx(1000, abs=1)
    assert convert(1000, "lb/acre", "kg/ha") == pytest.approx(1121, abs=0.5)


@pytest.mark.parametrize(("acidity", "pounds"), [(2.0, 50), (9.7, 180), (25.1, 510)])
def test_turf_of_penn_state(acidity: float, pounds: float) -> None:
    """Its table, lb CaCO3 per 1000 ft2 to pH 6.5."""
    assert turf_penn_state(acidity) == pounds


def of(key: str, measured: float, ph: float | None, target: float, depth_in: float) -> float:
    """Return a laboratory's rate in t/ha of pure CaCO3, everything exact."""
    found = lime_from_laboratory(
        find_lime_method(key),
        exactly(measured),
        ph=None if ph is None else exactly(ph),
        needed_below=target,
        target=target,
        depth_cm=convert(depth_in, "in", "cm"),
        bulk_density_g_cm3=1.3,
    )
    assert found.low == found.value == found.high
    return convert(found.value, "g/m2", "t/ha")


def test_each_method_in_one_unit() -> None:
    """t/ha of pure CaCO3 over the depth that is worked."""
    assert of("sikora_oregon", 6.0, 5.0, 6.4, 6) == pytest.approx(7.846, abs=5e-4)
    assert of("sikora_oregon", 6.0, None, 6.4, 4) == pytest.approx(7.846 * 4 / 6, abs=5e-4)
    # 5.48 ton/acre of lime of 90 % for 8 inches
    assert of("smp_tristate", 6.4, 5.0, 6.8, 8) == pytest.approx(5.48 * 2.2417 * 0.9, abs=0.001)
    assert of("smp_tristate", 6.4, 5.0, 6.8, 4) == pytest.approx(5.529, abs=0.001)
    assert of("smp_kansas", 6.4, 5.0, 6.8, 6) == pytest.approx(6.26, abs=0.005)
    assert of("mehlich_nc", 6.3, 5.0, 6.0, 6) == pytest.approx(1.681, abs=0.001)
    assert of("adams_evans", 7.8, 5.0, 6.5, 6) == pytest.approx(1.701, abs=0.001)
    assert of("mehlich_1976", 6.0, None, 6.5, 20 / 2.54) == pytest.approx(2.976)
    assert of("woodruff", 6.7, None, 6.5, 6) == pytest.approx(3.363, abs=0.001)
    # 500.43 mg/kg x 1.3 g/cm3 x 15.24 cm x 0.1 = 991.5 kg/ha
    assert of("exchangeable_acidity", 1.0, None, 6.5, 6) == pytest.approx(0.9915, abs=1e-4)
    assert of("turf_penn_state", 2.0, None, 6.5, 6) == pytest.approx(2.441, abs=0.001)


def test_the_whole_chain() -> None:
    """Sikora 3.5 ton/acre: 7.85 t/ha; 4 of 6 in; ENV 0.684: 7.65 t/ha; cap 488: two (computed)."""
    pure = of("sikora_oregon", 6.0, None, 6.4, 4)
    share = fineness("cornell", {20: 95, 60: 70, 100: 50})
    product = LimeProduct(name="lime", cce_percent=90, fineness_percent=share)
    rate = for_strength(pure, product.effective_percent)
    assert rate == pytest.approx(7.65, abs=0.005)
    cap = caps("lime", "established lawn")[-1].g_per_m2
    assert cap == pytest.approx(488, abs=0.5)
    each = dressings(convert(rate, "t/ha", "g/m2"), cap)
    assert len(each) == 2
    assert whole_bags(sum(each) * 100 / 1000, 25) == 4  # 76.5 kg on 100 m2


@pytest.mark.parametrize("method", lime_methods(), ids=lambda method: method.key)
@given(low=st.floats(0, 1), high=st.floats(0, 1), ph=st.floats(4.6, 7), acid=st.floats(4.6, 7))
def test_more_acid_soil_never_gets_less_lime(
    method: LimeMethod, low: float, high: float, ph: float, acid: float
) -> None:
    """In buffer pH (or acidity) and in pH; never below zero."""
    first, last = method.span
    one, other = sorted(first + share * (last - first) for share in (low, high))
    if method.measures == "buffer_ph":
        one, other = other, one
    target = 6.5 if method.targets is None else min(6.5, method.targets[1])
    acid, ph = sorted((acid, ph))

    def rate(measured: float, at: float) -> float:
        return lime_from_laboratory(
            method,
            exactly(measured),
            ph=exactly(at),
            needed_below=6.0,
            target=target,
            depth_cm=15,
            bulk_density_g_cm3=1.3,
        ).value

    assert rate(other, ph) >= rate(one, ph) - 1e-9 >= -1e-9
    assert rate(one, acid) >= rate(one, ph) - 1e-9


@settings(max_examples=8)
@given(
    ph=st.floats(4.8, 6.2),
    step=st.floats(0.05, 0.5),
    half=st.floats(0.05, 0.6),
    seed=st.integers(0, 99),
)
def test_the_range_moves_with_the_reading(ph: float, step: float, half: float, seed: int) -> None:
    """With one seed both ends and the figure fall as pH rises."""

    def spread(at: float) -> Spread:
        return lime_from_laboratory(
            find_lime_method("mehlich_nc"),
            Spread(value=6.2, low=6.1, high=6.3),
            ph=Spread(value=at, low=at - half, high=at + half),
            needed_below=6.0,
            target=6.5,
            depth_cm=15,
            seed=seed,
        )

    acid, less = spread(ph), spread(ph + step)
    assert acid.low >= less.low - 1e-9 >= -1e-9
    assert acid.value >= less.value - 1e-9
    assert acid.high >= less.high - 1e-9


def test_a_wider_reading_gives_a_wider_range() -> None:
    """And a fixed seed the same range again."""

    def width(half: float) -> float:
        found = lime_from_laboratory(
            find_lime_method("sikora_oregon"),
            Spread(value=6.2, low=6.2 - half, high=6.2 + half),
            ph=None,
            needed_below=6.0,
            target=6.4,
            depth_cm=15,
            seed=7,
        )
        return found.high - found.low

    assert 0 < width(0.05) < width(0.2) == width(0.2)


@pytest.mark.parametrize(
    ("key", "measured", "ph", "target", "what"),
    [
        ("sikora_oregon", 5.4, 5.0, 6.4, "outside 5.5 to 6.9"),
        ("sikora_oregon", 7.0, 5.0, 6.4, "outside 5.5 to 6.9"),
        ("smp_tristate", 6.4, 5.0, 5.8, "rates to pH 6 to 6.8"),
        ("mehlich_nc", 6.3, None, 6.0, "also needs the pH in water"),
        ("adams_evans", 7.8, None, 6.5, "also needs the pH in water"),
    ],
)
def test_a_method_is_not_stretched(
    key: str, measured: float, ph: float | None, target: float, what: str
) -> None:
    """Said with its limits."""
    with pytest.raises(OrderError, match=what):
        of(key, measured, ph, target, 6)


def test_a_method_must_be_known() -> None:
    """The list stands in the answer."""
    with pytest.raises(OrderError) as caught:
        find_lime_method("smp")
    assert "smp_kansas" in caught.value.what_to_do


@pytest.mark.parametrize("quantity", ["buffer_ph", "exchangeable_acidity"])
def test_a_color_reading_can_never_be_a_buffer_ph(quantity: str) -> None:
    """Refused when it is made, so no later code needs to look."""
    with pytest.raises(OrderError, match="color test cannot measure"):
        SoilReading(quantity=quantity, value=6.3, method="mehlich_nc", source="colour")
    SoilReading(quantity=quantity, value=6.3, method="mehlich_nc", source="laboratory")


# vcalc.com data set (first) and agroconection.com (second); g/m2 computed from lb/1000 ft2 and
# lb/100 ft2
GUIDES = [
    (6.0, (98, 171, 244), (146, 195, 269)),
    (5.5, (220, 366, 488), (293, 391, 513)),
    (5.0, (317, 537, 732), (391, 513, 732)),
    (4.5, (391, 732, 976), (464, 659, 952)),
    (4.0, (488, 854, 1123), (561, 781, 1123)),
]


@pytest.mark.parametrize(("ph", "first", "second"), GUIDES)
def test_the_two_guides_by_texture(
    ph: float, first: tuple[int, ...], second: tuple[int, ...]
) -> None:
    """Both in g/m2, to pH 6.5."""
    for table, printed in zip(shipped_lime_tables(), (first, second), strict=True):
        for group, grams in zip(("sandy", "loam", "clay"), printed, strict=True):
            rate = lime_by_table(table, ph, target=6.5, group=group)
            assert rate.value == pytest.approx(grams, abs=0.55)


def guide(ph: Spread, texture: str = "loam", target: float = 6.5, below: float = 6.0) -> LimeRange:
    """Return the rough guide at 15 cm."""
    return lime_rough_guide(
        ph,
        needed_below=below,
        target=target,
        texture=texture,
        depth_cm=15,
        tables=shipped_lime_tables(),
    )


def test_the_guide_is_a_range_over_both_tables_and_the_reading() -> None:
    """Loam at pH 5.25 +- 0.25: from 366 (first table at 5.5) to 537 (first at 5.0)."""
    found = guide(Spread(value=5.25, low=5.0, high=5.5))
    assert (found.low, found.high) == (pytest.approx(366, abs=0.5), pytest.approx(537, abs=0.5))
    assert len({look_up.citation for look_up in found.look_ups}) == 2
    exact = guide(exactly(5.5))
    assert (exact.low, exact.high) == (pytest.approx(366, abs=0.5), pytest.approx(391, abs=0.5))


def test_the_guide_reaches_none_where_the_reading_does() -> None:
    """A soil that may be right may need nothing."""
    found = guide(Spread(value=5.9, low=5.6, high=6.2))
    assert found.low == 0 < found.high
    assert guide(Spread(value=6.4, low=6.1, high=6.7)).high == 0


def test_the_guide_to_another_target_is_a_difference() -> None:
    """From 5.0 to 5.5 on loam: 537 - 366 by the first, 513 - 391 by the second table."""
    found = guide(exactly(5.0), target=5.5, below=5.4)
    assert (found.low, found.high) == (pytest.approx(122, abs=1), pytest.approx(171, abs=1))
    assert guide(exactly(5.0), target=7.0).target == 6.5


def test_the_guide_is_not_stretched() -> None:
    """Below pH 4, and on peat, the tables are silent."""
    with pytest.raises(OrderError, match="begin at pH 4"):
        guide(Spread(value=4.1, low=3.9, high=4.3))
    with pytest.raises(OrderError, match="do not cover peat"):
        guide(exactly(5.0), texture="peat")


@given(
    ph=st.floats(4.6, 6.4),
    step=st.floats(0, 0.5),
    half=st.floats(0, 0.5),
    texture=st.sampled_from(["sand", "sandy loam", "silt loam", "clay"]),
)
def test_the_guide_falls_with_ph(ph: float, step: float, half: float, texture: str) -> None:
    """Both ends, never below zero, the low never above the high."""

    def ends(at: float) -> LimeRange:
        return guide(Spread(value=at, low=at - half, high=at + half), texture)

    acid, less = ends(ph), ends(ph + step)
    assert acid.low >= less.low - 1e-9 >= -1e-9
    assert acid.high >= less.high - 1e-9
    assert less.low <= less.high


@pytest.mark.parametrize(("ph", "tonnes"), [(6.0, 4.2), (5.5, 7.2)])
def test_lime_by_factor_in_england(ph: float, tonnes: float) -> None:
    """A merchant's arable table (dblbuyinggroup.co.uk) for target 6.7 on sands: factor 6."""
    factors = shipped_region("england_wales").lime_factors
    found = lime_by_factor(
        exactly(ph), needed_below=6.5, target=6.7, texture="sand", grass=False, factors=factors
    )
    assert found is not None
    # the merchant's tonnes are of ground limestone of 52.5 % CaO, that is 93.7 % CaCO3
    assert found.low == found.high == pytest.approx(100 * tonnes * 0.937, rel=1e-3)
    grass = lime_by_factor(
        exactly(ph), needed_below=6.5, target=6.7, texture="sand", grass=True, factors=factors
    )
    assert grass is not None
    assert (grass.target, grass.high < found.high) == (6.2, True)


@pytest.mark.parametrize(
    ("rate", "cce", "product"),
    # Penn State prints 94 and 7
    [(75, 80, 93.75), (5, 70, 7.142857)],
)
def test_product_by_its_strength(rate: float, cce: float, product: float) -> None:
    """Rate x 100 / CCE."""
    assert for_strength(rate, cce) == pytest.approx(product)


def test_fineness() -> None:
    """Cornell: 95/70/50 % through 20/60/100 mesh, CCE 90: 76.0 and ENV 68.4 (computed)."""
    passing = {20: 95.0, 60: 70.0, 100: 50.0}
    share = fineness("cornell", passing)
    printed = 0.40 * (95 - 70) + 0.80 * (70 - 50) + 1.00 * 50
    assert share == pytest.approx(printed) == pytest.approx(76.0)
    product = LimeProduct(name="lime", cce_percent=90, fineness_percent=share)
    assert product.effective_percent == pytest.approx(68.4)
    assert fineness("oklahoma", {8: 100, 60: 60}) == pytest.approx(80)  # from memory
    assert fineness("iowa", {4: 100, 8: 90, 60: 50}) == pytest.approx(67)  # from memory


@pytest.mark.parametrize(
    "passing", [{20: 95, 60: 70}, {20: 50, 60: 70, 100: 50}, {20: 120, 60: 70, 100: 50}]
)
def test_sieves_that_cannot_be(passing: dict[int, float]) -> None:
    """Missing, rising or above 100 %."""
    with pytest.raises(OrderError, match="sieve"):
        fineness("cornell", passing)


def test_gypsum_is_no_lime() -> None:
    """Its CCE is 0."""
    with pytest.raises(OrderError, match="it is no lime"):
        LimeProduct(name="gypsum", cce_percent=0)


def test_depth() -> None:
    """3.5 ton/acre at 6 in are 2.33 at 4 in (computed)."""
    assert for_depth(3.5, table_depth_cm=15.24, depth_cm=10.16) == pytest.approx(2.33, abs=0.005)


@pytest.mark.parametrize(
    ("use", "amendment", "grams"),
    [
        ("putting green", "lime", 122),  # Penn State, 25 lb/1000 ft2
        ("established lawn", "lime", 244),  # 50 lb/1000 ft2, from memory, the lower of two
        ("vegetable garden", "lime", 488),  # Penn State, 10 lb/100 ft2 at once
        ("field crops", "lime", 750),  # Ireland, 7.5 t/ha
        ("fruit", "sulphur", 24.4),  # Clemson, 5 lb/1000 ft2
    ],
)
def test_caps(use: str, amendment: str, grams: float) -> None:
    """The lowest that is known."""
    assert caps(amendment, use)[0].g_per_m2 == pytest.approx(grams, abs=0.5)


@pytest.mark.parametrize(("pounds", "count"), [(8, 1), (11, 2), (20, 2), (21, 3), (30, 3)])
def test_garden_lime_in_several_applications(pounds: float, count: int) -> None:
    """Penn State, per 100 ft2: 11-20 lb in two, 21 or more in three."""
    (cap,) = caps("lime", "vegetable garden")
    assert len(dressings(convert(pounds, "lb/100 ft2", "g/m2"), cap.g_per_m2)) == count
    assert cap.wait_months == (6, 6)


@given(total=st.just(0.0) | st.floats(1e-6, 1e5), cap=st.floats(0.1, 1e4))
def test_dressings_add_up(total: float, cap: float) -> None:
    """To the whole, none above the cap, and one fewer would not do."""
    each = dressings(total, cap)
    assert sum(each) == pytest.approx(total, rel=1e-9, abs=1e-12)
    assert all(dressing <= cap * (1 + 1e-9) for dressing in each)
    assert (len(each) - 1) * cap <= total * (1 + 1e-9)


@given(mass=st.just(0.0) | st.floats(1e-6, 1e6), bag=st.floats(0.1, 1000))
def test_bags_hold_the_mass(mass: float, bag: float) -> None:
    """And one fewer would not."""
    count = whole_bags(mass, bag)
    assert count * bag >= mass * (1 - 1e-9)
    assert (count - 1) * bag < max(mass, 1e-12) * (1 + 1e-9)


def test_every_method_names_its_region() -> None:
    """At least three of them read a buffer pH; each says where it holds."""
    methods = lime_methods()
    assert sum(method.measures == "buffer_ph" for method in methods) >= 3
    assert all(method.citation.source and method.citation.region for method in methods)
