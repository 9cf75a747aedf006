"""Readings of one sample put together into what the soil is and what to do about it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.soil.amendment_advice import amendment_advice
from app.soil.cautions import Caution, cautions
from app.soil.crops import Crop, crop_fit
from app.soil.fertiliser import Need
from app.soil.lime_product import LimeProduct
from app.soil.nutrient_advice import fertiliser_advice, nutrient_advice
from app.soil.reaction import estimated_in_water, reaction_class, reaction_shares
from app.soil.region import Region
from app.soil.soil_reading import LABORATORY_ONLY, Plot, SoilReading
from app.soil.spread import Share, Spread
from app.soil.statement import Advice, listed
from app.soil.table_reader import load_table
from app.soil.units import Amount


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
        Nutrients for the plot, for `fertiliser.best_mix`; None where none can be given.
    lime, sulphur : Amount or None
        Lime (the product at hand, or pure calcium carbonate) and sulphur for the plot, kg; None
        where none can be given.
    """

    advice: tuple[Advice, ...]
    cautions: tuple[Caution, ...]
    need: Need | None = None
    lime: Amount | None = None
    sulphur: Amount | None = None


def interpret(
    readings: Sequence[SoilReading],
    plot: Plot,
    crop: Crop,
    region: Region,
    *,
    lime_product: LimeProduct | None = None,
    estimate_water_ph: bool = False,
    source_tracing: bool = False,
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
    lime_product : LimeProduct or None
        The lime at hand; None for pure calcium carbonate.
    estimate_water_ph : bool
        Whether a pH in calcium chloride is turned into an estimate in water, on the user's request.
    source_tracing : bool
        Whether the survey looks for a source of contamination: then there are no amounts.
    seed : int
        Of the Monte Carlo draws.
    """
    no_amounts = plot.suspected_contamination or source_tracing
    ph = water_ph(readings, estimate=estimate_water_ph)
    said = list(_reaction_advice(ph))
    nutrients = [r for r in readings if r.quantity not in ("ph", *LABORATORY_ONLY)]
    if no_amounts:
        said.append(_withheld())
        said += [replace(nutrient_advice(r, plot, region, ph), amounts=()) for r in nutrients]
        return Interpretation(advice=tuple(said), cautions=cautions("contamination", "screening"))
    spread = None if ph is None else ph.spread()
    if ph is not None and spread is not None and ph.medium in ("water", None):
        said.append(_crop_advice(spread, crop))
    amended, lime, sulphur = amendment_advice(readings, ph, plot, crop, region, lime_product, seed)
    said += amended
    said += [nutrient_advice(reading, plot, region, ph) for reading in nutrients]
    wanted, need = fertiliser_advice(nutrients, plot, crop, region)
    said += wanted
    general = ["screening"] if any(r.source == "colour" for r in readings) else []
    if ph is not None and ph not in readings:
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
    )


def water_ph(readings: Sequence[SoilReading], *, estimate: bool = False) -> SoilReading | None:
    """Return the pH to go by: one in water before any other, a laboratory's before a color test's.

    Parameters
    ----------
    estimate : bool
        Whether one in calcium chloride may be turned into an estimate in water.
    """
    order = ("water", None, "cacl2", "kcl")
    found = sorted(
        (reading for reading in readings if reading.quantity == "ph"),
        key=lambda r: (r.value is None, order.index(r.medium), r.source != "laboratory"),
    )
    if not found:
        return None
    if estimate and found[0].medium == "cacl2" and found[0].value is not None:
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


def _reaction_advice(ph: SoilReading | None) -> tuple[Advice, ...]:
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
    codes = [] if ph.ratio in (None, "1:1") else ["other_ratio"]
    if ph.doubtful:
        codes.append("doubtful")
    what_to_do = None
    if ph.medium is None:
        what_to_do = "Say what the soil was shaken in: it is taken as water here."
    spread = ph.spread()
    shares = () if spread is None else reaction_shares(spread)
    statement = f"The soil is {listed(shares)}." if shares else _open_ended_class(ph)
    return (
        Advice(
            topic="reaction",
            code="reaction_class",
            statement=statement,
            shares=shares,
            citations=(citation,),
            what_to_do=what_to_do,
            cautions=cautions(*codes),
        ),
    )


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
        f"inside with a probability of {100 * fit.inside:.0f} %.",
        shares=shares,
        citations=(crop.citation,),
    )
