"""How to mix a practice sample of a wanted pH from a mild acid and baking soda.

Charge balance with the acid's constants at 25 °C and without activities, so that a mixed sample may
be off by a tenth or two: each is checked with a meter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from app.errors import OrderError

LEAST_PH, HIGHEST_PH = 2.5, 8.0
"""What is mixed for a class: nothing stronger, and nothing that air alone would change."""
WATER = 1e-14
"""Ion product of water at 25 °C (CRC Handbook, from memory)."""
CARBONIC_PK = (6.35, 10.33)
"""Of carbonic acid at 25 °C (CRC Handbook, from memory)."""
AIR_CARBONIC = 10**-1.47 * 4.2e-4
"""Carbonic acid in water that stands in air, mol/L: Henry's constant 10^-1.47 mol/(L atm) (from
memory) times 420 ppm."""
BASE_MMOL = 2.0
"""Acid in a litre of any sample that is not more acid than that alone."""
STOCK_MMOL = 50.0
"""Of the two stock solutions, mmol in a litre."""
SODA_G_PER_MOL = 84.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Acid:
    """A mild acid from the kitchen.

    Parameters
    ----------
    name : str
        Plain name.
    pk : tuple of float
        Its constants at 25 °C, one a proton (CRC Handbook, from memory).
    how : str
        How the stock solution is made.
    """

    name: str
    pk: tuple[float, ...]
    how: str

    def charge(self, hydrogen: float) -> float:
        """Return the mean number of protons that a molecule has given off."""
        weights, weight = [1.0], 1.0
        for pk in self.pk:
            weight *= 10.0**-pk / hydrogen
            weights.append(weight)
        return sum(n * w for n, w in enumerate(weights)) / sum(weights)


CITRIC = Acid(
    name="citric acid",
    pk=(3.13, 4.76, 6.40),
    how="9.6 g of anhydrous citric acid (10.5 g of the monohydrate) in 1 litre of distilled water",
)
VINEGAR = Acid(
    name="vinegar",
    pk=(4.756,),
    how="60 mL of clear vinegar of 5 % acidity made up to 1 litre with distilled water",
)


def ph_of(acid: Acid, acid_mol: float, soda_mol: float = 0.0) -> float:
    """Return the pH of a mixture that stands in air until no more gas comes.

    H + soda = charge of the acid + HCO3 + 2 CO3 + OH, solved by halving.

    Parameters
    ----------
    acid : Acid
        The acid.
    acid_mol, soda_mol : float
        In a litre, mol.

    Examples
    --------
    >>> round(ph_of(VINEGAR, 0.1), 2), round(ph_of(CITRIC, 0.1), 2)
    (2.88, 2.08)
    """
    low, high = 0.0, 14.0
    for _ in range(60):
        middle = (low + high) / 2
        if _soda_for(acid, acid_mol, 10.0**-middle) < soda_mol:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _soda_for(acid: Acid, acid_mol: float, hydrogen: float) -> float:
    """Soda that a charge balance wants at a given activity of hydrogen, mol/L."""
    first, second = (10.0**-pk for pk in CARBONIC_PK)
    bicarbonate = AIR_CARBONIC * first / hydrogen
    carbonate = bicarbonate * second / hydrogen
    acid_charge = acid_mol * acid.charge(hydrogen)
    return float(acid_charge + bicarbonate + 2 * carbonate + WATER / hydrogen - hydrogen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """How one sample is mixed.

    Parameters
    ----------
    ph : float
        What is wanted.
    acid_ml, soda_ml : float
        Of the two stock solutions.
    volume_ml : float
        Filled up to this with distilled water.
    ph_if_less, ph_if_more : float
        What comes of 5 % less and 5 % more soda (or, where there is none, more and less acid).
    """

    ph: float
    acid_ml: float
    soda_ml: float
    volume_ml: float
    ph_if_less: float
    ph_if_more: float


def mix_for(ph: float, acid: Acid, volume_ml: float = 100.0) -> Mix:
    """Return how to mix a sample of a pH.

    Raises
    ------
    OrderError
        If the pH is not one that is mixed for a class, or this acid cannot reach it.

    Examples
    --------
    >>> mixed = mix_for(4.5, CITRIC)
    >>> round(mixed.acid_ml, 1), round(mixed.soda_ml, 1)
    (4.0, 5.2)
    """
    if not LEAST_PH <= ph <= HIGHEST_PH:
        raise OrderError(
            f"A practice sample of pH {ph:g} is not mixed here.",
            what_to_do=f"Choose a pH from {LEAST_PH:g} to {HIGHEST_PH:g}.",
        )
    if not 1 <= volume_ml <= 10_000:
        raise OrderError(
            f"A sample of {volume_ml:g} mL is not mixed here.",
            what_to_do="Choose from 1 to 10,000 mL.",
        )
    hydrogen = 10.0**-ph  # alone: the acid that gives this pH without any soda
    alone = -_soda_for(acid, 0.0, hydrogen) / acid.charge(hydrogen)
    acid_mol = max(BASE_MMOL / 1000, alone)
    soda_mol = max(0.0, _soda_for(acid, acid_mol, hydrogen))
    if 1000 * (acid_mol + soda_mol) > STOCK_MMOL:
        raise OrderError(
            f"A sample of pH {ph:g} needs more {acid.name} than its stock solution holds.",
            what_to_do="Use citric acid, or choose a higher pH.",
        )
    if soda_mol > 1e-9:
        less, more = (ph_of(acid, acid_mol, soda_mol * s) for s in (0.95, 1.05))
    else:
        less, more = (ph_of(acid, acid_mol * s) for s in (1.05, 0.95))
    return Mix(
        ph=ph,
        acid_ml=1000 * acid_mol / STOCK_MMOL * volume_ml,
        soda_ml=1000 * soda_mol / STOCK_MMOL * volume_ml,
        volume_ml=volume_ml,
        ph_if_less=less,
        ph_if_more=more,
    )


def recipe(
    names: Sequence[str], values: Sequence[float], acid: Acid, volume_ml: float = 100.0
) -> tuple[str, ...]:
    """Write the recipe for the samples of a practice survey, a line each, cautions at the end."""
    soda_g = STOCK_MMOL / 1000 * SODA_G_PER_MOL
    lines = [
        f"Acid stock: {acid.how}.",
        f"Soda stock: {soda_g:.1f} g of baking soda in 1 litre of distilled water, made fresh.",
        f"Each sample: some distilled water into a beaker, then the acid, then the soda, then "
        f"distilled water to {volume_ml:g} mL.",
    ]
    for name, value in zip(names, values, strict=True):
        mix = mix_for(value, acid, volume_ml)
        lines.append(
            f"  {name}: pH {value:.1f}: {mix.acid_ml:.1f} mL acid, {mix.soda_ml:.1f} mL soda "
            f"(5 % off: pH {mix.ph_if_less:.1f} to {mix.ph_if_more:.1f})"
        )
    return (*lines, *MIXING_CAUTIONS)


MIXING_CAUTIONS = (
    "Goggles for everybody. Add the acid to water, never the reverse; no food or drink at the "
    "bench. Never mix any of this with cleaning products: the gases can kill.",
    "Acid and baking soda give off gas: leave beakers and tubes open until it stops, and never "
    "stopper a tube that still bubbles.",
    "The samples are these liquids, or washed quartz sand wetted with them; never field soil: it "
    "takes up the acid, and limy soil gives off gas.",
    "Let them stand open for a day, then check each with a meter before class and write down what "
    "it shows: the recipe leaves out the activity of ions and may be off by 0.2 pH, near pH 7 and "
    "above by more.",
    "Label every tube. Afterwards pour the rest down the drain with plenty of water, where local "
    "rules allow it.",
)
