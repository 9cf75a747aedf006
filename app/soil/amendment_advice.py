"""What is said of lime and sulphur."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from app.errors import OrderError
from app.soil.amendment import USUAL_DEPTH_CM, Cap, caps, dressings, whole_bags
from app.soil.cautions import Caution, cautions
from app.soil.crops import Crop
from app.soil.lime import (
    CREDITS_RECENT_LIME,
    EXCHANGEABLE,
    HIGHEST_TARGET,
    PER_DEPTH,
    LimeMethod,
    find_lime_method,
    lime_from_laboratory,
    residual_credit,
)
from app.soil.lime_guide import (
    LimeRange,
    lime_by_factor,
    lime_rough_guide,
    shipped_lime_tables,
)
from app.soil.lime_product import LimeProduct, product_rate
from app.soil.region import Region
from app.soil.soil_reading import LABORATORY_ONLY, Plot, SoilReading, bulk_density
from app.soil.spread import Spread
from app.soil.statement import REPEAT, Advice, no_rate
from app.soil.sulphur import sulphur_for_reading
from app.soil.table_reader import load_table
from app.soil.units import Amount, convert, rate_unit

_ASSUMED_DEPTH = "Where a table prints no depth, 15 cm (6 in) is taken."


def amendment_advice(
    readings: Sequence[SoilReading],
    ph: SoilReading | None,
    plot: Plot,
    crop: Crop,
    region: Region,
    product: LimeProduct | None,
    seed: int,
) -> tuple[list[Advice], Amount | None, Amount | None]:
    """Return what is said of lime and sulphur, and the lime and the sulphur for the plot, kg.

    A color test gives the rough guide by texture; a laboratory's buffer pH or exchangeable acidity
    gives a rate.
    """
    measured = [r for r in readings if r.quantity in LABORATORY_ONLY and r.value is not None]
    problem = _ph_problem(ph)
    if problem is not None and (not measured or problem.code == "off_span"):
        return [problem], None, None
    spread = None if ph is None or problem is not None else ph.spread()
    if spread is not None:
        too_acid, too_alkaline = spread.low < crop.ph_from, spread.high > crop.ph_to
        if too_acid and too_alkaline:
            return [_too_wide()], None, None
        if too_alkaline:
            advice, total = _sulphur(spread, plot, crop)
            return [advice], None, total
        if not too_acid:
            return [_nothing_needed(crop)], None, None
    if measured:
        both = [_lime_by_laboratory(r, spread, plot, crop, product, seed) for r in measured]
        totals = [total for _, total in both if total is not None]
        return [advice for advice, _ in both], totals[0] if totals else None, None
    assert spread is not None  # without a pH and without a laboratory there was a problem above
    advice, total = _lime_by_texture(spread, plot, crop, region, product)
    if ph is not None and ph.source == "colour":
        advice = replace(advice, cautions=cautions("screening") + advice.cautions)
    return [advice], total, None


def _ph_problem(ph: SoilReading | None) -> Advice | None:
    """Return why a pH gives no amounts, None where it does."""
    if ph is None:
        return Advice(
            topic="lime",
            code="no_ph",
            statement="There is no pH: nothing can be said of lime or sulphur.",
            what_to_do="Read the pH of this sample.",
        )
    if ph.medium is None:
        return Advice(
            topic="lime",
            code="medium_unknown",
            statement="It is not known in which liquid the pH was measured: no amounts.",
            what_to_do="Say whether the soil was shaken in water, calcium chloride or potassium "
            "chloride.",
        )
    if ph.medium != "water":
        return Advice(
            topic="lime",
            code="not_water_ph",
            statement="The tables of lime and sulphur are for pH in water: no amounts.",
            what_to_do="Measure in water, or ask for an estimate.",
        )
    if ph.value is None:
        return Advice(
            topic="lime",
            code="off_span",
            statement="The pH is beyond the chart: no amounts.",
            what_to_do="Read it on a chart that reaches further, or ask a laboratory.",
        )
    return None


def _nothing_needed(crop: Crop) -> Advice:
    return Advice(
        topic="lime",
        code="nothing_needed",
        statement=f"The pH is right for {crop.name}: neither lime nor sulphur is needed.",
        citations=(crop.citation,),
    )


def _too_wide() -> Advice:
    return Advice(
        topic="lime",
        code="too_uncertain",
        statement="The reading is so uncertain that the soil may be too acid, right or too "
        "alkaline: no amounts.",
        what_to_do=REPEAT,
    )


def _lime_by_laboratory(
    reading: SoilReading,
    ph: Spread | None,
    plot: Plot,
    crop: Crop,
    product: LimeProduct | None,
    seed: int,
) -> tuple[Advice, Amount | None]:
    try:
        method = _method_of(reading)
        target = _lime_target(crop, method)
        pure = _laboratory_rate(method, reading, ph, plot, crop, seed)
    except OrderError as error:
        return no_rate("lime", error), None
    ranged = pure.low < pure.high
    rate = Amount(
        name="rate",
        unit="g/m2",
        best=pure.value,
        low=pure.low if ranged else None,
        high=pure.high if ranged else None,
    )
    amounts, total, cap = _to_spread(rate, plot, crop, product)
    statement = f"Lime by {method.title}, to pH {target:.3g}."
    if method.targets is None:
        statement = f"Lime by {method.title}, which has no choice of target."
    statement += _say_strength(product)
    if not ranged:
        statement += " No uncertainty was given, so there is no range."
    if method.depth_cm is None and method.key != EXCHANGEABLE:
        statement += " The depth of its rates is not printed; they are not scaled."
    uncertain = ph is not None and ph.high >= crop.ph_from
    if uncertain:
        statement += " The interval of the pH reaches into no lime at all."
    return (
        Advice(
            topic="lime",
            code="lime_laboratory",
            statement=statement,
            amounts=amounts,
            citations=(method.citation, cap.citation, crop.citation),
            what_to_do=REPEAT if uncertain else None,
            cautions=_lime_cautions(crop, plot, credited=method.key == CREDITS_RECENT_LIME),
        ),
        total,
    )


def _method_of(reading: SoilReading) -> LimeMethod:
    """Return the method of a laboratory's reading; refuse one that measures something else."""
    quantity = reading.quantity.replace("_", " ")
    if reading.method is None:
        raise OrderError(
            f"The {quantity} has no method.",
            what_to_do="Write the method that stands on the laboratory's report.",
        )
    method = find_lime_method(reading.method)
    if method.measures != reading.quantity:
        raise OrderError(
            f"{method.title} is not a method of {quantity}.",
            what_to_do="Check the number and the method on the laboratory's report.",
        )
    return method


