"""What crops want, and mixes of products beside computed ones and what must hold for any."""

import ctypes
import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import OrderError
from app.soil.fertiliser import Need, requirement
from app.soil.mix import Mix, best_mix, purchase
from app.soil.product import Product, acidifying_effect, common_products
from app.soil.region import shipped_region
from app.soil.region_tables import CATEGORIES
from app.soil.solver_noise import hushed
from app.soil.spread import Share

HECTARE = 10_000.0


def product(name: str, n: float, p2o5: float, k2o: float, **more: float) -> Product:
    """Return a product."""
    return Product(name=name, n=n, p2o5=p2o5, k2o=k2o, **more)


DAP = product("DAP", 18, 46, 0)
UREA = product("urea", 46, 0, 0, acidity=1.8)
POTASH = product("potash", 0, 0, 60)


def test_the_blend() -> None:
    """100-60-90 from DAP, urea, potash: 130.43, 166.35, 150.00 kg/ha (computed, P first)."""
    need = Need(plot="field", area_m2=HECTARE, n=100, p2o5=60, k2o=90)
    (spreading,) = best_mix([need], [DAP, UREA, POTASH]).spreadings
    masses = dict(spreading.products)
    assert masses["DAP"] == pytest.approx(130.43, abs=0.005)
    assert masses["urea"] == pytest.approx(166.35, abs=0.005)
    assert masses["potash"] == pytest.approx(150.00, abs=0.005)
    assert spreading.excess == pytest.approx((0, 0, 0), abs=1e-5)
    assert spreading.unmet == ()
    assert spreading.acidity_kg is None  # nobody gave that of DAP


def test_a_complete_grade_oversupplies_and_says_so() -> None:
    """10-10-10 for 100-60-90 must be 1000 kg: 40 of P2O5 and 10 of K2O too much."""
    need = Need(plot="field", area_m2=HECTARE, n=100, p2o5=60, k2o=90)
    (spreading,) = best_mix([need], [product("all", 10, 10, 10)]).spreadings
    assert spreading.excess == pytest.approx((0, 40, 10), abs=1e-5)


def test_least_cost_and_least_excess_differ() -> None:
    """A cheap complete grade against dear single ones."""
    cheap = product("all", 10, 10, 10, bag_kg=25, price=5)
    dear = product("urea", 46, 0, 0, bag_kg=25, price=60)
    need = Need(plot="bed", area_m2=HECTARE, n=10)
    low = best_mix([need], [cheap, dear], "cost")
    assert [(line.name, line.bags, line.cost) for line in low.purchases] == [("all", 4, 20)]
    assert low.spreadings[0].excess == pytest.approx((0, 10, 10), abs=1e-5)
    clean = best_mix([need], [cheap, dear], "excess")
    assert [(line.name, line.bags, line.cost) for line in clean.purchases] == [("urea", 1, 60)]
    assert clean.spreadings[0].excess == pytest.approx((0, 0, 0), abs=1e-5)


def brute_force(need: Need, products: list[Product], most: int) -> float:
    """Return the least price by trying all numbers of bags."""
    bags = np.indices((most + 1,) * len(products)).reshape(len(products), -1)
    held = np.array([[item.bag_kg * g / 100 for g in item.grade] for item in products])
    enough = (held.T @ bags >= np.array(need.masses_kg)[:, None] - 1e-9).all(axis=0)
    prices = np.array([item.price for item in products]) @ bags
    return float(prices[enough].min())


