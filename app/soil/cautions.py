"""What has to be said beside an amount, each where it matters."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A warning.

    Parameters
    ----------
    code : str
        Fixed name, for programs.
    text : str
        For people.
    """

    code: str
    text: str


_TEXTS = {
    "screening": "This is a screening value, not a laboratory's result. For large amounts, for "
    "selling a crop and for anything with legal weight, ask a certified laboratory and an "
    "agronomist.",
    "local_rules": "Local nutrient-management plans, fertilizer and liming codes, buffer strips "
    "and organic rules override every table here.",
    "phosphorus_rules": "Many places restrict or forbid phosphorus, on lawns most of all. Ask "
    "which rules hold here and follow them.",
    "runoff": "So much phosphorus can run off into water: have the risk assessed (Penn State names "
    "200 mg/kg by Mehlich-3).",
    "lime_safety": "Lime dust irritates; quicklime and hydrated lime burn eyes and skin. Wear "
    "goggles, gloves and a dust mask; rinse eyes with water for 15 minutes and see a doctor.",
    "lime_timing": "Lime works in 6 to 18 months: test again after a year. Do not spread it "
    "together with ammonium fertilizer, urea or manure (common practice).",
    "lime_recent": "Lime spread within the last year still works; this rate does not count it: "
    "test again first (North Carolina's rule counts it where the months since then are known).",
    "lime_surface": "Lime that is not worked in stays near the surface: on lawns and without "
    "tillage use half or less.",
    "sulphur_safety": "Sulphur dust irritates and can ignite: no flames, goggles and a dust mask.",
    "sulphur_timing": "Sulphur works in 6 to 8 weeks to a season, in warm, moist, aerated soil; "
    "spread it below 24 °C (75 °F) and water it in. Start with the lowest rate and test again.",
    "free_lime": "Test for free lime first: if vinegar makes the soil fizz, making it more acid is "
    "not practical.",
    "acids": "Wear goggles and gloves with acids, add acid to water and never the reverse, and "
    "never mix them with cleaning products: the gases can kill.",
    "contamination": "Stay upwind, do not touch or smell; leave sampling to trained people with a "
    "permit, and report to the environmental authority.",
    "doubtful": "The reading behind this was accepted only with doubts.",
    "no_interval": "A reading came without its uncertainty: the ranges do not contain it.",
    "estimated_ph": "The pH in water is an estimate from another liquid or ratio, not a "
    "measurement.",
    "other_ratio": "The classes are meant for soil and water 1:1. With more water the pH reads "
    "higher, by about 0.1 to 0.3 at 1:5 (from memory, verify locally).",
    "ratio_unknown": "It is not known how much water the soil was shaken in: the classes are meant "
    "for soil and water 1:1, and with more water the pH reads higher, by about 0.1 to 0.3 at 1:5 "
    "(from memory, verify locally).",
    "nitrate_moves": "Nitrate moves with water: a test of bare ground in winter does not predict "
    "the season's nitrogen.",
    "split_nitrogen": "Split the nitrogen into several dressings over the season.",
    "bray_high_ph": "Bray-1 finds too little phosphorus above pH 7.4: Minnesota uses Olsen there.",
}


def caution(code: str) -> Caution:
    """Return a caution by its code.

    Examples
    --------
    >>> caution("doubtful").text
    'The reading behind this was accepted only with doubts.'
    """
    return Caution(code=code, text=_TEXTS[code])


def cautions(*codes: str) -> tuple[Caution, ...]:
    """Return several cautions, each once, in their order."""
    return tuple(caution(code) for code in dict.fromkeys(codes))
