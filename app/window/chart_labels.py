"""Where words stand beside the marks of a curve, so that they lie on no other mark."""

from collections.abc import Sequence
from math import hypot


def outer_anchors(places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return which point of its words each mark holds, for words on the outer side of a curve.

    Parameters
    ----------
    places : sequence of (float, float)
        The marks along the curve, to the right and up.

    Returns
    -------
    list of (float, float)
        In widths and heights of the words, from their upper left corner.

    Examples
    --------
    >>> outer_anchors([(0.0, 0.0), (0.0, 1.0), (0.0, 2.0)])[1]  # straight up: to the right of it
    (-0.6, 0.5)
    """
    ends = [places[0], *places, places[-1]]
    across = [
        (ahead[1] - behind[1], behind[0] - ahead[0])
        for behind, ahead in zip(ends, ends[2:], strict=False)
    ]
    x = sum(place[0] for place in places) / len(places)
    y = sum(place[1] for place in places) / len(places)
    outward = sum(
        right * (place[0] - x) + up * (place[1] - y)
        for place, (right, up) in zip(places, across, strict=True)
    )
    side = 1.0 if outward >= 0 else -1.0
    return [_beside(side * right, side * up) for right, up in across]


def _beside(right: float, up: float) -> tuple[float, float]:
    far = hypot(right, up) or 1.0
    return round(0.5 - 1.1 * right / far, 6), round(0.5 + up / far, 6)
