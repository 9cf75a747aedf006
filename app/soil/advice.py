"""Readings of one sample put together into what the soil is and what to do about it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.soil.amendment_advice import amendment_advice
from app.soil.cautions import Caution, cautions
from app.soil.crops import Crop, CropFit, crop_fit, rank_crops
from app.soil.fertiliser import Need
from app.soil.fertiliser_advice import fertiliser_advice
from app.soil.nutrient_advice import nutrient_advice
from app.soil.product_sheet import Products
from app.soil.reaction import (
    can_be_estimated,
    estimate_step,
    estimated_in_water,
    reaction_class,
    reaction_shares,
)
from app.soil.region import Region
from app.soil.soil_reading import LABORATORY_ONLY, Plot, SoilReading
from app.soil.spread import Share, Spread
from app.soil.statement import Advice, CalculationStep, listed, percent
from app.soil.table_reader import load_table
from app.soil.units import Amount

_WANTS = {"nothing": "", "lime": ", wanting lime", "acidifying": ", wanting a more acid soil"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Interpretation:
    """All that is said of one sample.

    Parameters
    ----------
    advice : tuple of Advice
        Reaction, crop, lime or sulphur, nutrients, fertilizer.
    cautions : tuple of Caution
        What holds for all of it.
    need : Need or None
        Nutrients for the plot, for `mix.best_mix`; None where none can be given.
    lime, sulphur : Amount or None
        Lime and sulphur for the plot, kg (of the product at hand, else of the pure substance);
        None where none can be given.
    fits : tuple of CropFit
        How the soil as it is suits each crop that was asked about, the best first.
    """

    advice: tuple[Advice, ...]
    cautions: tuple[Caution, ...]
    need: Need | None = None
    lime: Amount | None = None
    sulphur: Amount | None = None
    fits: tuple[CropFit, ...] = ()


def interpret(
    readings: Sequence[SoilReading],
    plot: Plot,
    crop: Crop,
    region: Region,
    *,
    compare: Sequence[Crop] = (),
    products: Products | None = None,
    estimate_water_ph: bool = False,
    seed: int = 0,
) -> Interpretation:
    """Say what a soil is and what the crop needs on it.

    Parameters
    ----------
    readings : sequence of SoilReading
        Of one sample; replicates already pooled.
    plot : Plot
        Where it was taken.
    crop : Crop
        What is to grow.
    region : Region
        Whose tables are used.
    compare : sequence of Crop
        Further crops: how the soil suits them is said, without amounts.
    products : Products or None
        What the user has; without a lime among them the amounts are of pure calcium carbonate.
    estimate_water_ph : bool
        Whether a pH in calcium chloride, or at 1:5, is turned into an estimate in water (1:1), on
        the user's request.
    seed : int
        Of the Monte Carlo draws.
    """
    ph = water_ph(readings, estimate=estimate_water_ph)
    measured = water_ph(readings)
    said = list(_reaction_advice(ph, None if ph == measured else measured))
    nutrients = [r for r in readings if r.quantity not in ("ph", *LABORATORY_ONLY)]
    if plot.suspected_contamination:
        said.append(_withheld())
        known = (nutrient_advice(reading, plot, region, ph) for reading in nutrients)
        said += [replace(advice, amounts=(), steps=()) for advice in known]
        return Interpretation(advice=tuple(said), cautions=cautions("contamination", "screening"))
    spread = None if ph is None else ph.spread()
    fits: tuple[CropFit, ...] = ()
    if ph is not None and spread is not None and ph.medium in ("water", None):
        said.append(_crop_advice(spread, crop))
        fits = rank_crops(spread, tuple(dict.fromkeys((crop, *compare))))
        if len(fits) > 1:
            said.append(_ranking(fits))
    amended, lime, sulphur = amendment_advice(
        readings, ph, plot, crop, region, products or Products(), seed
    )
    said += amended
    said += [nutrient_advice(reading, plot, region, ph) for reading in nutrients]
    wanted, need = fertiliser_advice(nutrients, plot, crop, region)
    said += wanted
    general = ["screening"] if any(r.source == "colour" for r in readings) else []
    if ph != measured:
        general.append("estimated_ph")
    if any(r.value is not None and r.low is None and r.high is None for r in readings):
        general.append("no_interval")
    if any(r.doubtful for r in readings):
        general.append("doubtful")
    return Interpretation(
        advice=tuple(said),
        cautions=cautions(*general, "local_rules"),
        need=need,
        lime=lime,
        sulphur=sulphur,
        fits=fits,
    )


def water_ph(readings: Sequence[SoilReading], *, estimate: bool = False) -> SoilReading | None:
    """Return the pH to go by: one in water before any other, a laboratory's before a color test's.

    Parameters
    ----------
    estimate : bool
        Whether one in calcium chloride, or at 1:5, may be turned into an estimate in water (1:1).
    """
    order = ("water", None, "cacl2", "kcl")
    found = sorted(
        (reading for reading in readings if reading.quantity == "ph"),
        key=lambda r: (r.value is None, order.index(r.medium), r.source != "laboratory"),
    )
    if not found:
        return None
    if estimate and can_be_estimated(found[0]):
        return estimated_in_water(found[0])
    return found[0]


def _withheld() -> Advice:
    return Advice(
        topic="reaction",
        code="amounts_withheld",
        statement="This ground is under suspicion of contamination: no amounts and no crops are "
        "advised.",
        what_to_do="Have the ground examined by the authority and a certified laboratory.",
        cautions=cautions("contamination", "acids"),
    )


def _reaction_advice(ph: SoilReading | None, measured: SoilReading | None) -> tuple[Advice, ...]:
    """Say the class of a pH, which is an estimate where another one was measured."""
    if ph is None:
        return ()
    citation = load_table("reaction_classes").citation
    if ph.medium in ("cacl2", "kcl"):
        liquid = "calcium chloride" if ph.medium == "cacl2" else "potassium chloride"
        return (
            Advice(
                topic="reaction",
                code="reaction_other_liquid",
                statement=f"The pH was measured in {liquid}; the classes and the tables of lime "
                "are for pH in water, which is higher.",
                what_to_do="Measure in water, or ask for an estimate.",
            ),
        )
    codes = [] if ph.ratio == "1:1" else ["other_ratio" if ph.ratio else "ratio_unknown"]
    if ph.doubtful:
        codes.append("doubtful")
    what_to_do = None
    if ph.medium is None:
        what_to_do = "Say what the soil was shaken in: it is taken as water here."
    spread = ph.spread()
    shares = () if spread is None else reaction_shares(spread)
    statement = f"The soil is {listed(shares)}." if shares else _open_ended_class(ph)
    steps = _class_steps(shares)
    if measured is not None and spread is not None:
        codes.append("estimated_ph")
        in_ratio = f" {ph.ratio}" if measured.medium == "water" else ""
        statement = (
            f"By an estimate of its pH in water{in_ratio}, {spread.value:.1f} ({spread.low:.1f} to "
            f"{spread.high:.1f}), the soil is {listed(shares)}."
        )
        steps = (estimate_step(measured), *steps)
    return (
        Advice(
            topic="reaction",
            code="reaction_class",
            statement=statement,
            shares=shares,
            citations=(citation,),
            what_to_do=what_to_do,
            cautions=cautions(*codes),
            steps=steps,
        ),
    )


def _class_steps(found: Sequence[Share]) -> tuple[CalculationStep, ...]:
    """Return the printed limits of the classes that the interval touches."""
    table = load_table("reaction_classes")
    labels = {share.label for share in found}
    rows = [row for row in table if row.text("name") in labels]
    limits = "; ".join(
        f"{row.text('name')} {row.text('from') or 'below'} to {row.text('to') or 'above'}"
        for row in rows
    )
    text = f"pH rounded half up to 0.1: {limits}"
    return (CalculationStep(text=text, citation=table.citation),) if rows else ()


def _open_ended_class(ph: SoilReading) -> str:
    if ph.low is not None:
        return f"The soil is {reaction_class(ph.low)} or more alkaline: the chart ends there."
    if ph.high is not None:
        return f"The soil is {reaction_class(ph.high)} or more acid: the chart ends there."
    return "There is no pH, so no class."


def _crop_advice(ph: Spread, crop: Crop) -> Advice:
    fit = crop_fit(ph, crop)
    shares = (
        Share(label="too acid", probability=fit.below),
        Share(label="right", probability=fit.inside),
        Share(label="too alkaline", probability=fit.above),
    )
    return Advice(
        topic="crop",
        code="crop_fit",
        statement=f"{crop.name} likes pH {crop.ph_from:.1f} to {crop.ph_to:.1f}; the soil lies "
        f"inside with a probability of {percent(fit.inside)}.",
        shares=shares,
        citations=(crop.citation,),
        steps=(
            CalculationStep(
                text=f"The share of a normal distribution with the 90 % interval {ph.low:.2f} to "
                f"{ph.high:.2f} that lies from {crop.ph_from:g} to {crop.ph_to:g}",
                citation=crop.citation,
            ),
        ),
    )


def _ranking(fits: Sequence[CropFit]) -> Advice:
    """Say which crops suit the soil as it is, the best first, and what the others want."""
    alike: dict[str, list[str]] = {}
    for fit in fits:
        alike.setdefault(f"{percent(fit.inside)}{_WANTS[fit.wants]}", []).append(fit.crop.name)
    said = " ".join(f"With {how}: {'; '.join(names)}." for how, names in alike.items())
    return Advice(
        topic="crop",
        code="crop_ranking",
        statement=f"How probably the soil as it is suits each crop. {said}",
        shares=tuple(Share(label=fit.crop.name, probability=fit.inside) for fit in fits),
        citations=tuple(dict.fromkeys(fit.crop.citation for fit in fits)),
        steps=tuple(
            CalculationStep(
                text=f"{fit.crop.name}: pH {fit.crop.ph_from:g} to {fit.crop.ph_to:g}",
                citation=fit.crop.citation,
            )
            for fit in fits
        ),
    )