@settings(max_examples=25, deadline=None)
@given(
    wants=st.tuples(*[st.integers(0, 40)] * 3),
    prices=st.tuples(*[st.integers(1, 40)] * 4),
    bag=st.sampled_from([10.0, 25.0]),
)
def test_the_cheapest_purchase_is_found(
    wants: tuple[int, int, int], prices: tuple[int, int, int, int], bag: float
) -> None:
    """As cheap as trying every number of bags."""
    grades = [(10, 10, 10), (46, 0, 0), (0, 46, 0), (0, 0, 60)]
    products = [
        product(str(grade), *grade, bag_kg=bag, price=price)
        for grade, price in zip(grades, prices, strict=True)
    ]
    n, p2o5, k2o = (float(want) / 4 for want in wants)
    need = Need(plot="bed", area_m2=HECTARE, n=n, p2o5=p2o5, k2o=k2o)
    mix = best_mix([need], products, "cost")
    assert mix.cost == pytest.approx(brute_force(need, products, 10), abs=1e-6)


def check_sound(mix: Mix, needs: list[Need], products: list[Product]) -> None:
    """Check what must hold for any mix."""
    grades = {item.name: item.grade for item in products}
    for need, spreading in zip(needs, mix.spreadings, strict=True):
        assert all(mass > 0 for _, mass in spreading.products)
        for i, name in enumerate(("N", "P2O5", "K2O")):
            got = sum(mass * grades[item][i] / 100 for item, mass in spreading.products)
            assert spreading.given[i] == pytest.approx(got, abs=1e-6)
            if name not in spreading.unmet:
                # of a bag, of all that is wanted, of a rate
                negligible = max(25e-5, 1e-5 * sum(need.masses_kg), 1e-5 * need.area_m2)
                assert got >= need.masses_kg[i] - negligible
            if name in need.without:
                assert got == 0
            assert spreading.excess[i] >= 0
    for line in mix.purchases:
        spread = sum(dict(s.products).get(line.name, 0) for s in mix.spreadings)
        assert line.mass_kg == pytest.approx(spread)
        assert line.bought_kg >= line.mass_kg - 1e-4


@settings(max_examples=25, deadline=None)
@given(
    rates=st.lists(
        st.tuples(st.floats(0, 200), st.floats(0, 100), st.floats(0, 150), st.booleans()),
        min_size=1,
        max_size=4,
    ),
    aim=st.sampled_from(["cost", "excess"]),
    loose=st.booleans(),
)
def test_mixes_are_sound(
    rates: list[tuple[float, float, float, bool]], aim: str, loose: bool
) -> None:
    """Needs met, nothing negative, nothing forbidden, bags enough."""
    needs = [
        Need(
            plot=str(i),
            area_m2=400.0 * (i + 1),
            n=n,
            p2o5=0.0 if rich else p2o5,
            k2o=k2o,
            without=("P2O5",) if rich else (),
        )
        for i, (n, p2o5, k2o, rich) in enumerate(rates)
    ]
    more = {} if loose else {"bag_kg": 25.0}
    products = [
        product("all", 15, 15, 15, price=9, **more),
        product("ammonium", 21, 0, 0, price=7, **more),
        product("super", 0, 46, 0, price=8, **more),
        product("potash", 0, 0, 60, price=11, **more),
    ]
    mix = best_mix(needs, products, "cost" if aim == "cost" else "excess")
    check_sound(mix, needs, products)
    assert all(spreading.unmet == () for spreading in mix.spreadings)
    if aim == "excess":
        total = sum(sum(spreading.excess) for spreading in mix.spreadings)
        assert total <= 1e-4 * (1 + sum(sum(need.masses_kg) for need in needs))


@pytest.mark.parametrize("kilograms", [1e-7, 2e-6, 1e-4, 3e-4, 0.01])
@pytest.mark.parametrize("aim", ["cost", "excess"])
def test_hardly_any_need_is_planned_too(kilograms: float, aim: str) -> None:
    """Less than a hundred thousandth of a bag is none; anything more is one bag."""
    bag = product("potash", 0, 0, 60, bag_kg=25, price=11)
    need = Need(plot="pot", area_m2=1, k2o=kilograms * HECTARE)
    mix = best_mix([need], [bag], "cost" if aim == "cost" else "excess")
    assert [line.bags for line in mix.purchases] == ([] if kilograms < 25e-5 else [1])


