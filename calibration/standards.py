"""Certified buffers: their pH by name and temperature."""

import difflib
import math
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from calibration.errors import StandardError
from calibration.table_reader import load_table


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
    value = between(points, temperature_c)
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


def between(points: Points, x: float) -> float | None:
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
