"""The shapes and signs that maps are made of, and how metres lie on the picture."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from app.site_map.grid import Grid
from app.site_map.map_view import MapView
from app.site_map.plane import Point

WIDTH, HEIGHT = 1240, 900
LEFT, TOP, RIGHT, BOTTOM = 40.0, 96.0, 860.0, 846.0
LEGEND = 890.0
INK, PALE, WHITE = "1A1A1A", "8A8A8A", "FFFFFF"
SYMBOL = 11.0
WHISKER = 34.0
"""Length of half of the longest whisker, pixels."""
DASHES: tuple[tuple[float, float] | None, ...] = (None, (12, 5), (3, 5))
"""Of the outlines at 50, 80 and 95 %."""

Layer = Literal["values", "errors"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A line through points, or a shape with a filling; pixels from the upper left corner."""

    points: tuple[Point, ...]
    fill: str | None = None
    line: str | None = None
    width: float = 1.0
    dash: tuple[float, float] | None = None
    is_closed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A filled circle with a line around it."""

    center: Point
    radius: float
    fill: str
    line: str = INK


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A line of text; y is its baseline."""

    place: Point
    text: str
    size: float = 15.0
    anchor: Anchor = "start"
    color: str = INK
    is_bold: bool = False
    has_halo: bool = False


Shape = Path | Disc | Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """How metres lie on the picture: north up, both directions to one scale."""

    frame: Grid

    @property
    def px_per_m(self) -> float:
        """Pixels to a metre."""
        wide, high = self.frame.east - self.frame.west, self.frame.north - self.frame.south
        return min((RIGHT - LEFT) / wide, (BOTTOM - TOP) / high)

    def to_px(self, place: Point) -> Point:
        """Place metres on the picture."""
        middle_x = (self.frame.west + self.frame.east) / 2
        middle_y = (self.frame.south + self.frame.north) / 2
        return (
            (LEFT + RIGHT) / 2 + (place[0] - middle_x) * self.px_per_m,
            (TOP + BOTTOM) / 2 - (place[1] - middle_y) * self.px_per_m,
        )

    def box(self, west: float, south: float, east: float, north: float) -> tuple[Point, ...]:
        """Corners of a rectangle on the picture."""
        corners = ((west, south), (east, south), (east, north), (west, north))
        return tuple(self.to_px(corner) for corner in corners)


def draw_star(at: Point, size: float = 11.0) -> Iterator[Shape]:
    """Mark the most probable place of a source, or one of two."""
    points = tuple(
        (
            at[0] + (size if i % 2 == 0 else size * 0.42) * math.sin(i * math.pi / 5),
            at[1] - (size if i % 2 == 0 else size * 0.42) * math.cos(i * math.pi / 5),
        )
        for i in range(10)
    )
    yield Path(points=points, fill=WHITE, line=INK, width=1.8, is_closed=True)


def draw_plus(at: Point, size: float = 10.0) -> Iterator[Shape]:
    """Mark where the next sample would teach most."""
    for dx, dy in ((size, 0.0), (0.0, size)):
        ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
        yield Path(points=ends, line=WHITE, width=6)
    for dx, dy in ((size, 0.0), (0.0, size)):
        ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
        yield Path(points=ends, line=INK, width=2.5)


def site_sign(at: Point, fill: str, *, is_background: bool) -> Shape:
    """Return the sign of a site: a disc, or a square for the background."""
    x, y = at
    if not is_background:
        return Disc(center=at, radius=SYMBOL, fill=fill)
    r = SYMBOL * 0.9
    corners = ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r))
    return Path(points=corners, fill=fill, line=INK, width=1.5, is_closed=True)


def draw_whisker(at: Point, half_width: float | None, widest: float) -> Iterator[Shape]:
    """Draw a bar as long as the interval is wide; an unknown one has no bar."""
    if half_width is None or widest <= 0:
        return
    x, y = at
    reach = WHISKER * half_width / widest
    for width, color in ((5.0, WHITE), (2.0, INK)):
        yield Path(points=((x, y - reach), (x, y + reach)), line=color, width=width)
    for end in (y - reach, y + reach):
        yield Path(points=((x - 4, end), (x + 4, end)), line=INK, width=2)


def widest_interval(view: MapView) -> float:
    """Half of the widest interval on the map, 0 where none is known."""
    return max((p.half_width for p in view.points if p.half_width is not None), default=0.0)


def largest_of(numbers: Sequence[float | None]) -> float:
    """Return the largest number that is known, 1 where none is."""
    return max((n for n in numbers if n is not None), default=1.0)
