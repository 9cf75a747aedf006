"""What the words of an order mean, and the exit codes of its answer."""

import argparse

from app.errors import OrderError
from colorcore.measurement import Triple

DONE, SOME_REFUSED, STOPPED = 0, 1, 2
DEFAULT_REFLECTANCE: Triple = (0.18, 0.18, 0.18)


def parse_reflectance(text: str) -> Triple:
    """Card reflectance: one fraction, or three as R,G,B.

    Raises
    ------
    OrderError
        If a number is missing, not finite or not between 0 and 1.
    """
    try:
        parts = [float(part) for part in text.split(",")]
    except ValueError:
        parts = []
    if len(parts) not in (1, 3):
        raise OrderError(
            f"'{text}' is no card reflectance.",
            what_to_do="Give a fraction such as 0.18, or three as R,G,B: 0.18,0.18,0.17.",
        )
    if not all(0 < part < 1 for part in parts):
        hint = f" {text} % is {parts[0] / 100:g}." if 1 < parts[0] <= 100 else ""
        raise OrderError(
            f"A card reflectance lies between 0 and 1, not {text}.{hint}",
            what_to_do="Give it as a fraction: 18 % is 0.18.",
        )
    red, green, blue = parts * 3 if len(parts) == 1 else parts
    return red, green, blue


def add_person(parser: argparse.ArgumentParser) -> None:
    """Let a command be told who does it."""
    parser.add_argument(
        "--person", metavar="CODE", default="me", help="who does it, as a code (default: me)"
    )


def add_replace(parser: argparse.ArgumentParser) -> None:
    """Let a command write over its own file."""
    parser.add_argument(
        "--replace", action="store_true", help="write over a file that is there already"
    )
