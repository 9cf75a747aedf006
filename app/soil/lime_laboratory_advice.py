"""What is said of lime by a laboratory's buffer pH or exchangeable acidity."""

from app.errors import OrderError
from app.soil.amendment import USUAL_DEPTH_CM
from app.soil.crops import Crop
from app.soil.dose import dose
from app.soil.lime import (
    CREDITS_RECENT_LIME,
    EXCHANGEABLE,
    PER_DEPTH,
    LimeMethod,
    find_lime_method,
    lime_from_laboratory,
    pure_scale,
)
from app.soil.lime_advice import lime_cap, lime_cautions, lime_target, say_product, target_step
from app.soil.lime_formulas import residual_credit
from app.soil.lime_product import LimeProduct
from app.soil.soil_reading import Plot, SoilReading, bulk_density
from app.soil.spread import DRAWS, Spread
from app.soil.statement import REPEAT, Advice, CalculationStep, no_rate
from app.soil.units import Amount

_MEASURED = {"buffer_ph": "buffer pH {:g}", "exchangeable_acidity": "{:g} meq/100 g of acidity"}


def lime_by_laboratory(
    reading: SoilReading,
    ph: Spread | None,
    plot: Plot,
    crop: Crop,
    product: LimeProduct | None,
    seed: int,
) -> tuple[Advice, Amount | None]:
    """Return the lime by a laboratory's buffer pH or exchangeable acidity, and its total, kg."""
    try:
        method = _method_of(reading)
        target = lime_target(crop, method)
        pure = _laboratory_rate(method, reading, ph, plot, crop, seed)
    except OrderError as error:
        return no_rate("lime", error), None
    ranged = pure.low < pure.high
    ends = (pure.low, pure.high) if ranged else (None, None)
    rate = Amount(name="rate", unit="g/m2", best=pure.value, low=ends[0], high=ends[1])
    cap = lime_cap(crop)
    found = dose(rate, plot, cap, product)
    statement = f"Lime by {method.title}, to pH {target:.3g}."
    if method.targets is None:
        statement = f"Lime by {method.title}, which has no choice of target."
    statement += say_product(product)
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
            amounts=found.amounts,
            citations=(method.citation, cap.citation, crop.citation),
            what_to_do=REPEAT if uncertain else None,
            cautions=lime_cautions(crop, plot, credited=_credits(method, plot)),
            steps=(
                target_step(crop, target),
                *_laboratory_steps(method, reading, ph, plot, crop, rate),
                *found.steps,
            ),
            repeat_first=uncertain,
        ),
        found.total,
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
    pure = lime_from_laboratory(
        method,
        measured,
        ph=ph,
        needed_below=crop.ph_from,
        target=lime_target(crop, method),
        depth_cm=_depth_cm(method, plot),
        bulk_density_g_cm3=density,
        credit_kg_per_ha=_credit_kg_per_ha(plot),
        seed=seed,
    )
    if method.key != EXCHANGEABLE or densities is None or density is None:
        return pure
    return pure.scaled(densities[0] / density, 1.0, densities[1] / density)


def _depth_cm(method: LimeMethod, plot: Plot) -> float:
    return plot.depth_cm or method.depth_cm or USUAL_DEPTH_CM


def _credits(method: LimeMethod, plot: Plot) -> bool:
    """Whether a rate counts the lime of the last year: by its rule, and since when is known."""
    return method.key == CREDITS_RECENT_LIME and plot.months_since_lime is not None


def _credit_kg_per_ha(plot: Plot) -> float:
    """Return what lime of the last year still has to do."""
    if plot.recent_lime_kg_per_ha is None or plot.months_since_lime is None:
        return 0.0
    organic = plot.texture == "peat"
    return residual_credit(plot.recent_lime_kg_per_ha, plot.months_since_lime, organic=organic)


def _laboratory_steps(
    method: LimeMethod,
    reading: SoilReading,
    ph: Spread | None,
    plot: Plot,
    crop: Crop,
    rate: Amount,
) -> tuple[CalculationStep, ...]:
    """Return the formula as printed, what was put into it, and the way to g/m2 of pure lime."""
    put_in = [_MEASURED[reading.quantity].format(reading.value)]
    if ph is not None:
        none = f" ({crop.ph_from:g} or more: none)" if ph.value >= crop.ph_from else ""
        put_in.append(f"pH {ph.value:.3g}{none}")
    if method.targets is not None:
        put_in.append(f"target {lime_target(crop, method):.3g}")
    densities = bulk_density(plot)
    if method.key == EXCHANGEABLE and densities is not None:
        put_in.append(f"{sum(densities) / 2:g} g/cm3 over {plot.depth_cm:g} cm")
    credit = _credit_kg_per_ha(plot)
    if method.key == CREDITS_RECENT_LIME and credit > 0:
        put_in.append(f"{credit:.4g} kg/ha of recent lime still to work")
    scale = pure_scale(method, _depth_cm(method, plot))
    printed = Amount(name="rate", unit=method.unit, best=(rate.best or 0.0) / scale)
    steps = [
        CalculationStep(text=f"{method.title}: {method.formula}", citation=method.citation),
        CalculationStep(text=f"Put in: {', '.join(put_in)}", result=printed),
    ]
    if method.percent != 100:
        steps.append(
            CalculationStep(
                text=f"x {method.percent / 100:g}: the source means lime of {method.percent:g} %",
                citation=method.citation,
            )
        )
    if method.depth_cm is not None:
        text = f"x {_depth_cm(method, plot):.4g}/{method.depth_cm:.4g} for the depth in cm"
        steps.append(CalculationStep(text=text, citation=method.citation))
    said = "Pure calcium carbonate"
    if rate.low is not None:
        said += f"; 5 % and 95 % of {DRAWS} draws over the intervals of what was put in"
    return (*steps, CalculationStep(text=said, result=rate))
