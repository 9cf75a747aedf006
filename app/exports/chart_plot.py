"""A picture of a chart: its swatches in order and its curve in the a*b* plane."""

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from app.errors import OrderError
from calibration.chart import Chart
from calibration.reading import chart_curve, swatch_values
from colorcore.color_spaces import lab_to_rgb

SIZE = (1200, 760)
PLANE = (90, 60, 760, 690)  # left, top, right, bottom of the a*b* plane
INK = (30, 30, 30)
FAINT = (200, 200, 200)


def _screen(lab: tuple[float, float, float]) -> tuple[int, int, int]:
    """Codes of a color on the screen, cut to its gamut: for orientation only."""
    linear = np.clip(lab_to_rgb(lab), 0, 1)
    codes = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    red, green, blue = (round(255 * float(c)) for c in codes)
    return red, green, blue


def plot_chart(chart: Chart, target: Path) -> None:
    """Draw a chart's swatches and its curve in the a*b* plane as a PNG.

    Raises
    ------
    OrderError
        If the file cannot be written.
    """
    picture = Image.new("RGB", SIZE, (255, 255, 255))
    draw = ImageDraw.Draw(picture)
    font = ImageFont.load_default(18)
    unit = chart.analyte.unit or ""
    draw.text((PLANE[0], 18), chart.name, INK, font)
    labs = np.array([swatch.lab for swatch in chart.swatches])
    path = _curve_lab(chart)
    every = np.concatenate([labs, path])
    low, high = every[:, 1:].min(axis=0), every[:, 1:].max(axis=0)
    reach = max(float((high - low).max()), 10.0) * 0.58
    middle = (low + high) / 2

    def place(a: float, b: float) -> tuple[float, float]:
        x = (PLANE[0] + PLANE[2]) / 2 + (a - middle[0]) / reach * (PLANE[2] - PLANE[0]) / 2
        y = (PLANE[1] + PLANE[3]) / 2 - (b - middle[1]) / reach * (PLANE[3] - PLANE[1]) / 2
        return float(x), float(y)

    draw.rectangle(PLANE, outline=FAINT)
    for value in range(-120, 121, 10):
        x, _ = place(value, 0)
        _, y = place(0, value)
        if PLANE[0] < x < PLANE[2]:
            draw.line((x, PLANE[1], x, PLANE[3]), fill=FAINT, width=2 if value == 0 else 1)
            draw.text((x, PLANE[3] + 6), str(value), INK, font, anchor="mt")
        if PLANE[1] < y < PLANE[3]:
            draw.line((PLANE[0], y, PLANE[2], y), fill=FAINT, width=2 if value == 0 else 1)
            draw.text((PLANE[0] - 8, y), str(value), INK, font, anchor="rm")
    draw.text(((PLANE[0] + PLANE[2]) / 2, PLANE[3] + 34), "a*", INK, font, anchor="mt")
    draw.text((28, (PLANE[1] + PLANE[3]) / 2), "b*", INK, font, anchor="mm")
    draw.line([place(a, b) for _, a, b in path], fill=INK, width=2)
    top = PLANE[1]
    each = min(70, (PLANE[3] - PLANE[1]) // len(labs))
    for swatch, lab in zip(chart.swatches, labs, strict=True):
        color = _screen((float(lab[0]), float(lab[1]), float(lab[2])))
        name = swatch.label if swatch.value is None else f"{swatch.value:g}"
        x, y = place(float(lab[1]), float(lab[2]))
        draw.ellipse((x - 9, y - 9, x + 9, y + 9), fill=color, outline=INK, width=2)
        draw.text((x + 12, y - 10), name or "", INK, font)
        draw.rectangle((820, top, 940, top + each - 8), fill=color, outline=INK)
        said = f"pH {name}" if chart.analyte.is_ph else f"{name} {unit}".strip()
        draw.text((955, top + each / 2 - 14), said, INK, font)
        top += each
    draw.text((820, PLANE[3] + 34), "Colors on screen are for orientation only.", INK, font)
    try:
        picture.save(target, format="PNG")
    except OSError as error:
        raise OrderError(
            f"{target} cannot be written ({error.strerror}).", what_to_do="Choose another file."
        ) from error


def _curve_lab(chart: Chart) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """CIELAB along a chart's curve, shape (n, 3)."""
    values = swatch_values(chart)
    curve = chart_curve(chart)
    return curve.lab_along(np.linspace(values[0], values[-1], 120))
