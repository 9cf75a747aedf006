"""What is said of fertilizer: how much of each nutrient a crop wants on a plot."""

from collections.abc import Sequence

from app.soil.amendment import caps
from app.soil.cautions import cautions
from app.soil.crops import Crop
from app.soil.fertiliser import Need, Requirement, quantity_of, requirement
from app.soil.nutrients import Content, category_shares, matching_scale, soil_content
from app.soil.region import Region, shipped_region
from app.soil.region_tables import CATEGORIES, NUTRIENTS, CategoryScale, Recommendation
from app.soil.soil_reading import Plot, SoilReading
from app.soil.spread import Share
from app.soil.statement import REPEAT, Advice, CalculationStep
from app.soil.units import Amount, convert, rate_unit

FALLBACK_REGION = "us_typical"
"""Whose recommendations are used where the user's region has none for the crop."""

_LAWN = "established lawn"


def fertiliser_advice(
    readings: Sequence[SoilReading], plot: Plot, crop: Crop, region: Region
) -> tuple[list[Advice], Need | None]:
    """Say what a crop wants of each nutrient, and what that is for the plot."""
    rows = _recommendations(crop, region)
    if not rows:
        return [
            Advice(
                topic="fertiliser",
                code="no_recommendation",
                statement=f"There is no table of what {crop.name} wants.",
                what_to_do="Add a table of recommendations for it, with its source.",
            )
        ], None
    said, found = [], []
    for row in rows:
        advice, needed = _one_nutrient(row, readings, plot, crop, region)
        said.append(advice)
        if needed is not None:
            found.append(needed)
    return said, _need(found, plot)


def _recommendations(crop: Crop, region: Region) -> tuple[Recommendation, ...]:
    """Return the rows for a crop, by its name or its use; the region's before typical ones."""
    words = (crop.name.casefold(), crop.name.casefold().partition(",")[0], crop.use)
    for rows in (region.recommendations, shipped_region(FALLBACK_REGION).recommendations):
        for word in words:
            found = [row for row in rows if word and row.use == word]
            if found:
                return tuple(sorted(found, key=lambda row: NUTRIENTS.index(row.nutrient)))
    return ()


def _one_nutrient(
    row: Recommendation,
    readings: Sequence[SoilReading],
    plot: Plot,
    crop: Crop,
    region: Region,
) -> tuple[Advice, Requirement | None]:
    if row.nutrient == "P2O5" and plot.phosphorus_allowed is False:
        return _phosphorus_forbidden(row), _nothing_of(row)
    if row.nutrient == "P2O5" and plot.phosphorus_allowed is None and crop.use == _LAWN:
        return _phosphorus_asked(), None
    shares, scale = _category_of(quantity_of(row.nutrient), readings, plot, region)
    needed = requirement(row, shares)
    if needed is None:
        return _no_test(row, region), None
    citations = [row.citation]
    if scale is not None:
        citations.append(scale.citation)
    if row.nutrient == "N":
        citations += [cap.citation for cap in caps("nitrogen", crop.use)]
    codes = ["local_rules"]
    if row.nutrient == "P2O5" and plot.phosphorus_allowed is None:
        codes.append("phosphorus_rules")
    if row.nutrient == "N":
        codes += ["nitrate_moves", "split_nitrogen"]
    uncertain = needed.may_be_none
    return (
        Advice(
            topic="fertiliser",
            subject=row.nutrient,
            code="requirement",
            statement=_say_requirement(row, needed, crop, uncertain=uncertain),
            amounts=_wanted(row, needed, plot, crop),
            shares=shares,
            citations=tuple(citations),
            what_to_do=REPEAT if uncertain else None,
            cautions=cautions(*codes),
            steps=_requirement_steps(row, needed, shares, plot),
            repeat_first=uncertain,
        ),
        needed,
    )


def _requirement_steps(
    row: Recommendation, needed: Requirement, found: Sequence[Share], plot: Plot
) -> tuple[CalculationStep, ...]:
    """Return the row that was looked up, category by category, and the way to the plot."""
    said = [
        f"{category}: {low:g}{'' if low == high else f' to {high:g}'}"
        for category, (low, high) in zip(CATEGORIES, row.rates, strict=True)
        if not found or category in {share.label for share in found}
    ]
    if not row.needs_category:
        said = [said[0].partition(": ")[2] + " whatever the soil test"]
    text = f"{row.nutrient} for {row.use}, {row.unit}: {'; '.join(said)}"
    if row.nutrient == "P2O5" and any(found):
        text += "; none where phosphorus is high or very high, whatever is printed"
    steps = [CalculationStep(text=text, result=needed.rate, citation=row.citation)]
    if plot.area_m2 is not None:
        total = needed.rate.scaled(plot.area_m2 / 10_000, name="for this area", unit="kg")
        steps.append(CalculationStep(text=f"x {plot.area_m2:g} m2 of ground", result=total))
    return tuple(steps)


