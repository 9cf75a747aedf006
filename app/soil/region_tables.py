"""Tables of what a soil has and gets: categories, recommendations, lime; ours or the user's."""

from dataclasses import dataclass

from app.soil.table_reader import Citation, Row, SoilTable
from app.soil.units import is_rate
from calibration.errors import TableError

CATEGORIES = ("very low", "low", "medium", "high", "very high")
NUTRIENTS = ("N", "P2O5", "K2O")
LIME_GROUPS = ("sandy", "loam", "clay")

LIMIT_HEADINGS = ("low_from", "medium_from", "high_from", "very_high_from")
CATEGORY_HEADINGS = tuple(category.replace(" ", "_") for category in CATEGORIES)
_CATEGORY_UNITS = ("mg/kg", "mg/L", "lb/acre")


@dataclass(frozen=True, slots=True, kw_only=True)
class CategoryScale:
    """From which value on a soil is low, medium, high and very high by one extractant.

    Parameters
    ----------
    quantity : str
        "phosphorus", ...; amounts are of the element.
    extractants : tuple of str
        Names of the extractants; "any" where it does not matter.
    unit : {"mg/kg", "mg/L", "lb/acre"}
        Of the limits; lb/acre is twice mg/kg, mg/L is per litre of soil.
    limits : tuple of float
        Lower limits of low, medium, high and very high.
    step : float
        To which values are rounded, half up, before they are looked up.
    citation : Citation
        Where it stands printed.
    """

    quantity: str
    extractants: tuple[str, ...]
    unit: str
    limits: tuple[float, float, float, float]
    step: float
    citation: Citation

    def takes(self, extractant: str | None) -> bool:
        """Whether values by this extractant belong to the scale."""
        if "any" in self.extractants:
            return True
        return extractant is not None and _plain(extractant) in map(_plain, self.extractants)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """How much of a nutrient a use wants, by category.

    Parameters
    ----------
    use : str
        Land use or crop.
    nutrient : {"N", "P2O5", "K2O"}
        What is recommended.
    unit : str
        Mass per area.
    rates : tuple of (float, float)
        Lowest and highest rate for each of `CATEGORIES`.
    citation : Citation
        Where it stands printed.
    """

    use: str
    nutrient: str
    unit: str
    rates: tuple[tuple[float, float], ...]
    citation: Citation

    @property
    def needs_category(self) -> bool:
        """Whether the rate depends on a soil test at all."""
        return len(set(self.rates)) > 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeTable:
    """Lime by starting pH and texture, to one target pH.

    Parameters
    ----------
    unit : str
        Mass of ground limestone per area.
    target_ph : float
        The pH that is reached.
    depth_cm : float or None
        Depth that is limed, None where it is not printed.
    ph : tuple of float
        Starting pH, rising.
    rates : tuple of tuple of float
        For each starting pH the rate on sandy, loam and clay.
    citation : Citation
        Where it stands printed.
    """

    unit: str
    target_ph: float
    depth_cm: float | None
    ph: tuple[float, ...]
    rates: tuple[tuple[float, ...], ...]
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeFactor:
    """Lime per unit of pH on one group of textures.

    Parameters
    ----------
    texture_group : str
        Group of textures.
    factors, targets : tuple of float
        t/ha of ground limestone per unit of pH, and pH aimed at, for arable land and grass.
    citation : Citation
        Where it stands printed.
    """

    texture_group: str
    factors: tuple[float, float]
    targets: tuple[float, float]
    citation: Citation


def read_categories(table: SoilTable) -> tuple[CategoryScale, ...]:
    """Return the scales of a table of categories."""
    _check_unit(table, table.unit in _CATEGORY_UNITS, ", ".join(_CATEGORY_UNITS))
    scales = []
    for row in table:
        limits = tuple(row.number(heading) for heading in LIMIT_HEADINGS)
        if list(limits) != sorted(limits):
            raise row.error("The limits do not rise.", "Write the lower limit of each class.")
        step = row.maybe_number("step")
        if step == 0:
            raise row.error("The step is 0.", "Write the last digit that is printed, such as 1.")
        extractants = tuple(part.strip() for part in row.needed("extractant").split("|"))
        scales.append(
            CategoryScale(
                quantity=row.needed("quantity").casefold(),
                extractants=extractants,
                unit=table.unit,
                limits=(limits[0], limits[1], limits[2], limits[3]),
                step=1.0 if step is None else step,
                citation=table.citation,
            )
        )
    return tuple(scales)


def read_recommendations(table: SoilTable) -> tuple[Recommendation, ...]:
    """Return the rows of a table of recommendations."""
    _check_unit(table, is_rate(table.unit), "a mass per area such as kg/ha or lb/1000 ft2")
    return tuple(
        Recommendation(
            use=row.needed("use").casefold(),
            nutrient=_nutrient(row),
            unit=table.unit,
            rates=tuple(row.span(heading) for heading in CATEGORY_HEADINGS),
            citation=table.citation,
        )
        for row in table
    )


def _nutrient(row: Row) -> str:
    nutrient = row.needed("nutrient").upper()
    if nutrient not in NUTRIENTS:
        raise row.error(
            f"The nutrient '{nutrient[:40]}' is not known.", f"Use one of {', '.join(NUTRIENTS)}."
        )
    return nutrient


def read_lime_table(table: SoilTable) -> LimeTable:
    """Return a table of lime by texture; all rows share one target and one depth."""
    _check_unit(table, is_rate(table.unit), "a mass per area such as t/ha or lb/1000 ft2")
    rows = sorted(table, key=lambda row: row.number("ph"))
    target, depth = rows[0].number("target_ph"), rows[0].maybe_number("depth_cm")
    for row in rows:
        if row.number("target_ph") != target or row.maybe_number("depth_cm") != depth:
            raise row.error("Its target or depth differs.", "Make a table for each.")
        if row.number("ph") > target:
            raise row.error("It starts above the target.", "Leave such rows out.")
    if depth == 0:
        raise rows[0].error("The depth is 0.", "Write the depth in cm, or leave it blank.")
    rates = [tuple(row.number(group) for group in LIME_GROUPS) for row in rows]
    for row, more, less in zip(rows[1:], rates, rates[1:], strict=False):
        if any(a < b for a, b in zip(more, less, strict=True)):
            raise row.error("It takes more lime than a more acid start.", "Check the rates.")
    return LimeTable(
        unit=table.unit,
        target_ph=target,
        depth_cm=depth,
        ph=tuple(row.number("ph") for row in rows),
        rates=tuple(rates),
        citation=table.citation,
    )


def read_lime_factors(table: SoilTable) -> tuple[LimeFactor, ...]:
    """Return the rows of a table of lime by group of textures."""
    return tuple(
        LimeFactor(
            texture_group=row.needed("texture_group"),
            factors=(row.number("arable_factor"), row.number("grass_factor")),
            targets=(row.number("arable_target"), row.number("grass_target")),
            citation=table.citation,
        )
        for row in table
    )


def _check_unit(table: SoilTable, is_known: bool, known: str) -> None:
    if not is_known:
        raise TableError(
            f"{table.table.name}, line {table.unit_line}: the unit '{table.unit[:40]}' is not "
            "one that such a table can have.",
            what_to_do=f"Use {known}; explain it behind a semicolon.",
        )


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
