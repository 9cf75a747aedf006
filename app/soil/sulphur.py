"""Elemental sulphur to make a soil more acid; the sources disagree widely, which is shown."""

import itertools
from dataclasses import dataclass

from app.errors import OrderError
from app.soil.read_off import read_off
from app.soil.soil_reading import texture_group
from app.soil.spread import Spread
from app.soil.table_reader import Citation, load_table
from app.soil.units import convert, molar_mass

TABLES = ("sulphur_michigan", "sulphur_western", "sulphur_rhs")
HIGHEST_PH = 8.5


@dataclass(frozen=True, slots=True, kw_only=True)
class SulphurLookUp:
    """What one source says of one stretch of pH.

    Parameters
    ----------
    start, end : float
        The stretch, from the higher to the lower pH.
    printed : str
        What was read off the source, in its unit.
    rate : float
        g/m2.
    citation : Citation
        The source.
    """

    start: float
    end: float
    printed: str
    rate: float
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class SulphurRange:
    """How much sulphur the sources ask for.

    Parameters
    ----------
    low, high : float
        Lowest and highest, g/m2.
    look_ups : tuple of SulphurLookUp
        What the sources say, stretch by stretch.
    """

    low: float
    high: float
    look_ups: tuple[SulphurLookUp, ...]

    @property
    def citations(self) -> tuple[Citation, ...]:
        """The sources that were used, each once."""
        return tuple(dict.fromkeys(found.citation for found in self.look_ups))


def sulphur_per_step(table: str, group: str, start: float, end: float) -> SulphurLookUp | None:
    """Sulphur from one pH down to another by one table; None outside the table.

    The tables count from their own target; what lies between two pH is the difference, linear
    between two rows.

    Examples
    --------
    >>> found = sulphur_per_step("sulphur_michigan", "sand", 5.0, 4.5)
    >>> round(found.rate, 1), found.printed
    (19.6, 'sand, lb/acre: 175 at pH 5')
    """
    source = load_table(table)
    ph = [row.number("ph") for row in source]
    if not ph[0] <= end <= start <= ph[-1]:
        return None
    numbers = [row.number(group) for row in source]
    more, less = read_off(ph, numbers, start), read_off(ph, numbers, end)
    printed = f"{group}, {source.unit}: {more.printed}"
    return SulphurLookUp(
        start=start,
        end=end,
        printed=printed + (f", less {less.printed}" if less.value else ""),
        rate=convert(more.value - less.value, source.unit, "g/m2"),
        citation=source.citation,
    )


def sulphur_needed(start: float, target: float, texture: str) -> SulphurRange:
    """Return the range of the sources' rates from a pH down to a target.

    Where no single source reaches from start to target, each stretch of pH is taken from the
    sources that cover it: the low end adds up the lowest, the high end the highest.

    Raises
    ------
    OrderError
        If no source covers the way, or the texture is in none.
    """
    group = texture_group(texture, "sulphur_group")
    if group is None:
        raise OrderError(
            f"The tables of sulphur do not cover {texture}.",
            what_to_do="Ask a laboratory for the buffer capacity of this soil.",
        )
    ends = {row.number("ph") for name in TABLES for row in load_table(name)}
    stops = sorted({start, target, *(end for end in ends if target < end < start)})
    low, high, used = 0.0, 0.0, []
    for end, begin in itertools.pairwise(stops if start > target else ()):
        tables = (sulphur_per_step(name, group, begin, end) for name in TABLES)
        found = [look_up for look_up in tables if look_up is not None]
        if not found:
            raise OrderError(
                f"No table of sulphur reaches from pH {begin:.1f} to {end:.1f}.",
                what_to_do="Ask a laboratory, or choose a crop that likes this soil.",
            )
        rates = [look_up.rate for look_up in found]
        low, high = low + min(rates), high + max(rates)
        used += found
    return SulphurRange(low=low, high=high, look_ups=tuple(used))


def sulphur_for_reading(
    ph: Spread, *, upper_limit: float, target: float, texture: str
) -> SulphurRange:
    """Return the range of sulphur over the interval of a reading: exact outer bounds.

    A soil at or below the crop's upper limit needs none.

    Parameters
    ----------
    upper_limit : float
        Highest pH that the crop likes.
    target : float
        The pH that is aimed at, at most the upper limit.
    """
    if ph.high > HIGHEST_PH:
        raise OrderError(
            f"The tables of sulphur end at pH {HIGHEST_PH:g}; this soil may lie above.",
            what_to_do="Ask a laboratory: such a soil often holds free lime.",
        )
    most = _beyond(ph.high, upper_limit, target, texture)
    least = _beyond(ph.low, upper_limit, target, texture)
    looked_up = dict.fromkeys((*least.look_ups, *most.look_ups))
    return SulphurRange(low=least.low, high=most.high, look_ups=tuple(looked_up))


def _beyond(ph: float, upper_limit: float, target: float, texture: str) -> SulphurRange:
    return sulphur_needed(ph if ph > upper_limit else target, target, texture)


def sulphur_for_free_lime(percent: float, *, bulk_density_g_cm3: float, depth_cm: float) -> float:
    """Sulphur that free lime alone uses up, t/ha.

    percent of the soil's mass, times its mass per area, by the masses of S and CaCO3 that
    neutralise each other.

    Examples
    --------
    >>> round(sulphur_for_free_lime(1, bulk_density_g_cm3=1.3, depth_cm=15), 1)
    6.2
    """
    lime_t_per_ha = percent / 100 * bulk_density_g_cm3 * depth_cm * 100
    return lime_t_per_ha * molar_mass("S") / molar_mass("CaCO3")
