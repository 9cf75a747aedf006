"""A map as simple shapes, which a picture in either format then shows alike."""

import math
from collections.abc import Iterator

from app.exports.cell_text import printable
from app.exports.map_legend import draw_legend
from app.exports.map_shapes import (
    BOTTOM,
    DASHES,
    HEIGHT,
    INK,
    LEFT,
    PALE,
    RIGHT,
    SYMBOL,
    WHITE,
    WIDTH,
    Layer,
    Path,
    Shape,
    Sheet,
    Words,
    draw_plus,
    draw_star,
    draw_whisker,
    largest_of,
    site_sign,
    widest_interval,
)
from app.exports.screen_color import screen_color
from app.site_map.color_scale import scale_color
from app.site_map.map_view import MapPoint, MapView
from app.site_map.plane import Point


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
        *draw_legend(view, layer),
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
    low, high = view.color_ends if layer == "values" else (0.0, largest_of(numbers))
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
        yield from draw_star(sheet.to_px(place))
    if traced.next_sample is not None:
        yield from draw_plus(sheet.to_px(traced.next_sample.place))


def _point(point: MapPoint, view: MapView, sheet: Sheet) -> Iterator[Shape]:
    """Symbol, whisker, letter and value of a site; a square stands for the background."""
    x, y = sheet.to_px(point.reading.place)
    yield from draw_whisker((x - SYMBOL - 6, y), point.half_width, widest_interval(view))
    yield site_sign((x, y), screen_color(point.color), is_background=point.reading.is_background)
    yield Words(
        place=(x + SYMBOL + 4, y - 2),
        text=printable(point.reading.letter),
        size=17,
        is_bold=True,
        has_halo=True,
    )
    yield Words(place=(x + SYMBOL + 4, y + 15), text=point.text, size=14, has_halo=True)


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
