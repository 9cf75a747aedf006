"""Plan what is bought for all samples of a survey, and what of it goes where."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from app.errors import OrderError
from app.soil.fertiliser import Need
from app.soil.mix import Aim, Mix, best_mix
from app.soil.mix_advice import mix_advice
from app.soil.product_sheet import Products
from app.soil.shopping import (
    ShoppingLine,
    ShoppingList,
    amendment_line,
    cost_of,
    fertiliser_lines,
)
from app.survey.sample_advice import SampleAdvice


def plan_purchases(
    advised: Sequence[SampleAdvice], products: Products | None, least: Aim | None
) -> tuple[tuple[SampleAdvice, ...], ShoppingList | None]:
    """Return the samples with their mix of fertilizers, and the shopping list of them all.

    Lime and sulphur that may turn out not to be needed are not bought: the test comes first.

    Parameters
    ----------
    advised : sequence of SampleAdvice
        What is said of each sample.
    products : Products or None
        What the user has or can buy; without fertilizers there is no mix.
    least : {"cost", "excess"} or None
        What the mix is to make least; None for the cost where all prices are known.
    """
    products = products or Products()
    samples, mix, problem = _mixed(tuple(advised), products, least)
    lines = list(() if mix is None else fertiliser_lines(mix))
    lines += _amendments(samples, products)
    wait = tuple(item.sample.label for item in samples if _repeats_first(item))
    if not lines and not wait and problem is None:
        return samples, None
    return samples, ShoppingList(
        lines=tuple(lines),
        cost=cost_of(lines),
        aim=None if mix is None else mix.aim,
        wait=wait,
        without_area=tuple(
            item.sample.label
            for item in samples
            if item.plot.area_m2 is None and not item.plot.suspected_contamination
        ),
        problem=problem,
    )


def _mixed(
    advised: tuple[SampleAdvice, ...], products: Products, least: Aim | None
) -> tuple[tuple[SampleAdvice, ...], Mix | None, str | None]:
    """Return the samples with what is spread on each, the mix, or why there is none."""
    needs: dict[str, Need] = {}
    for item in advised:
        if item.interpretation.need is not None:
            needs[item.sample.label] = item.interpretation.need
    goods = products.fertilisers
    if not needs or not goods:
        return advised, None, None
    aim: Aim = least or ("excess" if any(p.price is None for p in goods) else "cost")
    try:
        mix = best_mix(tuple(needs.values()), goods, aim)
    except OrderError as error:
        return advised, None, f"{error.what_happened} {error.what_to_do}"
    spread = dict(zip(needs, mix.spreadings, strict=True))
    return (
        tuple(
            replace(
                item,
                interpretation=replace(
                    item.interpretation,
                    advice=(
                        *item.interpretation.advice,
                        mix_advice(spread[label], needs[label], goods),
                    ),
                ),
            )
            if (label := item.sample.label) in spread
            else item
            for item in advised
        ),
        mix,
        None,
    )


def _amendments(advised: Sequence[SampleAdvice], products: Products) -> list[ShoppingLine]:
    sure = [item.interpretation for item in advised if not _repeats_first(item)]
    limes = [found.lime for found in sure if found.lime is not None]
    sulphurs = [found.sulphur for found in sure if found.sulphur is not None]
    lines = (
        amendment_line("lime", limes, products.lime),
        amendment_line("sulphur", sulphurs, products.sulphur),
    )
    return [line for line in lines if line is not None]


def _repeats_first(item: SampleAdvice) -> bool:
    """Whether lime or sulphur may turn out not to be needed."""
    kinds: tuple[Literal["lime", "sulphur"], ...] = ("lime", "sulphur")
    return any(a.repeat_first for a in item.interpretation.advice if a.topic in kinds)
