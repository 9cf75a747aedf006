"""What is said of nutrients: what the soil holds, and which category that is."""

from collections.abc import Sequence

from app.soil.cautions import cautions
from app.soil.nutrients import (
    Content,
    Gap,
    as_amount,
    as_fertiliser_counts,
    category_shares,
    content_per_area,
    in_unit_of,
    matching_scale,
    soil_content,
    widest_category,
)
from app.soil.region import Region
from app.soil.region_tables import CATEGORIES, CategoryScale
from app.soil.soil_reading import Plot, SoilReading, bulk_density
from app.soil.spread import Share
from app.soil.statement import Advice, CalculationStep, listed
from app.soil.table_reader import load_table
from app.soil.units import Amount

_RUNOFF_MG_PER_KG = 200  # Mehlich-3 P, Penn State
_BRAY_HIGHEST_PH = 7.4  # Minnesota


def nutrient_advice(
    reading: SoilReading, plot: Plot, region: Region, ph: SoilReading | None
) -> Advice:
    """Say what a soil holds of a nutrient and which category that is.

    Amounts are given where the extractant is known to the region, where a laboratory measured, and
    for nitrate, all of which is in the water. Any other color test gives a category only, taken
    over all of the region's scales.
    """
    content = soil_content(reading, plot)
    if isinstance(content, Gap):
        return Advice(
            topic="nutrient",
            subject=reading.quantity,
            code="incomplete",
            statement=f"Nothing can be said of {reading.quantity}: {content.missing} is not known.",
            what_to_do=content.fill_in,
        )
    scale = matching_scale(reading, content, region.categories)
    if scale is None and reading.source == "colour" and reading.quantity != "nitrogen":
        return _category_only(reading, content, region)
    shares = () if scale is None else category_shares(content, scale)
    statement = f"{reading.quantity.capitalize()} is {listed(shares)}." if shares else ""
    if scale is None:
        extractant = reading.extractant or "this extractant"
        statement = (
            f"{region.name} has no categories of {reading.quantity} by {extractant} here; only "
            "what the soil holds is given."
        )
    if content.notes:
        statement += f" Assumed: {'; '.join(content.notes)}."
    amounts, fill_in = [_concentration(content)], None
    steps = [*content.steps, *_category_steps(content, scale, shares)]
    per_area = content_per_area(content, plot)
    if isinstance(per_area, Gap):
        fill_in = f"For the amount per area: {per_area.fill_in}"
    else:
        oxide = as_fertiliser_counts(per_area, content.element)
        amounts += [per_area] if oxide is None else [per_area, oxide]
        steps.append(_area_step(content, plot, per_area))
    return Advice(
        topic="nutrient",
        subject=reading.quantity,
        code="category" if shares else "content",
        statement=statement,
        amounts=tuple(amounts),
        shares=shares,
        citations=() if scale is None else (scale.citation,),
        what_to_do=fill_in,
        cautions=cautions(*_nutrient_cautions(reading, content, ph)),
        steps=tuple(steps),
    )


def _category_steps(
    content: Content, scale: CategoryScale | None, found: Sequence[Share]
) -> list[CalculationStep]:
    """Say between which printed limits the value lies."""
    spread = None if scale is None else in_unit_of(content, scale)
    if scale is None or spread is None:
        return []
    lows = (0.0, *scale.limits)
    ends = (*(f" to below {limit:g}" for limit in scale.limits), "")
    labels = [share.label for share in found]
    said = "; ".join(
        f"{label} from {low:g}{end}"
        for label, low, end in zip(CATEGORIES, lows, ends, strict=True)
        if label in labels
    )
    text = f"{'|'.join(scale.extractants)}, {scale.unit}, rounded to {scale.step:g}: {said}"
    result = as_amount(content.element, scale.unit, spread)
    return [CalculationStep(text=text, result=result, citation=scale.citation)]


def _area_step(content: Content, plot: Plot, per_area: Amount) -> CalculationStep:
    depth = f"{plot.depth_cm:g} cm x 0.1" if plot.depth_cm is not None else ""
    if content.unit == "mg/L":
        return CalculationStep(text=f"kg/ha = mg/L of soil x {depth}", result=per_area)
    densities = dict.fromkeys(bulk_density(plot) or ())
    said = " to ".join(f"{density:g}" for density in densities)
    given = plot.bulk_density_g_cm3 is not None
    return CalculationStep(
        text=f"kg/ha = mg/kg x {said} g/cm3 ({'as given' if given else plot.texture}) x {depth}",
        result=per_area,
        citation=None if given else load_table("textures").citation,
    )


def _category_only(reading: SoilReading, content: Content, region: Region) -> Advice:
    labels, scales = widest_category(reading, content, region.categories)
    why = (
        f"The test's extractant is none of those that {region.name} has categories of "
        f"{reading.quantity} for: no amounts."
    )
    if not labels:
        return Advice(
            topic="nutrient",
            subject=reading.quantity,
            code="no_scale",
            statement=why,
            what_to_do="Add a table of categories for this test, or ask a laboratory.",
        )
    words = labels[0] if len(labels) == 1 else f"{labels[0]} to {labels[-1]}"
    return Advice(
        topic="nutrient",
        subject=reading.quantity,
        code="category_only",
        statement=f"For orientation only, {reading.quantity} is {words}. {why}",
        citations=tuple(dict.fromkeys(scale.citation for scale in scales)),
        what_to_do="For amounts, ask a laboratory that uses one of these extractants, or add a "
        "table of categories for this test.",
        cautions=cautions("screening"),
    )


def _concentration(content: Content) -> Amount:
    per = "kilogram" if content.unit == "mg/kg" else "litre"
    return as_amount(f"{content.element} per {per} of soil", content.unit, content.spread)


def _nutrient_cautions(
    reading: SoilReading, content: Content, ph: SoilReading | None
) -> tuple[str, ...]:
    codes = ["screening"] if reading.source == "colour" else []
    if reading.quantity == "nitrogen":
        codes.append("nitrate_moves")
    if reading.quantity != "phosphorus":
        return tuple(codes)
    used = _letters(reading.extractant)
    if used == "mehlich3" and content.spread.high > _RUNOFF_MG_PER_KG:
        codes.append("runoff")
    acid = None if ph is None or ph.medium != "water" else ph.value
    if used.startswith("bray") and acid is not None and acid > _BRAY_HIGHEST_PH:
        codes.append("bray_high_ph")
    return tuple(codes)


def _letters(text: str | None) -> str:
    return "".join(letter for letter in (text or "").casefold() if letter.isalnum())
