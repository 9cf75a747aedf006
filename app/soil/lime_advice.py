"""What is said of lime by texture, a rough guide, and what holds for lime by any way."""

from app.errors import OrderError
from app.soil.amendment import USUAL_DEPTH_CM, Cap, caps
from app.soil.cautions import Caution, cautions
from app.soil.crops import Crop
from app.soil.dose import dose
from app.soil.lime import HIGHEST_TARGET, LimeMethod
from app.soil.lime_guide import LimeRange, lime_by_factor, lime_rough_guide, shipped_lime_tables
from app.soil.lime_product import LimeProduct
from app.soil.region import Region
from app.soil.soil_reading import Plot
from app.soil.spread import Spread
from app.soil.statement import ASSUMED_DEPTH, REPEAT, Advice, CalculationStep, no_rate
from app.soil.units import Amount


def lime_target(crop: Crop, method: LimeMethod | None = None) -> float:
    """Return the middle of the crop's range, but not above neutral nor the end of a method."""
    target = min(crop.target, HIGHEST_TARGET)
    return target if method is None or method.targets is None else min(target, method.targets[1])


def target_step(crop: Crop, target: float) -> CalculationStep:
    """Return the step from a crop's range to the pH that is aimed at."""
    text = (
        f"{crop.name} likes pH {crop.ph_from:g} to {crop.ph_to:g}: a soil below it is brought "
        f"towards the middle, here to pH {target:.3g}"
    )
    return CalculationStep(text=text, citation=crop.citation)


def lime_cap(crop: Crop) -> Cap:
    """Return the most that is spread at once, by the crop's land use; else a garden's."""
    return (caps("lime", crop.use) or caps("lime", "vegetable garden"))[0]


def say_product(product: LimeProduct | None) -> str:
    """Say of which lime the amounts are."""
    if product is None:
        return " The amounts are of pure, fine calcium carbonate; a product needs its own strength."
    said = f" The amounts are of {product.name}."
    if product.fineness_percent is None:
        said += " Its fineness is not known: coarse lime works less, and later."
    return said


def lime_cautions(crop: Crop, plot: Plot, *, credited: bool = False) -> tuple[Caution, ...]:
    """Return what must be said with any amount of lime."""
    codes = ["local_rules", "lime_safety", "lime_timing"]
    if crop.use == "established lawn":
        codes.append("lime_surface")
    if plot.recent_lime_kg_per_ha and not credited:
        codes.append("lime_recent")
    return cautions(*codes)


def lime_by_texture(
    ph: Spread, plot: Plot, crop: Crop, region: Region, product: LimeProduct | None
) -> tuple[Advice, Amount | None]:
    """Return the rough guide to lime by texture, a range, and its total, kg."""
    try:
        guide = _rough_guide(ph, plot, crop, region)
    except OrderError as error:
        return no_rate("lime", error), None
    rate = Amount(name="rate", unit="g/m2", low=guide.low, high=guide.high)
    cap = lime_cap(crop)
    found = dose(rate, plot, cap, product)
    statement = (
        f"A rough guide to lime by texture, to pH {guide.target:.3g}: a pH in water alone cannot "
        "give a rate."
    )
    if region.lime_factors:
        statement += " The rates are for the depth that their source means, whatever it is here."
    elif not region.lime_tables:
        statement += f" {ASSUMED_DEPTH}"
    statement += say_product(product)
    if guide.target < crop.target - 0.05:
        statement += f" The tables do not reach the middle of the range, pH {crop.target:.3g}."
    uncertain = ph.high >= crop.ph_from
    if uncertain:
        statement += " The interval of the reading reaches into no lime at all."
    sources = dict.fromkeys(look_up.citation for look_up in guide.look_ups)
    return (
        Advice(
            topic="lime",
            code="lime_rough_guide",
            statement=statement,
            amounts=found.amounts,
            citations=(*sources, cap.citation, crop.citation),
            what_to_do=REPEAT
            if uncertain
            else "For a rate, ask a laboratory for a buffer pH or the exchangeable acidity.",
            cautions=lime_cautions(crop, plot),
            steps=(
                target_step(crop, lime_target(crop)),
                *_guide_steps(guide, rate, crop, uncertain=uncertain),
                *found.steps,
            ),
            repeat_first=uncertain,
        ),
        found.total,
    )


def _guide_steps(
    guide: LimeRange, rate: Amount, crop: Crop, *, uncertain: bool
) -> tuple[CalculationStep, ...]:
    steps = [
        CalculationStep(
            text=f"Lime at pH {found.ph:.3g}: {found.printed}",
            result=Amount(name="pure", unit="g/m2", best=found.rate),
            citation=found.citation,
        )
        for found in guide.look_ups
    ]
    said = "From the least at the top of the interval to the most at its bottom"
    if uncertain:
        said = f"From none, since the pH may be {crop.ph_from:g} or more, to the most"
    return (*steps, CalculationStep(text=said, result=rate))


def _rough_guide(ph: Spread, plot: Plot, crop: Crop, region: Region) -> LimeRange:
    if plot.texture is None:
        raise OrderError(
            "Without the texture there is no guide to lime.",
            what_to_do="Say which texture the soil has, such as sandy loam.",
        )
    target = lime_target(crop)
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
