"""Printing for people: results on stdout, everything else on stderr."""

import sys
from collections.abc import Callable, Sequence

from app.exports.cell_text import printable
from app.tasks.step import Step

BAR_WIDTH = 30
NAMED = 5


def say(text: str) -> None:
    """Print a result; what would steer the terminal is left out of it."""
    sys.stdout.write(f"{printable(text)}\n")


def remark(text: str) -> None:
    """Print something that is no result."""
    sys.stderr.write(f"{printable(text)}\n")


def name_some(things: Sequence[str]) -> str:
    """Name the first few things of many.

    Examples
    --------
    >>> name_some(["A1", "A2"]), name_some(list("abcdefg"))
    ('A1, A2', 'a, b, c, d, e and 2 more')
    """
    more = len(things) - NAMED
    return ", ".join(things[:NAMED]) + (f" and {more} more" if more > 0 else "")


def progress() -> Callable[[Step], None]:
    """Return what draws a progress bar on a terminal, and nothing in a pipe."""
    if not sys.stderr.isatty():
        return lambda step: None

    def draw(step: Step) -> None:
        filled = round(BAR_WIDTH * step.done / max(step.total, 1))
        bar = "#" * filled + "." * (BAR_WIDTH - filled)
        end = "\n" if step.done >= step.total else ""
        sys.stderr.write(f"\r[{bar}] {step.done}/{step.total} {printable(step.note)[:40]:40}{end}")
        sys.stderr.flush()

    return draw
