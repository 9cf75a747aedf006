"""Computes what lamps do to colored liquids that a grey card cannot take out.

    python -m tests.laboratory.fit_light_effects [--folder calibration/tables]

Cameras, lamps and dyes are drawn at random. For each camera and lamp the shift of the balanced log
channels against daylight is regressed on the terms of `calibration.error_model.light_terms` over
many dyes. What the look of the card before the balance tells of those coefficients, in straight
lines, is `light_looks.csv`; the second moment of what it does not tell is `light_effects.csv`.
Prints also the mean of cameras' channels in terms of linear BT.709, from which `CAMERA_CHANNELS`
was rounded.
"""

import argparse
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.color_features import FLOOR, log_channels
from calibration.error_model import TINTS, light_terms
from colorcore.color_spaces import XYZ_TO_RGB
from colorcore.white_balance import CAMERA_CHANNELS, balance, balance_gains
from tests.laboratory.chemistry import acid_base, deepening
from tests.laboratory.light import (
    Camera,
    FloatArray,
    Lamp,
    camera_rgb,
    daylight,
    fit_matrix,
    named_lamp,
    random_camera,
    random_lamp,
)
from tests.laboratory.spectral import random_reflectance

CLASSES = ("daylight", "tungsten", "fluorescent", "triphosphor", "LED")
SHARES = (0.30, 0.15, 0.12, 0.18, 0.25)
NAMES = ("u", "v", "uu", "uv", "vv")


def dye_spectra(rng: np.random.Generator, count: int) -> FloatArray:
    """Transmittance of many liquids before a light background, shape (n, 81)."""
    spectra = []
    for _ in range(count):
        test = acid_base(rng) if rng.random() < 0.65 else deepening(rng)
        for value in np.linspace(test.swatches[0], test.swatches[-1], 6):
            spectra.append(0.8 * np.exp(-test.solution(float(value)).absorbs))
    return np.array(spectra)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Phone:
    """A camera, its habits of balancing, and the color matrices that it goes between."""

    camera: Camera
    adaptation: float  # 1: the light's tint is taken out wholly
    day_matrix: FloatArray
    lamp_matrix: FloatArray | None


def random_phone(rng: np.random.Generator, samples: FloatArray) -> Phone:
    """Return a camera with habits like those of `tests.laboratory.device`."""
    camera = random_camera(rng)
    two = rng.random() < 0.4
    return Phone(
        camera=camera,
        adaptation=rng.uniform(0.5, 1.0),
        day_matrix=fit_matrix(camera, named_lamp("D65"), samples),
        lamp_matrix=fit_matrix(camera, named_lamp("A"), samples) if two else None,
    )


def seen(
    rng: np.random.Generator, phone: Phone, lamp: Lamp, spectra: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Log camera channels of liquids as the product would see them, (n, 3), and the card's look.

    The look is the log red-green and blue-green ratio of the card before the balance, shape (2,).
    """
    white = camera_rgb(phone.camera, lamp, np.ones(81))
    day = camera_rgb(phone.camera, named_lamp("D65"), np.ones(81))
    guess = day * (white / day) ** phone.adaptation * np.exp(rng.normal(0, (0.03, 0.0, 0.04)))
    matrix = phone.day_matrix
    if phone.lamp_matrix is not None:
        warm = camera_rgb(phone.camera, named_lamp("A"), np.ones(81))
        far = np.log(warm[0] / warm[2]) - np.log(day[0] / day[2])
        share = np.clip((np.log(guess[0] / guess[2]) - np.log(day[0] / day[2])) / far, 0, 1)
        matrix = matrix + share * (phone.lamp_matrix - matrix)
    to_display = (XYZ_TO_RGB @ matrix).T / guess[:, None]
    card = 0.18 * white @ to_display
    rgb = camera_rgb(phone.camera, lamp, spectra) @ to_display
    look = np.log(CAMERA_CHANNELS @ card)
    colors = log_channels(balance(rgb, balance_gains(card, 0.18)))
    return colors, np.array([look[0] - look[1], look[2] - look[1]])


def main() -> None:
    """Draw, regress, write."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--folder", type=Path, default=Path("calibration/tables"))
    words.add_argument("--pairs", type=int, default=4000)
    words.add_argument("--seed", type=int, default=1)
    order = words.parse_args()
    rng = np.random.default_rng(order.seed)
    samples = np.array([random_reflectance(rng, "clutter") for _ in range(60)])
    effects, looks, rest, strength, channels = [], [], [], [], []
    for _ in range(order.pairs):
        phone = random_phone(rng, samples)
        day = Lamp(name="day", light_class="daylight", power=daylight(rng.uniform(5000, 6500)))
        lamp = random_lamp(rng, str(rng.choice(CLASSES, p=SHARES)))
        channels.append(np.linalg.inv(XYZ_TO_RGB @ phone.day_matrix))
        spectra = dye_spectra(rng, 12)
        before, usual_look = seen(rng, phone, day, spectra)
        after, look = seen(rng, phone, lamp, spectra)
        usable = before.min(axis=1) > np.log(4 * FLOOR)
        terms = light_terms(before[usable])
        shift = (after - before)[usable]
        found = np.linalg.lstsq(terms, shift, rcond=None)[0]
        effects.append(found.ravel())
        looks.append(look - usual_look)
        left = shift - terms @ found
        rest.append((left**2).mean())
        strength.append(((before[usable] @ TINTS.T) ** 2).sum(axis=1).mean())
    told = np.linalg.lstsq(np.array(looks), np.array(effects), rcond=None)[0]
    untold = np.array(effects) - np.array(looks) @ told
    moment = untold.T @ untold / len(untold)
    print("mean camera channels by linear BT.709\n", np.mean(channels, axis=0).round(3))
    print(
        "left over, share of the log ratios:", np.sqrt(np.mean(rest) / np.mean(strength)).round(4)
    )
    values, _ = np.linalg.eigh(moment)
    print("shares of the first directions:", (values[::-1][:5] / values.sum()).round(3))
    print("told by the look:", (1 - np.diag(moment) / np.mean(np.square(effects), axis=0)).round(2))
    names = [f"{term}_{channel}" for term in NAMES for channel in "rgb"]
    write(
        order.folder / "light_effects.csv",
        "second moment of the shift of log camera channels per term, that the look does not tell",
        ("term", *names),
        zip(names, moment, strict=True),
    )
    write(
        order.folder / "light_looks.csv",
        "shift of log camera channels per term and unit of the card's log ratio",
        ("ratio", *names),
        zip(("red_green", "blue_green"), told, strict=True),
    )


def write(
    target: Path, unit: str, columns: tuple[str, ...], rows: Iterable[tuple[str, FloatArray]]
) -> None:
    """Write a table with its source."""
    lines = [
        "# source: computed by tests/laboratory/fit_light_effects.py from random and CIE lamps",
        "# region: any",
        "# year: 2026",
        f"# unit: {unit}",
        ",".join(columns),
        *(",".join((name, *(f"{v:.7f}" for v in row))) for name, row in rows),
    ]
    target.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