@pytest.mark.skipif(os.name == "nt", reason="nothing is hushed there")
def test_the_solver_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """Its own words would stand beside the JSON that a program reads."""
    needs = [
        Need(plot="a", area_m2=2.72, n=6.421210440928273, p2o5=6.42, k2o=6.42),
        Need(plot="b", area_m2=2.24, k2o=0.010586736269162126),
    ]
    products = [
        product("0", 8.39, 0, 18.08, bag_kg=50, price=1),
        product("1", 43.42, 9.956, 44.137, bag_kg=50, price=0),
        product("2", 0, 16.295, 45.472, bag_kg=25, price=9.99),
        product("3", 56.0, 6.811, 11.9135, price=30),
    ]
    best_mix(needs, products, "excess")
    with hushed():
        ctypes.CDLL(None).puts(b"a line of compiled code")
    assert capfd.readouterr().out == ""
    os.write(1, b"heard again")
    assert capfd.readouterr().out == "heard again"


def test_bags_are_shared_by_a_survey() -> None:
    """Two beds of 10 kg each take one bag of 25, not two."""
    bag = product("ammonium", 20, 0, 0, bag_kg=25, price=7)
    needs = [Need(plot=name, area_m2=HECTARE, n=2) for name in "ab"]
    mix = best_mix(needs, [bag], "cost")
    assert [(line.bags, line.mass_kg) for line in mix.purchases] == [(1, pytest.approx(20))]
    assert mix.cost == 7


def test_what_no_product_carries_is_named() -> None:
    """The rest is met; a product with what is ruled out is not touched."""
    need = Need(plot="lawn", area_m2=HECTARE, n=50, k2o=30, without=("P2O5",))
    (spreading,) = best_mix([need], [UREA, product("all", 10, 10, 10)]).spreadings
    assert dict(spreading.products) == {"urea": pytest.approx(108.7, abs=0.05)}
    assert spreading.unmet == ("K2O",)
    assert spreading.acidity_kg == pytest.approx(50 * 1.8, abs=0.01)


def test_nothing_wanted_nothing_bought() -> None:
    """No need, no purchase."""
    mix = best_mix([Need(plot="bed", area_m2=20)], [UREA])
    assert (mix.purchases, mix.spreadings[0].products) == ((), ())


@pytest.mark.parametrize(
    ("products", "aim", "what"),
    [
        ([], "excess", "no products"),
        ([UREA, UREA], "excess", "Two products are named 'urea'"),
        ([UREA], "cost", "no price for urea"),
    ],
)
def test_orders_that_cannot_be_carried_out(products: list[Product], aim: str, what: str) -> None:
    """Said with what to do."""
    with pytest.raises(OrderError, match=what):
        best_mix([Need(plot="bed", area_m2=1, n=1)], products, "cost" if aim == "cost" else aim)


def test_acidity() -> None:
    """Pierre's convention (from memory): 100 kg of ammonium sulphate take 21 x 5.35 kg CaCO3."""
    by_name = {item.name: item for item in common_products()}
    sulphate, nitrate = by_name["ammonium sulphate"], by_name["calcium nitrate"]
    assert acidifying_effect([(sulphate, 100)]) == pytest.approx(112.35)
    assert acidifying_effect([(nitrate, 100)]) == pytest.approx(-20.925)
    assert acidifying_effect([(by_name["potassium chloride"], 100)]) == 0
    assert acidifying_effect([(by_name["bone meal"], 100)]) is None


@pytest.mark.parametrize(
    ("at", "rates"),
    # Texas A&M, pinto beans, lb/acre from very low to very high; high and very high P get none
    [(0, (60, 50, 20, 0, 0)), (1, (80, 80, 80, 0, 0)), (2, (100, 80, 80, 0, 0))],
)
def test_beans_of_texas(at: int, rates: tuple[int, ...]) -> None:
    """All fifteen."""
    row = shipped_region("texas").recommendations[at]
    for label, rate in zip(CATEGORIES, rates, strict=True):
        found = requirement(row, [Share(label=label, probability=1.0)])
        assert found is not None
        assert found.rate.in_system("us").best == pytest.approx(rate)


