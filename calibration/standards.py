"""Buffers of known pH, and how to mix the ones that are missing."""

import difflib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from calibration.errors import StandardError
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
class Buffer:
    """A buffer of the tables.

    Parameters
    ----------
    name : str
        The plain word it goes by here.
    aliases : tuple of str
        Other names that are understood.
    title : str
        What it is, with its strength.
    composition : str
        What to weigh in.
    table, column : str
        Where its values stand.
    offset : float
        What is added to the table's value, pH.
    uncertainty : float
        Of the value, pH: measured part and convention together.
    """

    name: str
    aliases: tuple[str, ...]
    title: str
    composition: str
    table: str
    column: str
    offset: float
    uncertainty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BufferValue:
    """The pH of a buffer at one temperature.

    Parameters
    ----------
    buffer : str
        Name of the buffer.
    temperature_c : float
        Degrees Celsius.
    value : float
        pH.
    uncertainty : float
        pH. Taken as a standard uncertainty: the sources give no coverage factor, and this is the
        cautious reading.
    source : str
        Who printed the values.
    """

    buffer: str
    temperature_c: float
    value: float
    uncertainty: float
    source: str


@cache
def list_buffers() -> tuple[Buffer, ...]:
    """Return every buffer of the tables.

    Examples
    --------
    >>> [buffer.name for buffer in list_buffers()][-3:]
    ['ph7', 'ph9.18', 'ph10']
    """
    return tuple(
        Buffer(
            name=row["name"],
            aliases=tuple(row["aliases"].split("|")),
            title=row["title"],
            composition=row["composition"],
            table=row["table"],
            column=row["column"],
            offset=float(row["offset"]),
            uncertainty=math.hypot(
                float(row["uncertainty"]), float(row["convention_uncertainty"] or 0)
            ),
        )
        for row in load_table("buffers.csv").records()
    )


def find_buffer(name: str) -> Buffer:
    """Return the buffer that goes by a name: a plain word, a formula's name or a shop label.

    Raises
    ------
    StandardError
        If no buffer has that name; a near miss is suggested.

    Examples
    --------
    >>> find_buffer("pH 7.00").name, find_buffer("Borax buffer").name
    ('ph7', 'borax')
    """
    known = {
        _plain(alias): buffer
        for buffer in list_buffers()
        for alias in (buffer.name, *buffer.aliases)
    }
    asked = _plain(name)
    if asked in known:
        return known[asked]
    near = difflib.get_close_matches(asked, known, n=1, cutoff=0.6)
    names = ", ".join(buffer.name for buffer in list_buffers())
    hint = f"Did you mean '{known[near[0]].name}'? " if near else ""
    raise StandardError(
        f"There is no buffer '{name.strip()}' in the tables.",
        what_to_do=f"{hint}Known buffers: {names}. For another one give its value instead.",
    )


def _plain(name: str) -> str:
    """Return a name without case, spaces, 'buffer' and 'pH', so that spellings meet."""
    words = name.casefold().replace("_", " ").replace("-", " ").split()
    joined = "".join(word for word in words if word not in ("buffer", "standard", "solution"))
    return joined.removeprefix("ph") if joined[2:3].isdigit() else joined


def certified_value(buffer: str, temperature_c: float) -> BufferValue:
    """Return the pH of a buffer at a temperature, linear between the table's rows.

    Parameters
    ----------
    buffer : str
        Name, alias or shop label.
    temperature_c : float
        Degrees Celsius, inside the span of the buffer's table.

    Raises
    ------
    StandardError
        If the buffer is unknown or has no value at that temperature; nothing is extrapolated.

    References
    ----------
    The source of each value is returned with it.

    Examples
    --------
    >>> round(certified_value("borax", 22).value, 3)
    9.207
    """
    found = find_buffer(buffer)
    table = load_table(f"{found.table}.csv")
    points = tuple(
        (float(temperature), float(cell) if cell else None)
        for temperature, cell in zip(
            table.column("temperature_c"), table.column(found.column), strict=True
        )
    )
    value = _between(points, temperature_c)
    if value is None:
        raise StandardError(
            f"The tables give no value of the {found.name} buffer at {temperature_c:g} °C.",
            what_to_do=f"They hold for {_spans(points)}. Let the buffer come to such a "
            "temperature, or take the value from the bottle's label.",
        )
    return BufferValue(
        buffer=found.name,
        temperature_c=temperature_c,
        value=value + found.offset,
        uncertainty=found.uncertainty,
        source=table.source,
    )


Points = tuple[tuple[float, float | None], ...]


def _between(points: Points, x: float) -> float | None:
    """Interpolate linearly; None outside the points and beside a missing one."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x == x0:
            return y0
        if x0 < x < x1:
            return None if y0 is None or y1 is None else y0 + (x - x0) / (x1 - x0) * (y1 - y0)
    last_x, last_y = points[-1]
    return last_y if x == last_x else None


def _spans(points: Points) -> str:
    """Say in words where the points have values."""
    runs: list[list[float]] = [[]]
    for x, y in points:
        if y is not None:
            runs[-1].append(x)
        elif runs[-1]:
            runs.append([])
    return " and ".join(
        f"{run[0]:g} to {run[-1]:g} °C" if len(run) > 1 else f"{run[0]:g} °C" for run in runs if run
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
    phosphate_ml = _between(tuple(zip(series, volumes, strict=True)), ph)
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
