"""What is said of the mix of products that meets what a plot wants."""

from collections.abc import Sequence

from app.soil.cautions import cautions
from app.soil.fertiliser import Need
from app.soil.mix import Spreading
from app.soil.product import Product
from app.soil.region_tables import NUTRIENTS
from app.soil.statement import Advice, CalculationStep
from app.soil.table_reader import load_table
from app.soil.units import Amount

LEAST_EXCESS = 0.005
"""Share of what is wanted below which more than wanted is not worth a word."""


def mix_advice(spreading: Spreading, need: Need, products: Sequence[Product]) -> Advice:
    """Say what is spread on a plot, what it gives beyond the need, and what it does to the pH."""
    by_name = {product.name: product for product in products}
    used = [(by_name[name], mass) for name, mass in spreading.products]
    amounts = [Amount(name=f"{item.name} for this area", unit="kg", best=m) for item, m in used]
    more = [
        Amount(name=f"{nutrient} more than wanted", unit="kg", best=excess)
        for nutrient, excess, wanted in zip(
            NUTRIENTS, spreading.excess, need.masses_kg, strict=True
        )
        if excess > max(1e-6, LEAST_EXCESS * wanted)
    ]
    statement = "Nothing at hand may be spread here."
    if used:
        statement = f"Of the products at hand: {', '.join(item.name for item, _ in used)}."
    if spreading.unmet:
        without = f" without {' and '.join(need.without)}" if need.without else ""
        statement += f" No product at hand gives {' and '.join(spreading.unmet)}{without}."
    if more:
        statement += " It gives more than wanted of what the products hold together."
    effect = spreading.acidity_kg
    if effect is None:
        unknown = [item.name for item, _ in used if item.n > 0 and item.acidity is None]
        statement += f" How far {', '.join(unknown)} makes the soil more acid is not known here."
    elif effect > 0:
        statement += " It makes the soil more acid."
        more.append(Amount(name="lime that would offset its acid", unit="kg", best=effect))
    elif effect < 0:
        statement += " It makes the soil less acid."
        more.append(Amount(name="lime that would do as much", unit="kg", best=-effect))
    unmet = " and ".join(spreading.unmet)
    return Advice(
        topic="fertiliser",
        code="mix",
        statement=statement,
        amounts=(*amounts, *more),
        citations=(load_table("fertilisers").citation,) if effect else (),
        what_to_do=f"Find a product with {unmet}." if unmet else None,
        cautions=cautions("split_nitrogen") if need.n > 0 else (),
        steps=_steps(spreading, need, used),
    )


def _steps(
    spreading: Spreading, need: Need, used: Sequence[tuple[Product, float]]
) -> tuple[CalculationStep, ...]:
    """Return for each nutrient what the products give, and the acid by each one's nitrogen."""
    steps = []
    wanted = need.masses_kg
    for at, nutrient in enumerate(NUTRIENTS):
        parts = [f"{mass:.4g} kg x {item.grade[at]:g} %" for item, mass in used if item.grade[at]]
        if parts:
            text = f"{nutrient}, wanted {wanted[at]:.4g} kg: {' + '.join(parts)}"
            given = Amount(name=nutrient, unit="kg", best=spreading.given[at])
            steps.append(CalculationStep(text=text, result=given))
    acid = [
        f"{mass * item.n / 100:.4g} kg N x {item.acidity:g}"
        for item, mass in used
        if item.n > 0 and item.acidity is not None
    ]
    if acid and spreading.acidity_kg is not None:
        steps.append(
            CalculationStep(
                text=f"Acid, kg of calcium carbonate: {' + '.join(acid)}",
                result=Amount(name="either way", unit="kg", best=abs(spreading.acidity_kg)),
                citation=load_table("fertilisers").citation,
            )
        )
    return tuple(steps)
