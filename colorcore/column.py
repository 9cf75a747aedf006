"""Follows the color of a column of liquid from top to bottom and keeps its steady part."""

import numpy as np
from numpy.typing import NDArray

from colorcore.small_arrays import median

FloatArray = NDArray[np.float64]

EDGE = 9.0  # CIELAB units between neighboring pairs of stations from which there is an edge
ALIKE = 7.0  # CIELAB units within which two stretches are one liquid
SHORTEST = 0.2  # of the column: a stretch to be believed


def stretches(lab: FloatArray) -> list[tuple[int, int]]:
    """Cut a column at its edges, from CIELAB along it, shape (n, 3).

    The mean of two stations is compared with the mean of the next two; stations at an edge belong
    to no stretch.

    Examples
    --------
    >>> import numpy as np
    >>> stretches(np.repeat([[50.0, 0, 0], [70.0, 0, 0]], 10, axis=0))
    [(0, 9), (13, 20)]
    """
    n = len(lab)
    pairs = (lab[:-1] + lab[1:]) / 2
    jump = np.zeros(n)
    jump[2 : n - 1] = np.linalg.norm(pairs[2:] - pairs[:-2], axis=1)
    steady = jump <= EDGE
    steady[1:] &= jump[:-1] <= EDGE
    changes = np.flatnonzero(np.diff(np.concatenate([[False], steady, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(changes[::2], changes[1::2], strict=True)]


def steady_stretch(lab: FloatArray) -> tuple[int, int]:
    """First and past-the-last station of the liquid in a column.

    The topmost stretch of one color that is long enough: what shows a step further down is a rack
    before the glass, sediment or the table. Thin marks across the glass do not end it.
    """
    n = len(lab)
    cut = [(a, b) for a, b in stretches(lab) if b - a >= 2]
    joined: list[tuple[int, int]] = []
    for first, past in cut:
        if joined:
            before = median(lab[joined[-1][0] : joined[-1][1]], axis=0)
            here = median(lab[first:past], axis=0)
            if float(np.linalg.norm(here - before)) < ALIKE:
                joined[-1] = (joined[-1][0], past)
                continue
        joined.append((first, past))
    long = [part for part in joined if part[1] - part[0] >= max(3, SHORTEST * n)]
    return long[0] if long else (0, n)
