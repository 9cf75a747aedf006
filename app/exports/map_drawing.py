"""A map as simple shapes, which a picture in either format then shows alike."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from app.exports.cell_text import printable
from app.exports.screen_color import screen_color
from app.site_map.color_scale import scale_color
from app.site_map.grid import Grid
from app.site_map.map_view import MapPoint, MapView
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


def draw_map(view: MapView, layer: Layer = "values") -> tuple[Shape, ...]:
    """Lay out a map with its legend.

    Parameters
    ----------
    view : MapView
        What is shown.
    layer : {"values", "errors"}
        Whether the surface shows values or kriging's standard errors.
    """
    sheet = Sheet(frame=view.frame)
    frame = view.frame
    edge = sheet.box(frame.west, frame.south, frame.east, frame.north)
    return (
        Path(points=((0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (0, HEIGHT)), fill=WHITE, is_closed=True),
        Words(place=(LEFT, 38), text=printable(view.title), size=24, is_bold=True),
        Words(place=(LEFT, 66), text=_heading(view, layer), size=17),
        *_surface(view, sheet, layer),
        *_regions(view, sheet),
        *_marks(view, sheet),
        Path(points=edge, line=PALE, is_closed=True),
        *(shape for point in view.points for shape in _point(point, view, sheet)),
        *_scale_bar(sheet),
        *_legend(view, layer),
    )


def _heading(view: MapView, layer: Layer) -> str:
    if layer == "errors":
        return f"Standard error of kriging ({view.scale.drawn.split(', ')[0]})"
    return f"{view.heading}, with 90 % intervals"


def _surface(view: MapView, sheet: Sheet, layer: Layer) -> Iterator[Shape]:
    surface = view.surface
    if surface is None:
        return
    numbers = surface.values if layer == "values" else surface.standard_errors
    if numbers is None:
        return
    low, high = view.color_ends if layer == "values" else (0.0, _largest(numbers))
    wide, high_m = surface.grid.cell_m
    for number, (x, y) in zip(numbers, surface.grid.centers(), strict=True):
        if number is not None:
            yield Path(
                points=sheet.box(x - wide / 2, y - high_m / 2, x + wide / 2, y + high_m / 2),
                fill=_paler(screen_color(scale_color((number - low) / (high - low or 1.0)))),
                is_closed=True,
            )


def _paler(color: str) -> str:
    """Mix a color with white, so that the sites stand out from what lies between them."""
    codes = (int(color[i : i + 2], 16) for i in (0, 2, 4))
    return "".join(f"{round(0.55 * code + 0.45 * 255):02X}" for code in codes)


def _largest(numbers: Sequence[float | None]) -> float:
    return max((n for n in numbers if n is not None), default=1.0)


def _regions(view: MapView, sheet: Sheet) -> Iterator[Shape]:
    if view.traced is None or view.traced.regions is None:
        return
    for region, dash in reversed(list(zip(view.traced.regions.regions, DASHES, strict=True))):
        for ring in region.rings:
            points = tuple(sheet.to_px(corner) for corner in ring)
            width = 2.5 if dash is None else 2.0
            yield Path(points=points, line=INK, width=width, dash=dash, is_closed=True)


def _marks(view: MapView, sheet: Sheet) -> Iterator[Shape]:
    """Most probable place, two sources, next sample."""
    traced = view.traced
    if traced is None:
        return
    places: tuple[Point, ...] = traced.two_sources or ()
    if traced.regions is not None:
        places = (traced.regions.best,)
    for place in places:
        yield from _star(sheet.to_px(place))
    if traced.next_sample is not None:
        yield from _plus(sheet.to_px(traced.next_sample.place))


def _star(at: Point, size: float = 11.0) -> Iterator[Shape]:
    points = tuple(
        (
            at[0] + (size if i % 2 == 0 else size * 0.42) * math.sin(i * math.pi / 5),
            at[1] - (size if i % 2 == 0 else size * 0.42) * math.cos(i * math.pi / 5),
        )
        for i in range(10)
    )
    yield Path(points=points, fill=WHITE, line=INK, width=1.8, is_closed=True)


def _plus(at: Point, size: float = 10.0) -> Iterator[Shape]:
    for dx, dy in ((size, 0.0), (0.0, size)):
        ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
        yield Path(points=ends, line=WHITE, width=6)
    for dx, dy in ((size, 0.0), (0.0, size)):
        ends = ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy))
        yield Path(points=ends, line=INK, width=2.5)


def _point(point: MapPoint, view: MapView, sheet: Sheet) -> Iterator[Shape]:
    """Symbol, whisker, letter and value of a site; a square stands for the background."""
    x, y = sheet.to_px(point.reading.place)
    yield from _whisker((x - SYMBOL - 6, y), point.half_width, _widest(view))
    yield _symbol((x, y), screen_color(point.color), is_background=point.reading.is_background)
    yield Words(
        place=(x + SYMBOL + 4, y - 2),
        text=printable(point.reading.letter),
        size=17,
        is_bold=True,
        has_halo=True,
    )
    yield Words(place=(x + SYMBOL + 4, y + 15), text=point.text, size=14, has_halo=True)


def _symbol(at: Point, fill: str, *, is_background: bool) -> Shape:
    x, y = at
    if not is_background:
        return Disc(center=at, radius=SYMBOL, fill=fill)
    r = SYMBOL * 0.9
    corners = ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r))
    return Path(points=corners, fill=fill, line=INK, width=1.5, is_closed=True)


def _whisker(at: Point, half_width: float | None, widest: float) -> Iterator[Shape]:
    """Draw a bar as long as the interval is wide; an unknown one has no bar."""
    if half_width is None or widest <= 0:
        return
    x, y = at
    reach = WHISKER * half_width / widest
    for width, color in ((5.0, WHITE), (2.0, INK)):
        yield Path(points=((x, y - reach), (x, y + reach)), line=color, width=width)
    for end in (y - reach, y + reach):
        yield Path(points=((x - 4, end), (x + 4, end)), line=INK, width=2)


def _widest(view: MapView) -> float:
    return max((p.half_width for p in view.points if p.half_width is not None), default=0.0)


def _scale_bar(sheet: Sheet) -> Iterator[Shape]:
    length = nice_length((RIGHT - LEFT) / 5 / sheet.px_per_m)
    wide = length * sheet.px_per_m
    y = BOTTOM + 22
    yield Path(points=((LEFT, y), (LEFT + wide, y)), line=INK, width=3)
    for x in (LEFT, LEFT + wide):
        yield Path(points=((x, y - 6), (x, y + 6)), line=INK, width=2)
    yield Words(place=(LEFT + wide + 10, y + 5), text=f"{length:g} m")
    x = RIGHT - 14
    arrow = ((x, y - 14), (x + 8, y + 10), (x, y + 4), (x - 8, y + 10))
    yield Path(points=arrow, fill=INK, is_closed=True)
    yield Words(place=(x - 16, y + 8), text="N", size=17, anchor="end", is_bold=True)


def nice_length(about: float) -> float:
    """Return the largest of 1, 2 and 5 times a power of ten that is no more than this.

    Examples
    --------
    >>> nice_length(37), nice_length(0.9), nice_length(2100)
    (20.0, 0.5, 2000.0)
    """
    power = 10.0 ** math.floor(math.log10(about))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= about * (1 + 1e-9))


def _legend(view: MapView, layer: Layer) -> Iterator[Shape]:
    y = TOP
    yield from _color_bar(view, layer, y)
    y += 238
    x = LEGEND + 14
    yield Disc(center=(x, y), radius=SYMBOL, fill=WHITE)
    yield Words(place=(x + 24, y + 5), text="site")
    yield _symbol((x + 110, y), WHITE, is_background=True)
    yield Words(place=(x + 134, y + 5), text="background site")
    widest = _widest(view)
    if widest > 0:
        y += 62
        yield from _whisker((x, y), widest, widest)
        unit = "pH" if view.scale.is_ph else view.unit or ""
        yield Words(
            place=(x + 24, y + 5), text=f"90 % interval, here ± {widest:.2g} {unit}".rstrip()
        )
        y += 20
    y += 32
    yield from _flow_key(view, y)
    y += 38
    yield from _source_key(view, y)


def _color_bar(view: MapView, layer: Layer, top: float) -> Iterator[Shape]:
    low, high = view.color_ends
    surface = view.surface
    is_error = layer == "errors" and surface is not None and surface.standard_errors is not None
    if is_error and surface is not None and surface.standard_errors is not None:
        low, high = 0.0, _largest(surface.standard_errors)
    steps, tall = 40, 190.0
    name = "standard error" if is_error else ("pH" if view.scale.is_ph else view.unit or "")
    yield Words(place=(LEGEND, top + 2), text=name, is_bold=True)
    top += 14
    for i in range(steps):
        y = top + tall * (1 - (i + 1) / steps)
        yield Path(
            points=(
                (LEGEND, y),
                (LEGEND + 28, y),
                (LEGEND + 28, y + tall / steps + 0.5),
                (LEGEND, y + tall / steps + 0.5),
            ),
            fill=screen_color(scale_color((i + 0.5) / steps)),
            is_closed=True,
        )
    for i in range(5):
        y = top + tall * (1 - i / 4)
        value = low + (high - low) * i / 4
        yield Path(points=((LEGEND + 28, y), (LEGEND + 35, y)), line=INK)
        yield Words(place=(LEGEND + 41, y + 5), text=f"{value:.3g}")


def _flow_key(view: MapView, y: float) -> Iterator[Shape]:
    flow = view.flow
    if flow.azimuth_deg is None:
        yield Words(place=(LEGEND, y + 5), text="Direction of flow: unknown")
        return
    turn = math.radians(flow.azimuth_deg)
    x = LEGEND + 18
    dx, dy = math.sin(turn), -math.cos(turn)
    tip, tail = (x + 18 * dx, y + 18 * dy), (x - 18 * dx, y - 18 * dy)
    yield Path(points=(tail, tip), line=INK, width=3)
    for side in (2.6, -2.6):
        end = (tip[0] + 11 * math.sin(turn + side), tip[1] - 11 * math.cos(turn + side))
        yield Path(points=(end, tip), line=INK, width=3)
    text = f"flow {flow.azimuth_deg:.0f}° ± {flow.sd_deg:.0f}° ({flow.how})"
    yield Words(place=(LEGEND + 48, y + 5), text=text)


def _source_key(view: MapView, y: float) -> Iterator[Shape]:
    """Name the outlines and marks, and say what is not drawn and why."""
    traced = view.traced
    if traced is not None and traced.regions is not None:
        yield Words(place=(LEGEND, y), text="The source lies inside with", is_bold=True)
        for region, dash in zip(traced.regions.regions, DASHES, strict=True):
            y += 24
            ends = ((LEGEND, y - 5), (LEGEND + 44, y - 5))
            yield Path(points=ends, line=INK, width=2.5, dash=dash)
            text = f"{100 * region.level:.0f} % ({100 * region.share:.0f} % of the plan)"
            yield Words(place=(LEGEND + 54, y), text=text)
        y += 28
        yield from _star((LEGEND + 14, y - 5))
        yield Words(place=(LEGEND + 34, y), text="most probable place")
        if not traced.regions.is_informative:
            y += 24
            yield Words(place=(LEGEND, y), text="Not informative: above half of the plan")
    if traced is not None and traced.two_sources is not None:
        yield from _star((LEGEND + 14, y - 5))
        yield Words(place=(LEGEND + 34, y), text="two possible sources")
    if traced is not None and traced.next_sample is not None:
        y += 28
        yield from _plus((LEGEND + 14, y - 5))
        yield Words(place=(LEGEND + 34, y), text="next sample would teach most")
    said = [view.why_no_surface or ("" if view.surface is None else view.surface.note)]
    if view.surface is not None and view.surface.is_sketch:
        said.append("Few points: a sketch.")
    if traced is not None:
        said += [traced.why_no_regions or "", "Consistent with the readings; proves no source."]
    y += 14
    for sentence in filter(None, said):
        for line in _wrapped(sentence, 42):
            y += 19
            yield Words(place=(LEGEND, y), text=line, size=14)
        y += 5


def _wrapped(text: str, width: int) -> list[str]:
    import textwrap

    return textwrap.wrap(text, width)
