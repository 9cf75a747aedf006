"""What holds in a region: categories, recommendations, lime; ours or the user's own tables."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from app.errors import OrderError
from app.soil.crops import HEADINGS as CROP_HEADINGS
from app.soil.crops import Crop, read_crops
from app.soil.region_tables import (
    CATEGORY_HEADINGS,
    LIME_GROUPS,
    LIMIT_HEADINGS,
    CategoryScale,
    LimeFactor,
    LimeTable,
    Recommendation,
    read_categories,
    read_lime_factors,
    read_lime_table,
    read_recommendations,
)
from app.soil.table_reader import SoilTable, load_table, read_soil_table, table_names
from calibration.errors import TableError

_PREFIXES = ("categories_", "recommendations_", "lime_factors_")


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """The tables that are used for a piece of land.

    Parameters
    ----------
    name : str
        What the user calls it.
    categories, recommendations, lime_tables, lime_factors, crops : tuple
        What its tables hold; any of them may be empty.
    """

    name: str
    categories: tuple[CategoryScale, ...] = ()
    recommendations: tuple[Recommendation, ...] = ()
    lime_tables: tuple[LimeTable, ...] = ()
    lime_factors: tuple[LimeFactor, ...] = ()
    crops: tuple[Crop, ...] = ()


@cache
def region_names() -> tuple[str, ...]:
    """Names of the regions whose tables ship with the program."""
    found = {
        name.removeprefix(prefix)
        for name in table_names()
        for prefix in _PREFIXES
        if name.startswith(prefix)
    }
    return tuple(sorted(found))


def shipped_region(name: str) -> Region:
    """Return a region whose tables ship with the program.

    Raises
    ------
    OrderError
        If there is none of that name.

    Examples
    --------
    >>> shipped_region("Northern Ireland").categories[0].extractants
    ('Olsen',)
    """
    key = "_".join(name.casefold().replace("_", " ").split())
    if key not in region_names():
        near = difflib.get_close_matches(key, region_names(), n=1)
        hint = f"Did you mean {near[0]}? " if near else ""
        raise OrderError(
            f"There is no region table '{name[:40]}'.",
            what_to_do=f"{hint}Use one of {', '.join(region_names())}, or the name of a CSV file.",
        )
    tables = [load_table(prefix + key) for prefix in _PREFIXES if prefix + key in table_names()]
    return _region(key.replace("_", " ").title(), tables)


def own_region(texts: Sequence[tuple[str, str]]) -> Region:
    """Return a region made of the user's own tables.

    What a table is, is known by its headings: `quantity, extractant, low_from, medium_from,
    high_from, very_high_from` (and `step`); `use, nutrient, very_low, low, medium, high,
    very_high`; `ph, target_ph, sandy, loam, clay` (and `depth_cm`); `name, ph_from, ph_to` (and
    `use`, `aliases`).

    Parameters
    ----------
    texts : sequence of (str, str)
        Name and text of each file, one or more.

    Raises
    ------
    TableError
        If a table lacks source, region, year or unit, or a line makes no sense; it is named.
    """
    if not texts:
        raise ValueError("needs at least one table")
    tables = [read_soil_table(text, name) for name, text in texts]
    return _region(tables[0].table.region, tables)


def added(region: Region, own: Region) -> Region:
    """Return a region with the user's own tables before it.

    What an own table says takes the place of what the region says of the same: recommendations of
    the same use and nutrient, all of lime where there is an own table of lime.
    """
    said = {(row.use, row.nutrient) for row in own.recommendations}
    rest = (row for row in region.recommendations if (row.use, row.nutrient) not in said)
    own_lime = own.lime_tables or own.lime_factors
    return Region(
        name=f"{own.name} and {region.name}",
        categories=own.categories + region.categories,
        recommendations=(*own.recommendations, *rest),
        lime_tables=own.lime_tables or (() if own_lime else region.lime_tables),
        lime_factors=own.lime_factors or (() if own_lime else region.lime_factors),
        crops=own.crops + region.crops,
    )


def _region(name: str, tables: Iterable[SoilTable]) -> Region:
    categories: list[CategoryScale] = []
    recommendations: list[Recommendation] = []
    lime_tables: list[LimeTable] = []
    factors: list[LimeFactor] = []
    crops: list[Crop] = []
    for table in tables:
        headings = set(table.table.columns)
        if headings >= {"quantity", "extractant", *LIMIT_HEADINGS}:
            categories += read_categories(table)
        elif headings >= {"use", "nutrient", *CATEGORY_HEADINGS}:
            recommendations += read_recommendations(table)
        elif headings >= {"ph", "target_ph", *LIME_GROUPS}:
            lime_tables.append(read_lime_table(table))
        elif headings >= {"texture_group", "arable_factor", "grass_factor"}:
            factors += read_lime_factors(table)
        elif headings >= set(CROP_HEADINGS):
            crops += read_crops(table)
        else:
            raise _unknown_headings(table)
    return Region(
        name=name,
        categories=tuple(categories),
        recommendations=tuple(recommendations),
        lime_tables=tuple(lime_tables),
        lime_factors=tuple(factors),
        crops=tuple(crops),
    )


def _unknown_headings(table: SoilTable) -> TableError:
    kinds: tuple[tuple[str, ...], ...] = (
        ("quantity", "extractant", *LIMIT_HEADINGS),
        ("use", "nutrient", *CATEGORY_HEADINGS),
    )
    kinds += (("ph", "target_ph", *LIME_GROUPS), CROP_HEADINGS)
    listed = "; or ".join(", ".join(kind) for kind in kinds)
    return TableError(
        f"{table.table.name}, line {table.head_line}: the headings "
        f"{', '.join(table.table.columns)} are of no table that is known here.",
        what_to_do=f"Use the headings {listed}.",
    )