def _laboratory_rate(
    method: LimeMethod,
    reading: SoilReading,
    ph: Spread | None,
    plot: Plot,
    crop: Crop,
    seed: int,
) -> Spread:
    """Return pure calcium carbonate over the plot's depth, g/m2."""
    measured, densities = reading.spread(), bulk_density(plot)
    if measured is None or (plot.depth_cm is None and method.key in PER_DEPTH):
        raise OrderError(
            f"{method.title} gives a rate per depth of soil.", what_to_do="Give the depth."
        )
    density = None if densities is None else sum(densities) / 2
    credit = 0.0
    if plot.recent_lime_kg_per_ha is not None and plot.months_since_lime is not None:
        credit = residual_credit(
            plot.recent_lime_kg_per_ha, plot.months_since_lime, organic=plot.texture == "peat"
        )
    pure = lime_from_laboratory(
        method,
        measured,
        ph=ph,
        needed_below=crop.ph_from,
        target=_lime_target(crop, method),
        depth_cm=plot.depth_cm or method.depth_cm or USUAL_DEPTH_CM,
        bulk_density_g_cm3=density,
        credit_kg_per_ha=credit,
        seed=seed,
    )
    if method.key != EXCHANGEABLE or densities is None or density is None:
        return pure
    return pure.scaled(densities[0] / density, 1.0, densities[1] / density)


