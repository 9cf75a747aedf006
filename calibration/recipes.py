"""Which standards a chart lacks, and how to mix them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from calibration.errors import StandardError
from calibration.standards import between
from calibration.table_reader import load_table

COARSE_PH = 1.0
"""Neighboring standards further apart than this leave the readings between them doubtful."""

COARSE_PH_TOLERANCE = 0.1
"""What is still taken for one unit: shop buffers move that much with temperature."""

IONIC_STRENGTH_WARNING = (
    "The ionic strength varies along the citrate-phosphate series and is far above that of soil in "
    "plain water: it shifts the dye by a few hundredths of a pH within the series, and standards "
    "in strong buffer differ by 0.15 to 0.3 pH from samples in plain water. Make standards and "
    "samples in the same 0.01 M calcium chloride, and check each mixed buffer with a calibrated "
    "electrode. Do not use phosphate buffers as blanks for a phosphorus test."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CitratePhosphateRecipe:
    """How to mix a citrate-phosphate buffer of one pH.

    Parameters
    ----------
    ph : float
        What the recipe aims at, good to about 0.05.
    phosphate_ml : float
        Millilitres of 0.2 M disodium phosphate (28.38 g anhydrous per litre).
    citric_acid_ml : float
        Millilitres of 0.1 M citric acid (19.21 g anhydrous per litre).
    source : str
        Who printed the series.
    """

    ph: float
    phosphate_ml: float
    citric_acid_ml: float
    source: str
    warning: str = IONIC_STRENGTH_WARNING

    @property
    def line(self) -> str:
        """The recipe in one line.

        Examples
        --------
        >>> citrate_phosphate_recipe(5.0, 20).line
        'pH 5: 10.30 mL of 0.2 M disodium phosphate + 9.70 mL of 0.1 M citric acid'
        """
        return (
            f"pH {self.ph:g}: {self.phosphate_ml:.2f} mL of 0.2 M disodium phosphate + "
            f"{self.citric_acid_ml:.2f} mL of 0.1 M citric acid"
        )


def citrate_phosphate_recipe(ph: float, total_ml: float = 20.0) -> CitratePhosphateRecipe:
    """Return the volumes for one pH of the citrate-phosphate series, linear between its rows.

    Parameters
    ----------
    ph : float
        2.2 to 8.0.
    total_ml : float
        Volume wanted, > 0, mL.

    Raises
    ------
    StandardError
        If the series does not reach that pH.

    References
    ----------
    McIlvaine 1921, J. Biol. Chem. 49, 183.

    Examples
    --------
    >>> recipe = citrate_phosphate_recipe(6.1, 100)
    >>> round(recipe.phosphate_ml, 3), round(recipe.citric_acid_ml, 3)
    (64.625, 35.375)
    """
    if not (math.isfinite(total_ml) and total_ml > 0):
        raise ValueError(f"total_ml must be > 0, got {total_ml}")
    table = load_table("citrate_phosphate.csv")
    series = [float(cell) for cell in table.column("ph")]
    volumes = [float(cell) for cell in table.column("phosphate_ml")]
    phosphate_ml = between(tuple(zip(series, volumes, strict=True)), ph)
    if phosphate_ml is None:
        raise StandardError(
            f"The citrate-phosphate series does not reach pH {ph:g}.",
            what_to_do=f"It runs from pH {series[0]:g} to {series[-1]:g}. "
            "Above pH 8 use a borate or carbonate buffer.",
        )
    share = phosphate_ml / 20.0  # the table is printed for 20 mL
    return CitratePhosphateRecipe(
        ph=ph,
        phosphate_ml=total_ml * share,
        citric_acid_ml=total_ml * (1 - share),
        source=table.source,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A standard that would make a chart finer.

    Parameters
    ----------
    value : float
        pH of the standard to add.
    recipe : CitratePhosphateRecipe or None
        How to mix it; None beyond the series.
    text : str
        What to do, in one line.
    """

    value: float
    recipe: CitratePhosphateRecipe | None
    text: str


def propose_standards(values: Sequence[float], *, total_ml: float = 20.0) -> tuple[Proposal, ...]:
    """Return the standards to add so that no two neighbors are more than 1 pH apart.

    Parameters
    ----------
    values : sequence of float
        pH of the standards at hand, any order.
    total_ml : float
        Volume of each recipe, mL.

    Examples
    --------
    >>> [proposal.value for proposal in propose_standards((4.0, 7.0, 10.01))]
    [5.0, 6.0, 8.0, 9.0]
    """
    return tuple(
        proposal
        for low, high in pairwise(sorted(set(values)))
        if high - low > COARSE_PH + COARSE_PH_TOLERANCE + 1e-9
        for proposal in fill_gap(low, high, total_ml=total_ml)
    )


def fill_gap(low: float, high: float, *, total_ml: float = 20.0) -> tuple[Proposal, ...]:
    """Return the fewest evenly spaced standards, at least one, that make a pH gap fine enough.

    Examples
    --------
    >>> [proposal.text for proposal in fill_gap(5.0, 5.8)]
    ['pH 5.4: 11.15 mL of 0.2 M disodium phosphate + 8.85 mL of 0.1 M citric acid']
    """
    limit = COARSE_PH + COARSE_PH_TOLERANCE + 1e-9
    for pieces in range(2, 100):
        inner = [round(low + (high - low) * i / pieces, 1) for i in range(1, pieces)]
        if all(b - a <= limit for a, b in pairwise((low, *inner, high))):
            return tuple(_proposal(value, total_ml) for value in inner if low < value < high)
    raise ValueError(f"the gap from {low} to {high} is no gap between two pH values")


def _proposal(value: float, total_ml: float) -> Proposal:
    try:
        recipe = citrate_phosphate_recipe(value, total_ml)
    except StandardError as error:
        text = f"pH {value:g}: {error.what_happened} {error.what_to_do}"
        return Proposal(value=value, recipe=None, text=text)
    return Proposal(value=value, recipe=recipe, text=recipe.line)
