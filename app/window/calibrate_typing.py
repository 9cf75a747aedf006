"""What was typed into a cell of a table of known values, made into what is said."""

from dataclasses import replace

from app.errors import OrderError
from app.tasks.chart_draft import DraftTube
from calibration.standards import find_buffer

COLUMNS = ("Photo", "Tube", "Value", "Buffer", "°C", "±", "Role", "Label", "Note")
PHOTO, TUBE, VALUE, BUFFER, DEGREES, PLUS_MINUS, ROLE, LABEL, NOTE = range(len(COLUMNS))
EDITED = (VALUE, BUFFER, DEGREES, PLUS_MINUS, ROLE, LABEL)
MOST = 1e9


def number_of(text: str, *, above_zero: bool = False) -> float | None:
    """Read a typed number, with a point or a comma; None where it is blank.

    Raises
    ------
    OrderError
        If it is no number that can stand there.

    Examples
    --------
    >>> number_of("6,5"), number_of("  ")
    (6.5, None)
    """
    plain = text.strip().replace(",", ".")
    if not plain:
        return None
    try:
        value = float(plain)
    except ValueError:
        value = float("nan")
    if not (0 if above_zero else -MOST) <= value < MOST or (above_zero and value == 0):
        raise OrderError(
            f"'{text}' is no number that can stand there; nothing was changed.",
            what_to_do="Type a number above zero." if above_zero else "Type a number, such as 6.5.",
        )
    return value


def typed_tube(said: DraftTube, column: int, text: str, warmth: float) -> DraftTube:
    """Return a tube with other words in one column.

    Parameters
    ----------
    said : DraftTube
        Before.
    column : int
        One of `EDITED`.
    text : str
        As it was typed.
    warmth : float
        Temperature of a buffer that has none yet, degrees Celsius.

    Raises
    ------
    OrderError, StandardError
        If the words cannot be right.
    """
    text = " ".join(text.split())
    if column == VALUE:
        value = number_of(text)
        return replace(said, value=value, buffer=said.buffer if value is None else None)
    if column == DEGREES:
        return replace(said, temperature_c=number_of(text))
    if column == PLUS_MINUS:
        return replace(said, uncertainty=number_of(text, above_zero=True))
    if column == BUFFER:
        return _with_buffer(said, text, warmth)
    if column == ROLE:
        return replace(said, role="blank" if text.casefold() == "blank" else "standard")
    return replace(said, label=text or None)


def _with_buffer(said: DraftTube, text: str, warmth: float) -> DraftTube:
    if not text:
        return replace(said, buffer=None)
    if said.temperature_c is not None:
        warmth = said.temperature_c
    name = find_buffer(text).name
    return replace(said, buffer=name, value=None, temperature_c=warmth, uncertainty=None)


def copied(tube: DraftTube, source: DraftTube, column: int) -> DraftTube:
    """Return a tube that says in one column what another one says there."""
    if column in (VALUE, BUFFER):
        value, buffer = source.value, source.buffer
        warmth = source.temperature_c if buffer is not None else tube.temperature_c
        return replace(tube, value=value, buffer=buffer, temperature_c=warmth)
    if column == DEGREES:
        return replace(tube, temperature_c=source.temperature_c)
    if column == PLUS_MINUS:
        return replace(tube, uncertainty=source.uncertainty)
    if column == ROLE:
        return replace(tube, role=source.role)
    return replace(tube, label=source.label) if column == LABEL else tube