def _lime_target(crop: Crop, method: LimeMethod | None = None) -> float:
    """Return the middle of the crop's range, but not above neutral nor the end of a method."""
    target = min(crop.target, HIGHEST_TARGET)
    return target if method is None or method.targets is None else min(target, method.targets[1])


def _say_strength(product: LimeProduct | None) -> str:
    if product is None:
        return " The rate is of pure, fine calcium carbonate: give the product for its own."
    if product.fineness_percent is None:
        return f" The fineness of {product.name} is not known: coarse lime works less, and later."
    return ""


def _lime_cautions(crop: Crop, plot: Plot, *, credited: bool = False) -> tuple[Caution, ...]:
    codes = ["local_rules", "lime_safety", "lime_timing"]
    if crop.use == "established lawn":
        codes.append("lime_surface")
    if plot.recent_lime_kg_per_ha and not credited:
        codes.append("lime_recent")
    return cautions(*codes)


def _lime_by_texture(
    ph: Spread, plot: Plot, crop: Crop, region: Region, product: LimeProduct | None
) -> tuple[Advice, Amount | None]:
    try:
        guide = _rough_guide(ph, plot, crop, region)
    except OrderError as error:
        return no_rate("lime", error), None
    rate = Amount(name="rate", unit="g/m2", low=guide.low, high=guide.high)
    amounts, total, cap = _to_spread(rate, plot, crop, product)
    statement = (
        f"A rough guide to lime by texture, to pH {guide.target:.3g}: a pH in water alone cannot "
        "give a rate."
    )
    if not region.lime_factors and not region.lime_tables:
        statement += f" {_ASSUMED_DEPTH}"
    statement += _say_strength(product)
    if guide.target < crop.target - 0.05:
        statement += f" The tables do not reach the middle of the range, pH {crop.target:.3g}."
    uncertain = ph.high >= crop.ph_from
    if uncertain:
        statement += " The interval of the reading reaches into no lime at all."
    return (
        Advice(
            topic="lime",
            code="lime_rough_guide",
            statement=statement,
            amounts=amounts,
            citations=(*guide.citations, cap.citation, crop.citation),
            what_to_do=REPEAT
            if uncertain
            else "For a rate, ask a laboratory for a buffer pH or the exchangeable acidity.",
            cautions=_lime_cautions(crop, plot),
        ),
        total,
    )


def _rough_guide(ph: Spread, plot: Plot, crop: Crop, region: Region) -> LimeRange:
    if plot.texture is None:
        raise OrderError(
            "Without the texture there is no guide to lime.",
            what_to_do="Say which texture the soil has, such as sandy loam.",
        )
    target = _lime_target(crop)
    if region.lime_factors:
        guide = lime_by_factor(
            ph,
            needed_below=crop.ph_from,
            target=target,
            texture=plot.texture,
            grass=crop.use in ("established lawn", "grass"),
            factors=region.lime_factors,
        )
        if guide is not None:
            return guide
    return lime_rough_guide(
        ph,
        needed_below=crop.ph_from,
        target=target,
        texture=plot.texture,
        depth_cm=plot.depth_cm or USUAL_DEPTH_CM,
        tables=region.lime_tables or shipped_lime_tables(),
    )


