"""Rates of lime from a laboratory's buffer pH or exchangeable acidity.

A pH in water alone cannot give a rate, because soils hold different reserves of acidity. A rate
belongs to the method and the region it was worked out for.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from app.errors import OrderError
from app.soil.lime_formulas import (
    acidity_as_lime_mg_per_kg,
    adams_evans,
    mehlich_1976,
    mehlich_nc,
    sikora_oregon,
    smp_kansas,
    smp_tristate,
    turf_penn_state,
    woodruff,
)
from app.soil.spread import Spread, carried
from app.soil.table_reader import Citation, Row, load_table
from app.soil.units import convert

HIGHEST_TARGET = 7.0
"""No soil is limed beyond neutral, whatever the middle of the crop's range (common practice)."""

EXCHANGEABLE = "exchangeable_acidity"
PER_DEPTH = ("smp_kansas", EXCHANGEABLE)
"""Methods whose rates cannot be given without a depth."""

CREDITS_RECENT_LIME = "mehlich_nc"


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeMethod:
    """A laboratory's method of finding the need for lime.

    Parameters
    ----------
    key, title : str
        Its name for programs and for people.
    measures : {"buffer_ph", "exchangeable_acidity"}
        What the laboratory reports; acidity in meq/100 g, which is cmol(+)/kg.
    span : (float, float)
        Values that the method can have.
    uses_ph : bool
        Whether it also needs the pH in water.
    targets : (float, float) or None
        Target pH that it reaches, None where it has no choice of target.
    depth_cm : float or None
        Depth of its rates, None where it is not printed.
    percent : float
        Neutralizing value of the lime of its rates, percent of CaCO3.
    unit : str
        Of its rates.
    formula : str
        How it is worked out, as printed; BpH is the buffer pH.
    citation : Citation
        Where it stands printed.
    """

    key: str
    title: str
    measures: str
    span: tuple[float, float]
    uses_ph: bool
    targets: tuple[float, float] | None
    depth_cm: float | None
    percent: float
    unit: str
    formula: str
    citation: Citation


@cache
def lime_methods() -> tuple[LimeMethod, ...]:
    """Return all methods that are known."""
    return tuple(_method(row) for row in load_table("lime_methods"))


def _method(row: Row) -> LimeMethod:
    low, high = row.maybe_number("target_from"), row.maybe_number("target_to")
    depth = row.maybe_number("depth_in")
    return LimeMethod(
        key=row.needed("key"),
        title=row.needed("title"),
        measures=row.needed("measures"),
        span=(row.number("span_from"), row.number("span_to")),
        uses_ph=row.text("uses_ph") == "yes",
        targets=None if low is None or high is None else (low, high),
        depth_cm=None if depth is None else convert(depth, "in", "cm"),
        percent=row.number("neutralizing_percent"),
        unit=row.needed("unit"),
        formula=row.needed("formula"),
        citation=Citation(
            source=row.needed("source"), region=row.needed("region"), year=row.needed("year")
        ),
    )


def find_lime_method(name: str) -> LimeMethod:
    """Return a method by its key or title, however it is spelled.

    Raises
    ------
    OrderError
        If there is none.

    Examples
    --------
    >>> find_lime_method("SMP buffer, Kansas").key, find_lime_method("Woodruff").key
    ('smp_kansas', 'woodruff')
    """
    for method in lime_methods():
        if _letters(name) in (_letters(method.key), _letters(method.title)):
            return method
    keys = ", ".join(method.key for method in lime_methods())
    raise OrderError(
        f"The lime method '{name[:40]}' is not known.", what_to_do=f"Use one of {keys}."
    )


