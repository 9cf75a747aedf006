"""A rough guide to lime from a pH in water and the texture: a range, never a rate."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from app.errors import OrderError
from app.soil.amendment import USUAL_DEPTH_CM, for_depth
from app.soil.region import LIME_GROUPS, LimeFactor, LimeTable, read_lime_table
from app.soil.soil_reading import texture_group
from app.soil.spread import Spread
from app.soil.table_reader import Citation, load_table
from app.soil.units import convert, molar_mass

_UK_NEUTRALIZING_VALUE = 52.5
"""Middle of RB209's ground limestone of 50 to 55, counted as percent of CaO there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeRange:
    """A rough guide: pure calcium carbonate or good ground limestone, g/m2.

    Parameters
    ----------
    low, high : float
        Range over the sources and the interval of the reading.
    target : float
        The pH that the guide reaches, which may be below the one asked for.
    citations : tuple of Citation
        The sources.
    """

    low: float
    high: float
    target: float
    citations: tuple[Citation, ...]


@cache
def shipped_lime_tables() -> tuple[LimeTable, ...]:
    """Return the two tables of lime by texture that ship with the program."""
    names = ("lime_texture_first", "lime_texture_second")
    return tuple(read_lime_table(load_table(name)) for name in names)


def lime_by_table(table: LimeTable, ph: float, *, target: float, group: str) -> float:
    """Lime from a pH to a target by one table, g/m2 over the table's depth.

    The rate to the table's own target, less the rate that the own target of the user would leave
    undone; linear between rows.

    Examples
    --------
    >>> first = shipped_lime_tables()[0]
    >>> round(lime_by_table(first, 5.5, target=6.5, group="loam"))
    366
    """
    at = LIME_GROUPS.index(group)
    known = [*table.ph, table.target_ph] if table.ph[-1] < table.target_ph else [*table.ph]
    rates = [row[at] for row in table.rates] + [0.0] * (len(known) - len(table.ph))
    if not known[0] <= ph:
        raise OrderError(
            f"The tables of lime begin at pH {known[0]:g}; this soil may lie below.",
            what_to_do="Ask a laboratory for a buffer pH or the exchangeable acidity.",
        )
    undone = float(np.interp(target, known, rates))
    return convert(max(0.0, float(np.interp(ph, known, rates)) - undone), table.unit, "g/m2")


def lime_rough_guide(
    ph: Spread,
    *,
    needed_below: float,
    target: float,
    texture: str,
    depth_cm: float,
    tables: Sequence[LimeTable],
) -> LimeRange:
    """Return the range of the tables of lime by texture over the interval of a reading.

    Exact outer bounds: the lowest table at the top of the interval, the highest at its bottom. A
    soil at or above `needed_below` needs none. A table is never stretched beyond its own target.

    Raises
    ------
    OrderError
        If the tables do not cover the texture or the pH.
    """
    group = texture_group(texture, "lime_group")
    if group is None:
        raise OrderError(
            f"The tables of lime do not cover {texture}.",
            what_to_do="Ask a laboratory for a buffer pH or the exchangeable acidity.",
        )
    reached = min(target, *(table.target_ph for table in tables))

    def rates(at: float) -> list[float]:
        if at >= needed_below:
            return [0.0]
        return [
            for_depth(
                lime_by_table(table, at, target=reached, group=group),
                table_depth_cm=table.depth_cm or USUAL_DEPTH_CM,
                depth_cm=depth_cm,
            )
            for table in tables
        ]

    return LimeRange(
        low=min(rates(ph.high)),
        high=max(rates(ph.low)),
        target=reached,
        citations=tuple(table.citation for table in tables),
    )


def lime_by_factor(
    ph: Spread,
    *,
    needed_below: float,
    target: float,
    texture: str,
    grass: bool,
    factors: Sequence[LimeFactor],
) -> LimeRange | None:
    """Return lime by a factor per unit of pH, g/m2 of CaCO3; None where no factor fits.

    factor x (target - pH), the target never above the one printed for the use. Rates are for the
    depth that the source means and are not scaled.
    """
    group = texture_group(texture, "uk_group")
    for row in factors:
        if row.texture_group == group:
            at = 1 if grass else 0
            reached = min(target, row.targets[at])
            percent = _UK_NEUTRALIZING_VALUE * molar_mass("CaCO3") / molar_mass("CaO")
            scale = convert(row.factors[at], "t/ha", "g/m2") * percent / 100
            low, high = (
                scale * max(0.0, reached - end) if end < needed_below else 0.0
                for end in (ph.high, ph.low)
            )
            return LimeRange(low=low, high=high, target=reached, citations=(row.citation,))
    return None
