"""A rough guide to lime from a pH in water and the texture: a range, never a rate."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

from app.errors import OrderError
from app.soil.amendment import USUAL_DEPTH_CM, for_depth
from app.soil.read_off import ReadOff, read_off
from app.soil.region_tables import LIME_GROUPS, LimeFactor, LimeTable, read_lime_table
from app.soil.soil_reading import texture_group
from app.soil.spread import Spread
from app.soil.table_reader import Citation, load_table
from app.soil.units import convert, molar_mass

_UK_NEUTRALIZING_VALUE = 52.5
"""Middle of RB209's ground limestone of 50 to 55, counted as percent of CaO there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeLookUp:
    """What one source says at one pH.

    Parameters
    ----------
    ph : float
        The pH.
    printed : str
        What was read off the source, in its unit.
    rate : float
        g/m2 over the depth that is worked.
    citation : Citation
        The source.
    """

    ph: float
    printed: str
    rate: float
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeRange:
    """A rough guide: pure calcium carbonate or good ground limestone, g/m2.

    Parameters
    ----------
    low, high : float
        Range over the sources and the interval of the reading.
    target : float
        The pH that the guide reaches, which may be below the one asked for.
    look_ups : tuple of LimeLookUp
        What the sources say at both ends of the interval, those ends that need lime.
    """

    low: float
    high: float
    target: float
    look_ups: tuple[LimeLookUp, ...]


@cache
def shipped_lime_tables() -> tuple[LimeTable, ...]:
    """Return the two tables of lime by texture that ship with the program."""
    names = ("lime_texture_first", "lime_texture_second")
    return tuple(read_lime_table(load_table(name)) for name in names)


def lime_by_table(table: LimeTable, ph: float, *, target: float, group: str) -> ReadOff:
    """Lime from a pH to a target by one table, g/m2 over the table's depth.

    The rate to the table's own target, less the rate that the target of the user would leave
    undone; linear between rows.

    Examples
    --------
    >>> first = shipped_lime_tables()[0]
    >>> found = lime_by_table(first, 5.5, target=6.5, group="loam")
    >>> round(found.value), found.printed
    (366, 'lb/1000 ft2: 75 at pH 5.5')
    """
    at = LIME_GROUPS.index(group)
    known = [*table.ph, table.target_ph] if table.ph[-1] < table.target_ph else [*table.ph]
    rates = [row[at] for row in table.rates] + [0.0] * (len(known) - len(table.ph))
    if not known[0] <= ph:
        raise OrderError(
            f"The tables of lime begin at pH {known[0]:g}; this soil may lie below.",
            what_to_do="Ask a laboratory for a buffer pH or the exchangeable acidity.",
        )
    wanted, undone = read_off(known, rates, ph), read_off(known, rates, target)
    printed = wanted.printed + (f", less {undone.printed}" if undone.value > 0 else "")
    rate = convert(max(0.0, wanted.value - undone.value), table.unit, "g/m2")
    return ReadOff(rate, f"{table.unit}: {printed}")


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

    def look_up(table: LimeTable, at: float) -> LimeLookUp:
        found = lime_by_table(table, at, target=reached, group=group)
        table_depth = table.depth_cm or USUAL_DEPTH_CM
        rate = for_depth(found.value, table_depth_cm=table_depth, depth_cm=depth_cm)
        printed = f"{group} soil to pH {reached:g}, {found.printed}"
        if depth_cm != table_depth:
            printed += f"; x {depth_cm:g}/{table_depth:g} for the depth in cm"
        return LimeLookUp(ph=at, printed=printed, rate=rate, citation=table.citation)

    return _range(ph, needed_below, reached, lambda at: [look_up(t, at) for t in tables])


def _range(
    ph: Spread, needed_below: float, target: float, look_up: Callable[[float], list[LimeLookUp]]
) -> LimeRange:
    """Put together what sources say at both ends of a reading; none at or above a limit."""
    ends = {at: look_up(at) if at < needed_below else [] for at in (ph.low, ph.high)}
    return LimeRange(
        low=min((found.rate for found in ends[ph.high]), default=0.0),
        high=max((found.rate for found in ends[ph.low]), default=0.0),
        target=target,
        look_ups=tuple(found for end in ends.values() for found in end),
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
    row = next((row for row in factors if row.texture_group == group), None)
    if row is None:
        return None
    use = 1 if grass else 0
    factor, reached, source = row.factors[use], min(target, row.targets[use]), row.citation
    percent = _UK_NEUTRALIZING_VALUE * molar_mass("CaCO3") / molar_mass("CaO")

    def look_up(at: float) -> LimeLookUp:
        tonnes = factor * max(0.0, reached - at)
        printed = (
            f"{group}, t/ha of ground limestone: {factor:g} x ({reached:g} - {at:.3g}) = "
            f"{tonnes:.3g}; x {percent:.1f} % for pure calcium carbonate"
        )
        rate = convert(tonnes, "t/ha", "g/m2") * percent / 100
        return LimeLookUp(ph=at, printed=printed, rate=rate, citation=source)

    return _range(ph, needed_below, reached, lambda at: [look_up(at)])
