"""Places in a photo, in pixels of the upright, full-size picture."""

from typing import NamedTuple

Point = tuple[float, float]
Quad = tuple[Point, Point, Point, Point]


class Box(NamedTuple):
    """An upright rectangle: left, top, width and height in pixels."""

    x: float
    y: float
    w: float
    h: float

    @property
    def center(self) -> Point:
        """The middle of the box.

        Examples
        --------
        >>> Box(10, 20, 4, 6).center
        (12.0, 23.0)
        """
        return self.x + self.w / 2, self.y + self.h / 2


def box_of(points: Quad) -> Box:
    """Return the smallest upright box round a quadrilateral.

    Examples
    --------
    >>> box_of(((1.0, 2.0), (5.0, 1.0), (6.0, 4.0), (2.0, 6.0)))
    Box(x=1.0, y=1.0, w=5.0, h=5.0)
    """
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
