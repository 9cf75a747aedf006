"""Why a site is suspected, in plain words, and what must be said beside it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.site_map.acidity import Scale
from app.site_map.affected import FEWEST_BACKGROUNDS, Excess
from app.site_map.flow import Flow
from app.site_map.plane import Point, azimuth_deg, compass
from app.site_map.site_reading import SiteReading
from app.soil.cautions import Caution

CONE = 1.0
"""A site lies up-gradient of another that lies in the quarter of the ground that the flow points
to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A site in the order of suspicion.

    Parameters
    ----------
    rank : int
        From 1.
    excess : Excess
        The site and what it has over the background.
    nearest : float or None
        Probability of being the nearest site to the source, under the model; None where the model
        is not used.
    reasons : tuple of str
        Why it stands there.
    """

    rank: int
    excess: Excess
    nearest: float | None
    reasons: tuple[str, ...]


def reasons_for(
    item: Excess, nearest: float | None, every: Sequence[Excess], scale: Scale, flow: Flow
) -> tuple[str, ...]:
    """Say why a site stands where it stands."""
    what = "most acid" if scale.is_ph else "highest"
    if scale.is_ph and scale.kind == "soil":
        what = "took up most acid"
    said = [f"{what} in {100 * item.most:.0f} of 100 draws"]
    if nearest is not None:
        said.append(f"nearest to the source in {100 * nearest:.0f} of 100, under the model")
    if not item.is_clear:
        said.append("not clearly different from the background")
    elif item.times_background is not None:
        times = item.times_background
        said.append(f"about {times:.{0 if times >= 10 else 1}f} times the background above it")
    else:
        said.append(f"took up {item.low:.0f} to {item.high:.0f} mmol/kg of acid")
    below = down_gradient(item, every, flow)
    if below:
        said.append(f"lies up-gradient of {_and([site.letter for site in below])}")
    above = [o.site.letter for o in every if item.site in down_gradient(o, every, flow)]
    if above:
        said.append(f"lies down-gradient of {_and(above)}")
    return tuple(said)


def down_gradient(item: Excess, every: Sequence[Excess], flow: Flow) -> list[SiteReading]:
    """Sites that the water goes to from this one."""
    if flow.azimuth_deg is None:
        return []
    found = []
    for other in every:
        along, across = flow.along(item.site.place, other.site.place)
        if along > 0 and abs(across) <= CONE * along:
            found.append(other.site)
    return found


def _and(names: Sequence[str]) -> str:
    """Join names.

    Examples
    --------
    >>> _and(["B", "D"]), _and(["A"])
    ('B and D', 'A')
    """
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def where(place: Point, sites: Sequence[SiteReading]) -> str:
    """Say where a place lies, from the nearest site.

    Examples
    --------
    >>> site = SiteReading(name="C", letter="C", place=(0, 0), value=5, low=None, high=None)
    >>> where((10, 10), [site])
    '14 m northeast of C'
    """
    near = min(sites, key=lambda site: math.dist(site.place, place))
    apart = math.dist(near.place, place)
    if apart < 1:
        return f"at {near.letter}"
    return f"{apart:.0f} m {compass(azimuth_deg(near.place, place))} of {near.letter}"


_TEXTS = {
    "no_proof": "This is consistent with the readings; it never proves a source. A color test "
    "cannot stand as evidence: keep the photos, write down who had the samples and when, and send "
    "split samples to a certified laboratory.",
    "natural_acid": "Low pH also comes from pine litter, peat, heath, acid sulphate soil, mine "
    "spoil and fertilizer bands.",
    "acid_slow": "Soil takes up acid and carbonates hold the pH above about 6.5 until they are "
    "used up: acid travels much slower than the water. Chloride, sulphate or nitrate of the acid "
    "travels with it: test for those.",
    "ph_no_heads": "A map of pH gives no direction of flow.",
    "danger": "Suspected spill: stay upwind, do not touch, smell or sample it; only trained people "
    "with protective equipment and a permit do. Report it to the environmental authority.",
    "no_amounts": "A survey that looks for a source counts as ground under suspicion: no amounts "
    "of lime, sulphur or fertilizer are advised for it.",
    "suspicion_lifted": "Somebody lifted the suspicion of contamination from this survey: amounts "
    "are advised for its ground. Mark it again where that is not right.",
    "few_backgrounds": f"Fewer than {FEWEST_BACKGROUNDS} background sites: the background is less "
    "sure than the numbers say. Take more, up-gradient and off the site.",
    "backgrounds_differ": "The background sites differ by more than 1 pH: the spill may have "
    "reached one of them, and then nothing here holds. Look at them again.",
    "soil_model": "For soil the model is a plain decline with distance along the path, and the "
    "acid that soil takes up for one pH is known to a factor only (5 to 50 mmol/kg, from memory).",
    "distance_alone": "The direction of flow is unknown: distance alone counts, and the region is "
    "wider for it.",
    "slope_not_heads": "The direction comes from the slope of the ground: it holds for run-off; "
    "groundwater may go another way.",
    "edge": "The region reaches the edge of the plan: the source may lie outside it.",
    "extras": "Test duplicates on one site in ten and a blank, and note the depth.",
    "other_quantity": "For this quantity the model of acid in water is used: look whether that "
    "makes sense.",
}


def tracing_cautions(*codes: str) -> tuple[Caution, ...]:
    """Return cautions by their codes.

    Examples
    --------
    >>> tracing_cautions("ph_no_heads")[0].text
    'A map of pH gives no direction of flow.'
    """
    return tuple(Caution(code=code, text=_TEXTS[code]) for code in dict.fromkeys(codes))
