"""Whether a soil wants lime, sulphur or neither, and what is said of it."""

from collections.abc import Sequence
from dataclasses import replace

from app.soil.cautions import cautions
from app.soil.crops import Crop
from app.soil.lime_advice import lime_by_texture
from app.soil.lime_laboratory_advice import lime_by_laboratory
from app.soil.product_sheet import Products
from app.soil.region import Region
from app.soil.soil_reading import LABORATORY_ONLY, Plot, SoilReading
from app.soil.statement import REPEAT, Advice
from app.soil.sulphur_advice import sulphur_advice
from app.soil.units import Amount


def amendment_advice(
    readings: Sequence[SoilReading],
    ph: SoilReading | None,
    plot: Plot,
    crop: Crop,
    region: Region,
    products: Products,
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
            advice, total = sulphur_advice(spread, plot, crop, products.sulphur)
            return [advice], None, total
        if not too_acid:
            return [_nothing_needed(crop)], None, None
    if measured:
        both = [lime_by_laboratory(r, spread, plot, crop, products.lime, seed) for r in measured]
        totals = [total for _, total in both if total is not None]
        return [advice for advice, _ in both], totals[0] if totals else None, None
    assert spread is not None  # without a pH and without a laboratory there was a problem above
    advice, total = lime_by_texture(spread, plot, crop, region, products.lime)
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
        repeat_first=True,
    )