@pytest.mark.parametrize(
    ("at", "label", "pounds"),
    # typical of United States extension tables (from memory), lb/1000 ft2
    [
        (1, "very low", 5),
        (1, "medium", 2.5),
        (2, "high", 1),
        (4, "medium", 0.5),
        (5, "very low", 4),
        (5, "high", 1),
    ],
)
def test_typical_recommendations(at: int, label: str, pounds: float) -> None:
    """The middle where a range is printed."""
    row = shipped_region("us_typical").recommendations[at]
    found = requirement(row, [Share(label=label, probability=1.0)])
    assert found is not None
    assert found.rate.converted("lb/1000 ft2").best == pytest.approx(pounds)


@pytest.mark.parametrize("label", ["high", "very high"])
def test_rich_soil_gets_no_phosphorus(label: str) -> None:
    """Even where the table prints 1 lb; the Minnesota example report says 0 for very high P."""
    for region in ("us_typical", "texas"):
        for row in shipped_region(region).recommendations:
            if row.nutrient == "P2O5":
                found = requirement(row, [Share(label=label, probability=1.0)])
                assert found is not None
                assert (found.rate.best, found.ruled_out) == (0, True)


def test_an_open_category_makes_a_range() -> None:
    """Low (70 %) or medium: 4, from 2 to 4 lb; with high it reaches none."""
    row = shipped_region("us_typical").recommendations[1]
    low, medium = Share(label="low", probability=0.7), Share(label="medium", probability=0.3)
    found = requirement(row, [low, medium])
    assert found is not None
    rate = found.rate.converted("lb/1000 ft2")
    assert (rate.best, rate.low, rate.high) == pytest.approx((4, 2, 4))
    high = Share(label="high", probability=0.2)
    assert requirement(row, [medium, high]).rate.low == 0  # type: ignore[union-attr]


def test_nitrogen_needs_no_soil_test() -> None:
    """It goes by the crop; phosphorus without a test gets no rate."""
    nitrogen, phosphorus = shipped_region("us_typical").recommendations[:2]
    found = requirement(nitrogen, [])
    assert found is not None
    rate = found.rate.converted("lb/1000 ft2")
    assert (rate.low, rate.high) == pytest.approx((2, 3))
    assert requirement(phosphorus, []) is None


def test_a_line_of_the_shopping_list() -> None:
    """Loose by the kilogram, bagged by whole bags."""
    assert purchase("lime", 76.5, bag_kg=25, price=4).cost == 16
    assert purchase("lime", 76.5, price=0.2).cost == pytest.approx(15.3)
    assert purchase("lime", 75.0, bag_kg=25).bags == 3


def test_a_survey_of_forty_is_planned_quickly() -> None:
    """Forty plots and six products in whole bags."""
    needs = [
        Need(plot=str(i), area_m2=5000 + 100 * i, n=60 + i, p2o5=(i % 5) * 10, k2o=(i % 7) * 10)
        for i in range(40)
    ]
    products = [
        product("all", 15, 15, 15, bag_kg=25, price=9),
        product("ammonium", 21, 0, 0, bag_kg=25, price=7),
        product("urea", 46, 0, 0, bag_kg=50, price=28),
        product("DAP", 18, 46, 0, bag_kg=50, price=35),
        product("super", 0, 46, 0, bag_kg=25, price=16),
        product("potash", 0, 0, 60, bag_kg=50, price=30),
    ]
    for aim in ("cost", "excess"):
        mix = best_mix(needs, products, "cost" if aim == "cost" else "excess")
        check_sound(mix, needs, products)