def _wanted(row: Recommendation, needed: Requirement, plot: Plot, crop: Crop) -> tuple[Amount, ...]:
    """Return the rate, the total for the plot, and the most nitrogen in one dressing."""
    unit = rate_unit(plot.area_m2)
    rate = needed.rate.scaled(1.0, name=f"{row.nutrient} wanted", unit="kg/ha")
    amounts = [rate.converted(unit)]
    if plot.area_m2 is not None:
        area = plot.area_m2 / 10_000
        amounts.insert(0, needed.rate.scaled(area, name=f"{row.nutrient} for this area", unit="kg"))
    if row.nutrient == "N":
        amounts += [
            Amount(
                name="at most in one dressing",
                unit=unit,
                best=convert(cap.g_per_m2, "g/m2", unit),
            )
            for cap in caps("nitrogen", crop.use)
        ]
    return tuple(amounts)


def _say_requirement(
    row: Recommendation, needed: Requirement, crop: Crop, *, uncertain: bool
) -> str:
    if needed.ruled_out and uncertain:
        return (
            f"Most probably the soil holds enough phosphorus, and then there is no {row.nutrient}, "
            "whatever the crop; the interval of the reading reaches into categories that want "
            "some: it is in no mix before the test is repeated."
        )
    if needed.ruled_out:
        said = f"The soil holds enough phosphorus: no {row.nutrient}, whatever the crop."
    elif needed.rate.best == 0 and not uncertain:
        said = f"No {row.nutrient} is needed for {crop.name}."
    else:
        said = f"{row.nutrient} for {crop.name}, by the recommendations for {row.use}."
    if uncertain:
        said += (
            f" The interval of the reading reaches into no {row.nutrient} at all: it is in no mix "
            "before the test is repeated."
        )
    return said


def _category_of(
    quantity: str, readings: Sequence[SoilReading], plot: Plot, region: Region
) -> tuple[tuple[Share, ...], CategoryScale | None]:
    """Return the categories by the best reading that has a scale, a laboratory's first."""
    for reading in sorted(readings, key=lambda reading: reading.source != "laboratory"):
        content = soil_content(reading, plot) if reading.quantity == quantity else None
        if isinstance(content, Content):
            scale = matching_scale(reading, content, region.categories)
            if scale is not None:
                return category_shares(content, scale), scale
    return (), None


def _no_test(row: Recommendation, region: Region) -> Advice:
    quantity = quantity_of(row.nutrient)
    known = [" or ".join(s.extractants) for s in region.categories if s.quantity == quantity]
    by = f"by {' or '.join(known)}" if known else f"with categories; {region.name} has none"
    return Advice(
        topic="fertiliser",
        subject=row.nutrient,
        code="no_category",
        statement=f"How much {row.nutrient} is wanted depends on a soil test of {quantity} {by}: "
        "no amounts.",
        what_to_do=f"Add a laboratory's value of {quantity}, or a table of categories for your "
        "test.",
    )


def _phosphorus_forbidden(row: Recommendation) -> Advice:
    return Advice(
        topic="fertiliser",
        subject="P2O5",
        code="phosphorus_forbidden",
        statement=f"The rules of the place allow no phosphorus here: no {row.nutrient}.",
        cautions=cautions("phosphorus_rules"),
    )


def _nothing_of(row: Recommendation) -> Requirement:
    return Requirement(
        nutrient=row.nutrient,
        rate=Amount(name=row.nutrient, unit="kg/ha", best=0.0),
        ruled_out=True,
        citation=row.citation,
    )


def _phosphorus_asked() -> Advice:
    return Advice(
        topic="fertiliser",
        subject="P2O5",
        code="phosphorus_rules_unknown",
        statement="Many places forbid phosphorus on lawns: no amount of P2O5 before it is known "
        "what holds here.",
        what_to_do="Find out whether phosphorus is allowed on this lawn, and say so.",
        cautions=cautions("phosphorus_rules"),
    )


def _need(found: Sequence[Requirement], plot: Plot) -> Need | None:
    """Return what the plot is to get; None without its area, or where nothing is wanted.

    What may turn out not to be needed is left out: the test comes first.
    """
    rates = {item.nutrient: item.rate.best or 0.0 for item in found if not item.may_be_none}
    if plot.area_m2 is None or not any(rates.values()):
        return None
    without = [item.nutrient for item in found if item.ruled_out]
    if plot.phosphorus_allowed is False or "P2O5" not in rates:
        without.append("P2O5")
    return Need(
        plot=plot.name,
        area_m2=plot.area_m2,
        n=rates.get("N", 0.0),
        p2o5=rates.get("P2O5", 0.0),
        k2o=rates.get("K2O", 0.0),
        without=tuple(dict.fromkeys(without)),
    )
