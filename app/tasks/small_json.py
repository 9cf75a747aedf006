"""Reads the small JSON files that lie in folders which travel: a stranger may have written them."""

import json
import math
from pathlib import Path
from typing import Any

MAX_BYTES = 5_000_000


def read_small_json(path: Path) -> Any:
    """Return what a small JSON file holds, read with limits.

    Raises
    ------
    OSError
        If it cannot be read.
    ValueError
        If it is too large, nested too deeply, holds an infinite number or is no JSON.
    """
    if path.exists() and not path.is_file():
        raise ValueError("no file")  # a pipe may never end
    with path.open("rb") as file:
        data = file.read(MAX_BYTES + 1)
    if len(data) > MAX_BYTES:
        raise ValueError(f"larger than {MAX_BYTES // 1_000_000} MB")
    try:
        return json.loads(data.decode("utf-8"), parse_float=_finite, parse_constant=_finite)
    except RecursionError as error:
        raise ValueError("nested too deeply") from error


def _finite(word: str) -> float:
    number = float(word)
    if not math.isfinite(number):
        raise ValueError(f"{word[:20]} is no number that can be used")
    return number


def is_there(path: Path) -> bool:
    """Whether a path that a file named leads to a file; one that no system takes does not."""
    try:
        return path.is_file()
    except (OSError, ValueError):  # too long, or with a character that no name may hold
        return False
