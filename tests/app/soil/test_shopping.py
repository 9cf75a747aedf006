"""What is bought: bags, costs and ranges add up; what a mix does is said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.soil.fertiliser import Need
from app.soil.lime_product import LimeProduct
from app.soil.mix import best_mix
from app.soil.mix_advice import mix_advice
from app.soil.product import Product
from app.soil.shopping import PURE, amendment_line, cost_of, fertiliser_lines
from app.soil.units import Amount

HECTARE = 10_000.0
MASS = st.floats(0, 500, allow_subnormal=False)
LIME = LimeProduct(name="lime", cce_percent=90, bag_kg=25, price=4)
SULPHATE = Product(name="sulphate", n=21, p2o5=0, k2o=0, bag_kg=25, price=14, acidity=5.35)
ALL = Product(name="all", n=10, p2o5=10, k2o=10, bag_kg=25, price=1)


def kg(low: float, high: float, best: float | None = None) -> Amount:
    """Return kilograms."""
    return Amount(name="for this area", unit="kg", best=best, low=low, high=high)


def test_lime_of_several_plots_is_bought_together() -> None:
    """Ends add up before bags are rounded: 20 to 40 and 10 to 35 kg are 2 to 3 bags of 25."""
    line = amendment_line("lime", [kg(20, 40), kg(10, 35)], LIME)
    assert line is not None
    assert (line.mass.low, line.mass.high, line.mass.best) == (30, 75, None)
    assert line.bags is not None
    assert (line.bags.low, line.bags.high) == (2, 3)
    assert line.cost is not None
    assert (line.cost.low, line.cost.high) == (8, 12)


def test_without_a_product_it_is_the_pure_substance() -> None:
    """No bags, no cost; nothing wanted is no line."""
    exact = Amount(name="for this area", unit="kg", best=5.0)
    line = amendment_line("lime", [exact, kg(2, 4, 3)], None)
    assert line is not None
    assert (line.name, line.bags, line.cost) == (PURE["lime"], None, None)
    assert (line.mass.low, line.mass.best, line.mass.high) == (7, 8, 9)
    assert amendment_line("sulphur", [], None) is None
    assert amendment_line("lime", [kg(0, 0)], LIME) is None


def test_the_cost_of_all_needs_all_prices() -> None:
    """A missing one leaves it unknown."""
    need = Need(plot="field", area_m2=HECTARE, n=21)
    bought = fertiliser_lines(best_mix([need], [SULPHATE], "cost"))
    lime = amendment_line("lime", [kg(20, 40)], LIME)
    assert lime is not None
    cost = cost_of([*bought, lime])
    assert cost is not None
    assert (cost.low, cost.high) == (4 * 14 + 4, 4 * 14 + 8)  # 100 kg are 4 bags
    pure = amendment_line("lime", [kg(20, 40)], None)
    assert pure is not None
    assert cost_of([*bought, pure]) is None
    assert cost_of([]) is None


@given(
    masses=st.lists(st.tuples(MASS, MASS), min_size=1, max_size=8),
    bag=st.floats(1, 50),
)
def test_bags_hold_what_is_spread(masses: list[tuple[float, float]], bag: float) -> None:
    """At both ends, and never more than one bag too many."""
    totals = [kg(min(pair), max(pair)) for pair in masses]
    lime = LimeProduct(name="lime", cce_percent=90, bag_kg=bag)
    line = amendment_line("lime", totals, lime)
    if line is None:
        assert sum(max(pair) for pair in masses) == 0
        return
    assert line.bags is not None
    high = line.bags.best if line.bags.high is None else line.bags.high
    most = sum(max(pair) for pair in masses)
    assert high is not None
    assert most <= high * bag * (1 + 1e-9)
    assert (high - 1) * bag <= most * (1 + 1e-9)


def test_what_a_mix_does_is_said() -> None:
    """100 kg of sulphate: 21 kg N, 112.35 kg CaCO3 to offset it (Pierre, from memory)."""
    need = Need(plot="field", area_m2=HECTARE, n=21, without=("P2O5",), k2o=10)
    (spreading,) = best_mix([need], [SULPHATE, ALL], "cost").spreadings
    advice = mix_advice(spreading, need, [SULPHATE, ALL])
    amounts = {amount.name: amount.best for amount in advice.amounts}
    assert amounts["sulphate for this area"] == pytest.approx(100)
    assert amounts["lime that would offset its acid"] == pytest.approx(112.35)
    assert "No product at hand gives K2O without P2O5." in advice.statement
    assert advice.what_to_do == "Find a product with K2O."
    assert "more acid" in advice.statement
    assert [step.text for step in advice.steps] == [
        "N, wanted 21 kg: 100 kg x 21 %",
        "Acid, kg of calcium carbonate: 21 kg N x 5.35",
    ]


def test_excess_and_unknown_acid_are_said() -> None:
    """A complete grade for nitrogen alone gives the other two as well."""
    need = Need(plot="field", area_m2=HECTARE, n=10)
    (spreading,) = best_mix([need], [ALL], "cost").spreadings
    advice = mix_advice(spreading, need, [ALL])
    amounts = {amount.name: amount.best for amount in advice.amounts}
    assert amounts["P2O5 more than wanted"] == pytest.approx(10)
    assert amounts["K2O more than wanted"] == pytest.approx(10)
    assert "more than wanted" in advice.statement
    assert "How far all makes the soil more acid is not known here." in advice.statement
