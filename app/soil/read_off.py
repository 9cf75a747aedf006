"""A number read off a printed column, between its rows where need be, and how to say that."""

import bisect
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np


class ReadOff(NamedTuple):
    """What a column says at a place.

    Parameters
    ----------
    value : float
        Linear between two rows; the end beyond an end.
    printed : str
        The rows it was taken from, as a second person finds them.
    """

    value: float
    printed: str


def read_off(places: Sequence[float], numbers: Sequence[float], at: float) -> ReadOff:
    """Read a column of numbers at a place between its rows.

    Parameters
    ----------
    places : sequence of float
        What the rows are for, rising.
    numbers : sequence of float
        What stands there.

    Examples
    --------
    >>> read_off([5.0, 5.5], [110, 75], 5.0).printed
    '110 at pH 5'
    >>> read_off([5.0, 5.5], [110, 75], 5.2).printed
    '96 at pH 5.2, between 110 at 5 and 75 at 5.5'
    """
    value = float(np.interp(at, places, numbers))
    i = bisect.bisect_left(places, at)
    if i == 0 or i == len(places) or places[i] == at:
        return ReadOff(value, f"{value:.4g} at pH {at:.4g}")
    between = " and ".join(f"{numbers[j]:g} at {places[j]:g}" for j in (i - 1, i))
    return ReadOff(value, f"{value:.4g} at pH {at:.4g}, between {between}")
