"""Pictures that show what was found in a photo and what it read."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from app.tasks.step import Step, Task
from app.tube_reading import TubeReading
from app.wording import say_value
from colorcore._cv import cv2
from colorcore.errors import PhotoError
from colorcore.geometry import Box
from colorcore.photo import read_photo

LONG_SIDE = 1600
LINE = (255, 255, 255)
EDGE = (20, 20, 20)


def draw_overlays(
    photos: Sequence[tuple[Path, tuple[TubeReading, ...]]], folder: Path
) -> Task[tuple[Path, ...]]:
    """Write a picture of each photo that can be shown into a folder; returns the files."""
    written = []
    for done, (path, lines) in enumerate(photos):
        yield Step(done=done, total=len(photos), note=path.name)
        file = write_overlay(path, lines, folder)
        if file is not None:
            written.append(file)
    return tuple(written)


def write_overlay(photo_path: Path, lines: Sequence[TubeReading], folder: Path) -> Path | None:
    """Draw card, regions and readings over a photo; save it as PNG in a folder.

    Readings differ by their words, not by color. Returns the file, None where the photo cannot
    be shown.
    """
    try:
        photo = read_photo(photo_path)
    except PhotoError:
        return None
    factor = min(1.0, LONG_SIDE / max(photo.width, photo.height))
    size = (max(1, round(photo.width * factor)), max(1, round(photo.height * factor)))
    pixels = photo.pixels if photo.pixels.dtype == np.uint8 else (photo.pixels >> 8).astype("u1")
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    picture = Image.fromarray(np.ascontiguousarray(np.asarray(small)[..., ::-1]))
    draw = ImageDraw.Draw(picture)
    font = ImageFont.load_default(max(14, round(size[0] / 70)))
    card = next((line.card for line in lines if line.card is not None), None)
    if card is not None:
        _frame(draw, card, factor)
        _label(draw, "card", (card.x * factor, (card.y + card.h) * factor + 4), font)
    for line in lines:
        said = "no value" if line.chart is None else say_value(line.reading, line.chart)
        text = f"{line.tube or ''} {line.reading.status}\n{said}"
        if line.box is None:
            codes = ", ".join(reason.code for reason in line.reading.reasons)
            _label(draw, f"{text}\n{codes}", (8, 8 + 60 * (line.tube or 0)), font)
            continue
        _frame(draw, line.box, factor)
        _label(draw, text, (line.box.x * factor, (line.box.y + line.box.h) * factor + 4), font)
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"{photo_path.stem}-{photo.sha256[:8]}.png"
    picture.save(target)
    return target


def _frame(draw: ImageDraw.ImageDraw, box: Box, factor: float) -> None:
    x, y, w, h = (v * factor for v in box)
    draw.rectangle((x - 1, y - 1, x + w + 1, y + h + 1), outline=EDGE, width=4)
    draw.rectangle((x, y, x + w, y + h), outline=LINE, width=2)


def _label(
    draw: ImageDraw.ImageDraw,
    text: str,
    at: tuple[float, float],
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> None:
    draw.multiline_text(at, text, fill=LINE, font=font, stroke_width=2, stroke_fill=EDGE)