def _to_spread(
    pure: Amount, plot: Plot, crop: Crop, product: LimeProduct | None
) -> tuple[tuple[Amount, ...], Amount | None, Cap]:
    """Return the amounts of a product, its total for the plot, and the cap of a dressing.

    The rate of pure calcium carbonate (g/m2) already is for the plot's depth; strength, area,
    dressings and bags follow in this order.
    """
    cap = (caps("lime", crop.use) or caps("lime", "vegetable garden"))[0]
    rate = pure
    if product is not None:
        rate = pure.scaled(product_rate(1.0, product), name=pure.name, unit=pure.unit)
    amounts, total = _spread_out(rate, plot, cap)
    bag_kg = None if product is None else product.bag_kg
    if bag_kg is not None and total is not None:
        amounts += (_counted("bags", total, lambda mass: whole_bags(mass, bag_kg)),)
    return amounts, total, cap


def _spread_out(rate: Amount, plot: Plot, cap: Cap) -> tuple[tuple[Amount, ...], Amount | None]:
    """Return rate, total for the plot and dressings of a rate in g/m2."""
    most = convert(cap.g_per_m2, "g/m2", rate_unit(plot.area_m2))
    amounts = [
        rate.converted(rate_unit(plot.area_m2)),
        Amount(name="at most in one dressing", unit=rate_unit(plot.area_m2), best=most),
        _counted("dressings", rate, lambda grams: len(dressings(grams, cap.g_per_m2))),
    ]
    if cap.wait_months is not None:
        low, high = cap.wait_months
        ends = {"low": low, "high": high} if low < high else {"best": low}
        amounts.append(Amount(name="wait between dressings", unit="months", **ends))
    if plot.area_m2 is None:
        return tuple(amounts), None
    total = rate.scaled(plot.area_m2 / 1000, name="for this area", unit="kg")
    return (*amounts, total), total


def _counted(name: str, amount: Amount, count: Callable[[float], int]) -> Amount:
    """Return how many are needed at each end of an amount."""

    def of(number: float | None) -> float | None:
        return None if number is None else float(count(number))

    return Amount(
        name=name, unit="1", best=of(amount.best), low=of(amount.low), high=of(amount.high)
    )


def _sulphur(ph: Spread, plot: Plot, crop: Crop) -> tuple[Advice, Amount | None]:
    if plot.fizzes:
        return _free_lime(), None
    try:
        if plot.texture is None:
            raise OrderError(
                "Without the texture there is no guide to sulphur.",
                what_to_do="Say which texture the soil has, such as sandy loam.",
            )
        guide = sulphur_for_reading(
            ph, upper_limit=crop.ph_to, target=crop.target, texture=plot.texture
        )
    except OrderError as error:
        return no_rate("sulphur", error), None
    scale = (plot.depth_cm or USUAL_DEPTH_CM) / USUAL_DEPTH_CM
    rate = Amount(name="rate", unit="g/m2", low=guide.low * scale, high=guide.high * scale)
    (cap,) = caps("sulphur", crop.use)
    uncertain = ph.low <= crop.ph_to
    statement = (
        f"A rough guide to elemental sulphur, to pH {crop.target:.3g}. The sources disagree "
        f"widely: the range shows it. {_ASSUMED_DEPTH}"
    )
    if uncertain:
        statement += " The interval of the reading reaches into no sulphur at all."
    codes = ["local_rules", "sulphur_safety", "sulphur_timing"]
    codes += ["free_lime", "acids"] if plot.fizzes is None else []
    amounts, total = _spread_out(rate, plot, cap)
    return (
        Advice(
            topic="sulphur",
            code="sulphur_guide",
            statement=statement,
            amounts=amounts,
            citations=(*guide.citations, cap.citation, crop.citation),
            what_to_do=REPEAT if uncertain else "Start with the lowest rate and test again.",
            cautions=cautions(*codes),
        ),
        total,
    )


def _free_lime() -> Advice:
    return Advice(
        topic="sulphur",
        code="free_lime",
        statement="The soil fizzes with vinegar: it holds free lime, and making it more acid is "
        "not practical.",
        what_to_do="Choose a crop that likes this soil, or grow in a container.",
        citations=(load_table("sulphur_rhs").citation,),
    )
