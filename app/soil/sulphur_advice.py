"""What is said of sulphur, for a soil that is too alkaline."""

from app.errors import OrderError
from app.soil.amendment import USUAL_DEPTH_CM, caps
from app.soil.cautions import cautions
from app.soil.crops import Crop
from app.soil.dose import dose
from app.soil.product import SulphurProduct
from app.soil.soil_reading import Plot
from app.soil.spread import Spread
from app.soil.statement import ASSUMED_DEPTH, REPEAT, Advice, CalculationStep, no_rate
from app.soil.sulphur import SulphurRange, sulphur_for_free_lime, sulphur_for_reading
from app.soil.table_reader import load_table
from app.soil.units import Amount


def sulphur_advice(
    ph: Spread, plot: Plot, crop: Crop, product: SulphurProduct | None
) -> tuple[Advice, Amount | None]:
    """Return the rough guide to sulphur, a range over the sources, and its total, kg."""
    if plot.fizzes:
        return _free_lime(plot), None
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
    found = dose(rate, plot, cap, product)
    uncertain = ph.low <= crop.ph_to
    statement = (
        f"A rough guide to elemental sulphur, to pH {crop.target:.3g}. The sources disagree "
        f"widely: the range shows it. {ASSUMED_DEPTH}"
    )
    if product is not None:
        statement += f" The amounts are of {product.name}."
    if found.months >= 12:
        statement += " So many dressings take more than a year: another crop may be the better way."
    if uncertain:
        statement += " The interval of the reading reaches into no sulphur at all."
    codes = ["local_rules", "sulphur_safety", "sulphur_timing"]
    codes += ["free_lime", "acids"] if plot.fizzes is None else []
    return (
        Advice(
            topic="sulphur",
            code="sulphur_guide",
            statement=statement,
            amounts=found.amounts,
            citations=(*guide.citations, cap.citation, crop.citation),
            what_to_do=REPEAT if uncertain else "Start with the lowest rate and test again.",
            cautions=cautions(*codes),
            steps=(*_steps(guide, rate, crop, scale, uncertain=uncertain), *found.steps),
            repeat_first=uncertain,
        ),
        found.total,
    )


def _steps(
    guide: SulphurRange, rate: Amount, crop: Crop, scale: float, *, uncertain: bool
) -> tuple[CalculationStep, ...]:
    steps = [
        CalculationStep(
            text=f"{crop.name} likes pH {crop.ph_from:g} to {crop.ph_to:g}: a soil above it is "
            f"brought to the middle, pH {crop.target:.3g}",
            citation=crop.citation,
        )
    ]
    steps += [
        CalculationStep(
            text=f"Sulphur from pH {found.start:.3g} to {found.end:.3g}: {found.printed}",
            result=Amount(name="sulphur", unit="g/m2", best=found.rate),
            citation=found.citation,
        )
        for found in guide.look_ups
    ]
    said = (
        f"None, since the pH may be {crop.ph_to:g} or less"
        if uncertain
        else "The lowest source of each stretch from the bottom of the interval"
    )
    said += ", to the highest of each stretch from its top"
    if scale != 1:
        said += f"; x {scale * USUAL_DEPTH_CM:g}/{USUAL_DEPTH_CM:g} for the depth in cm"
    return (*steps, CalculationStep(text=said, result=rate))


def _free_lime(plot: Plot) -> Advice:
    """Say that free lime stands against it, and how much sulphur it would use up."""
    steps: tuple[CalculationStep, ...] = ()
    if plot.bulk_density_g_cm3 is not None and plot.depth_cm is not None:
        tonnes = sulphur_for_free_lime(
            1, bulk_density_g_cm3=plot.bulk_density_g_cm3, depth_cm=plot.depth_cm
        )
        steps = (
            CalculationStep(
                text="Each 1 % of free lime in the soil uses up (masses of S and CaCO3, 1 to 3.12)",
                result=Amount(name="sulphur", unit="t/ha", best=tonnes),
            ),
        )
    return Advice(
        topic="sulphur",
        code="free_lime",
        statement="The soil fizzes with vinegar: it holds free lime, and making it more acid is "
        "not practical.",
        what_to_do="Choose a crop that likes this soil, or grow in a container.",
        citations=(load_table("sulphur_rhs").citation,),
        steps=steps,
    )
