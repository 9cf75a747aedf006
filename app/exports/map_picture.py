"""A map as a picture: SVG, written as text, or PNG."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path as File
from xml.sax.saxutils import escape

from PIL import Image, ImageDraw, ImageFont

from app.exports.map_drawing import draw_map
from app.exports.map_shapes import (
    HEIGHT,
    INK,
    WHITE,
    WIDTH,
    Disc,
    Layer,
    Path,
    Shape,
    Words,
)
from app.exports.whole_file import whole_file
from app.site_map.map_view import MapView
from app.site_map.plane import Point

OVER = 2
"""A PNG is drawn so many times larger and then made smaller, for smooth edges."""


def write_map_picture(view: MapView, target: File, layer: Layer = "values") -> None:
    """Draw a map; the file's name says whether as SVG or as PNG.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    shapes = draw_map(view, layer)
    with whole_file(target) as part:
        if target.suffix.casefold() == ".svg":
            part.write_text(to_svg(shapes, title=view.title), encoding="utf-8", newline="\n")
        else:
            to_picture(shapes).save(part, format="PNG")


def to_svg(shapes: Sequence[Shape], *, title: str) -> str:
    """Write shapes as SVG."""
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="{WIDTH}" height="{HEIGHT}" font-family="sans-serif">',
        f"<title>{escape(title)}</title>",
        *(_svg(shape) for shape in shapes),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _svg(shape: Shape) -> str:
    if isinstance(shape, Disc):
        x, y = shape.center
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{shape.radius:g}" fill="#{shape.fill}" '
            f'stroke="#{shape.line}" stroke-width="1.5"/>'
        )
    if isinstance(shape, Words):
        bold = ' font-weight="bold"' if shape.is_bold else ""
        halo = (
            f' stroke="#{WHITE}" stroke-width="4" stroke-linejoin="round" paint-order="stroke"'
            if shape.has_halo
            else ""
        )
        return (
            f'<text x="{shape.place[0]:.1f}" y="{shape.place[1]:.1f}" font-size="{shape.size:g}" '
            f'text-anchor="{shape.anchor}" fill="#{shape.color}"{bold}{halo}>'
            f"{escape(shape.text)}</text>"
        )
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in shape.points)
    name = "polygon" if shape.is_closed else "polyline"
    line = "none" if shape.line is None else f"#{shape.line}"
    fill = "none" if shape.fill is None else f"#{shape.fill}"
    dash = "" if shape.dash is None else f' stroke-dasharray="{shape.dash[0]:g} {shape.dash[1]:g}"'
    return (
        f'<{name} points="{points}" fill="{fill}" stroke="{line}" '
        f'stroke-width="{shape.width:g}"{dash}/>'
    )


def to_picture(shapes: Sequence[Shape]) -> Image.Image:
    """Draw shapes as pixels."""
    picture = Image.new("RGB", (OVER * WIDTH, OVER * HEIGHT), (255, 255, 255))
    draw = ImageDraw.Draw(picture)
    for shape in shapes:
        _draw(draw, shape)
    return picture.resize((WIDTH, HEIGHT), Image.Resampling.BOX)


def _draw(draw: ImageDraw.ImageDraw, shape: Shape) -> None:
    if isinstance(shape, Disc):
        (x, y), r = shape.center, shape.radius
        box = (OVER * (x - r), OVER * (y - r), OVER * (x + r), OVER * (y + r))
        draw.ellipse(box, fill=f"#{shape.fill}", outline=f"#{shape.line}", width=3)
    elif isinstance(shape, Words):
        _write(draw, shape)
    else:
        _trace(draw, shape)


def _write(draw: ImageDraw.ImageDraw, words: Words) -> None:
    font = ImageFont.load_default(OVER * words.size)
    anchor = {"start": "ls", "middle": "ms", "end": "rs"}[words.anchor]
    place = (OVER * words.place[0], OVER * words.place[1])
    if words.has_halo:
        draw.text(place, words.text, f"#{WHITE}", font, anchor, stroke_width=OVER * 2)
    bold = 1 if words.is_bold else 0  # the font that comes with the library has no bold cut
    draw.text(
        place, words.text, f"#{words.color}", font, anchor, stroke_width=bold, stroke_fill=f"#{INK}"
    )


def _trace(draw: ImageDraw.ImageDraw, path: Path) -> None:
    points = [(OVER * x, OVER * y) for x, y in path.points]
    if path.fill is not None:
        draw.polygon(points, fill=f"#{path.fill}")
    if path.line is None:
        return
    if path.is_closed:
        points.append(points[0])
    width = max(1, round(OVER * path.width))
    if path.dash is None:
        draw.line(points, fill=f"#{path.line}", width=width, joint="curve")
        return
    for start, end in _dashes(points, OVER * path.dash[0], OVER * path.dash[1]):
        draw.line((start, end), fill=f"#{path.line}", width=width)


def _dashes(points: Sequence[Point], on: float, off: float) -> Iterator[tuple[Point, Point]]:
    """Cut a line into dashes that go on round its corners."""
    walked = 0.0
    for (ax, ay), (bx, by) in pairwise(points):
        length = math.dist((ax, ay), (bx, by))
        at = 0.0
        while at < length:
            phase = (walked + at) % (on + off)
            step = min(length - at, (on if phase < on else on + off) - phase)
            step = max(step, 1e-6)
            if phase < on:
                a, b = at / length, min((at + step) / length, 1.0)
                yield (
                    (ax + a * (bx - ax), ay + a * (by - ay)),
                    (ax + b * (bx - ax), ay + b * (by - ay)),
                )
            at += step
        walked += length
