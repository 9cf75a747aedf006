"""The legend beside a map: colors, signs, flow, and what is not drawn and why."""

import math
import textwrap
from collections.abc import Iterator

from app.exports.cell_text import printable
from app.exports.map_shapes import (
    DASHES,
    INK,
    LEGEND,
    SYMBOL,
    TOP,
    WHITE,
    Disc,
    Layer,
    Path,
    Shape,
    Words,
    draw_plus,
    draw_star,
    draw_whisker,
    largest_of,
    site_sign,
    widest_interval,
)
from app.exports.screen_color import screen_color
from app.site_map.color_scale import ChartScale, scale_color
from app.site_map.map_view import MapView

BAR_PX = 190.0
CHART_PX = 116.0
LINE_PX = 15.0
"""From the value of one swatch to the next, at least."""
MOST_CHARTS = 2  # there is room for no more beside the ground's scale
NAME_LENGTH = 13


def draw_legend(view: MapView, layer: Layer) -> Iterator[Shape]:
    """Lay out what stands to the right of the map."""
    y = TOP
    yield from _scales(view, layer, y)
    y += 238
    x = LEGEND + 14
    yield Disc(center=(x, y), radius=SYMBOL, fill=WHITE)
    yield Words(place=(x + 24, y + 5), text="site")
    yield site_sign((x + 110, y), WHITE, is_background=True)
    yield Words(place=(x + 134, y + 5), text="background site")
    widest = widest_interval(view)
    if widest > 0:
        y += 62
        yield from draw_whisker((x, y), widest, widest)
        unit = "pH" if view.scale.is_ph else view.unit or ""
        yield Words(
            place=(x + 24, y + 5), text=f"90 % interval, here ± {widest:.2g} {unit}".rstrip()
        )
        y += 20
    y += 32
    yield from _flow_key(view, y)
    y += 38
    yield from _source_key(view, y)


def _scales(view: MapView, layer: Layer, top: float) -> Iterator[Shape]:
    """Say what the colors mean: those of the ground, and those of the sites where they differ."""
    if not view.wears_charts:
        yield from _color_bar(view, layer, LEGEND, top, BAR_PX)
        return
    x = LEGEND
    if view.surface is not None or any(p.chart_color is None for p in view.points):
        on_ground = "ground" if view.surface is not None else "sites without chart"
        yield Words(place=(x, top + 2), text=on_ground, size=14)
        yield from _color_bar(view, layer, x, top + 18, BAR_PX - 18)
        x += CHART_PX
    for chart in view.charts[:MOST_CHARTS]:
        yield Words(place=(x, top + 2), text="sites, by chart", size=14)
        name = printable(chart.name)
        name = name if len(name) <= NAME_LENGTH else f"{name[: NAME_LENGTH - 1]}…"
        yield Words(place=(x, top + 20), text=name, is_bold=True)
        yield from _swatches(chart, x, top + 32, BAR_PX - 18)
        x += CHART_PX
    more = len(view.charts) - MOST_CHARTS
    if more > 0:
        yield Words(place=(LEGEND, top + BAR_PX + 34), text=f"and {more} more charts", size=14)


def _swatches(chart: ChartScale, x: float, top: float, tall: float) -> Iterator[Shape]:
    """Draw a chart's swatches with their values, the highest on top; between them they blend."""
    high = tall / len(chart.steps)
    every = math.ceil(LINE_PX / high)
    for i, (value, color) in enumerate(reversed(chart.steps)):
        y = top + i * high
        corners = ((x, y), (x + 28, y), (x + 28, y + high + 0.5), (x, y + high + 0.5))
        yield Path(points=corners, fill=screen_color(color), is_closed=True)
        if i % every == 0:
            yield Words(place=(x + 35, y + high / 2 + 5), text=f"{value:.3g}", size=14)


def _color_bar(view: MapView, layer: Layer, x: float, top: float, tall: float) -> Iterator[Shape]:
    low, high = view.color_ends
    surface = view.surface
    is_error = layer == "errors" and surface is not None and surface.standard_errors is not None
    if is_error and surface is not None and surface.standard_errors is not None:
        low, high = 0.0, largest_of(surface.standard_errors)
    steps = 40
    name = "standard error" if is_error else ("pH" if view.scale.is_ph else view.unit or "")
    yield Words(place=(x, top + 2), text=name, is_bold=True)
    top += 14
    for i in range(steps):
        y = top + tall * (1 - (i + 1) / steps)
        yield Path(
            points=(
                (x, y),
                (x + 28, y),
                (x + 28, y + tall / steps + 0.5),
                (x, y + tall / steps + 0.5),
            ),
            fill=screen_color(scale_color((i + 0.5) / steps)),
            is_closed=True,
        )
    for i in range(5):
        y = top + tall * (1 - i / 4)
        value = low + (high - low) * i / 4
        yield Path(points=((x + 28, y), (x + 35, y)), line=INK)
        yield Words(place=(x + 41, y + 5), text=f"{value:.3g}")


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
        yield from draw_star((LEGEND + 14, y - 5))
        yield Words(place=(LEGEND + 34, y), text="most probable place")
        if not traced.regions.is_informative:
            y += 24
            yield Words(place=(LEGEND, y), text="Not informative: above half of the plan")
    if traced is not None and traced.two_sources is not None:
        yield from draw_star((LEGEND + 14, y - 5))
        yield Words(place=(LEGEND + 34, y), text="two possible sources")
    if traced is not None and traced.next_sample is not None:
        y += 28
        yield from draw_plus((LEGEND + 14, y - 5))
        yield Words(place=(LEGEND + 34, y), text="next sample would teach most")
    said = [view.why_no_surface or ("" if view.surface is None else view.surface.note)]
    if view.surface is not None and view.surface.is_sketch:
        said.append("Few points: a sketch.")
    if traced is not None:
        said += [traced.why_no_regions or "", "Consistent with the readings; proves no source."]
    y += 14
    for sentence in filter(None, said):
        for line in textwrap.wrap(sentence, 42):
            y += 19
            yield Words(place=(LEGEND, y), text=line, size=14)
        y += 5
