"""`tintwell find` and `tintwell measure`: what is in a photo, without any chart."""

import argparse
import json
import sys
from pathlib import Path

from app.errors import OrderError
from app.tasks.find_things import find_things, measure_regions
from app.terminal.say import say
from app.terminal.words import DONE, SOME_REFUSED, parse_reflectance
from calibration.sheets import read_regions
from colorcore.errors import PhotoError
from colorcore.geometry import Box


def find(order: argparse.Namespace) -> int:
    """Print one JSON object a photo: boxes of card, tubes and liquid."""
    code = DONE
    for name in order.photos:
        try:
            found = find_things(Path(name))
        except PhotoError as error:
            code = SOME_REFUSED
            reason = {
                "code": "unreadable",
                "text": error.what_happened,
                "what_to_do": error.what_to_do,
            }
            found = {"card": None, "tubes": [], "reasons": [reason]}
        say(json.dumps({"photo": name, **found}, ensure_ascii=False, allow_nan=False))
        sys.stdout.flush()
    return code


def parse_box(text: str) -> Box:
    """Parse a box typed as X,Y,W,H in pixels.

    Raises
    ------
    OrderError
        If it is not four numbers with a size above 0.
    """
    try:
        numbers = [float(part) for part in text.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != 4 or not all(abs(n) < 1e6 for n in numbers) or min(numbers[2:]) <= 0:
        raise OrderError(
            f"'{text}' is no box.", what_to_do="Give X,Y,W,H in pixels, such as 120,300,80,60."
        )
    return Box(*numbers)


def measure(order: argparse.Namespace) -> int:
    """Print one JSON object a region: CIELAB under D65 and under D50."""
    photo = Path(order.photo)
    regions = read_regions(Path(order.regions), photo=photo.name)
    measured = measure_regions(
        photo, parse_box(order.card), regions, parse_reflectance(order.card_reflectance)
    )
    for entry in measured:
        say(json.dumps({"photo": order.photo, **entry}, ensure_ascii=False, allow_nan=False))
    return DONE