def _letters(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def _formula(
    method: LimeMethod, target: float, soil_kg_per_m2: float | None, credit: float
) -> Callable[[float, float], float]:
    """Return a method's rate, in its unit, of what was measured and the pH."""
    if method.key == EXCHANGEABLE:
        if soil_kg_per_m2 is None:
            raise OrderError(
                "The exchangeable acidity gives no rate without the mass of the soil.",
                what_to_do="Give the depth, and the bulk density or the texture.",
            )
        soil = soil_kg_per_m2 / 100  # mg per kg of soil into kg per hectare
        return lambda measured, ph: acidity_as_lime_mg_per_kg(measured) * soil
    formulas: dict[str, Callable[[float, float], float]] = {
        "mehlich_nc": lambda measured, ph: mehlich_nc(
            measured, ph=ph, target=target, credit=credit
        ),
        "sikora_oregon": lambda measured, ph: sikora_oregon(measured, target=target),
        "smp_tristate": lambda measured, ph: smp_tristate(measured, target=target),
        "smp_kansas": lambda measured, ph: smp_kansas(measured, target=target),
        "adams_evans": lambda measured, ph: adams_evans(measured, ph=ph, target=target),
        "mehlich_1976": lambda measured, ph: mehlich_1976(measured),
        "woodruff": lambda measured, ph: woodruff(measured),
        "turf_penn_state": lambda measured, ph: turf_penn_state(measured),
    }
    return formulas[method.key]


def lime_from_laboratory(
    method: LimeMethod,
    measured: Spread,
    *,
    ph: Spread | None,
    needed_below: float,
    target: float,
    depth_cm: float,
    bulk_density_g_cm3: float | None = None,
    credit_kg_per_ha: float = 0.0,
    seed: int = 0,
) -> Spread:
    """Return pure calcium carbonate over the depth, g/m2, with its 90 % interval.

    Parameters
    ----------
    method : LimeMethod
        By which the laboratory measured.
    measured : Spread
        Its value.
    ph : Spread or None
        pH in water, where it is known; a soil that may already be right needs none then.
    needed_below : float
        pH at and above which no lime is needed.
    target : float
        The pH that is aimed at.
    depth_cm : float
        Depth that is worked. Rates whose depth is not printed are left as they are.
    bulk_density_g_cm3 : float or None
        For the exchangeable acidity only.
    credit_kg_per_ha : float
        Lime spread before that still has to work; only North Carolina's rule counts it.
    seed : int
        Of the Monte Carlo draws.

    Raises
    ------
    OrderError
        If the method cannot be used so.
    """
    low, high = method.span
    if not low <= measured.value <= high:
        raise OrderError(
            f"{measured.value:g} is outside {low:g} to {high:g}, where {method.title} works.",
            what_to_do="Check the number and the method on the laboratory's report.",
        )
    if method.targets and not method.targets[0] <= target <= method.targets[1]:
        raise OrderError(
            f"{method.title} has rates to pH {method.targets[0]:g} to {method.targets[1]:g}, "
            f"not to {target:.2f}.",
            what_to_do="Choose another method, or a crop with such a target.",
        )
    if method.uses_ph and ph is None:
        raise OrderError(
            f"{method.title} also needs the pH in water.", what_to_do="Add a pH in water."
        )
    soil = None if bulk_density_g_cm3 is None else bulk_density_g_cm3 * depth_cm * 10
    credit = convert(credit_kg_per_ha, "kg/ha", "ton/acre")
    formula = _formula(method, target, soil, credit)

    def rate(value: float, acid: float) -> float:
        if acid >= needed_below:
            return 0.0
        return formula(min(max(value, low), high), acid)

    acid = ph if ph is not None else Spread(value=0.0, low=0.0, high=0.0)
    found = carried(rate, measured, acid, seed=seed)
    scale = pure_scale(method, depth_cm)
    return found.scaled(scale, scale, scale)


def pure_scale(method: LimeMethod, depth_cm: float) -> float:
    """Return the g/m2 of pure calcium carbonate over a depth for 1 of a method's rate.

    Examples
    --------
    >>> round(pure_scale(find_lime_method("sikora_oregon"), 15.24), 2)
    224.17
    """
    scale = convert(1.0, method.unit, "g/m2") * method.percent / 100
    return scale if method.depth_cm is None else scale * depth_cm / method.depth_cm
