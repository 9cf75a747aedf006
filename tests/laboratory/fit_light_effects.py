"""Computes what lamps do to colored liquids that a grey card cannot take out.

    python -m tests.laboratory.fit_light_effects [--out calibration/tables/light_effects.csv]

Cameras, lamps and dyes are drawn at random. For each camera and lamp the shift of the balanced log
channels against daylight is regressed on the terms of `calibration.error_model.light_terms` over
many dyes; the table is the second moment of those coefficients about none. Prints also the mean of
cameras' channels in terms of linear BT.709, from which `CAMERA_CHANNELS` was rounded.
"""

import argparse
from pathlib import Path

import numpy as np

from calibration.color_features import FLOOR, log_channels
from calibration.error_model import TINTS, light_terms
from colorcore.color_spaces import XYZ_TO_RGB
from colorcore.white_balance import balance, balance_gains
from tests.laboratory.chemistry import acid_base, deepening
from tests.laboratory.light import (
    Camera,
    FloatArray,
    Lamp,
    camera_rgb,
    daylight,
    fit_matrix,
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


def balanced(camera: Camera, matrix: FloatArray, lamp: Lamp, spectra: FloatArray) -> FloatArray:
    """Log camera channels of liquids as the product would see them, shape (n, 3)."""
    white = camera_rgb(camera, lamp, np.ones(81))
    rgb = camera_rgb(camera, lamp, spectra) / white @ matrix.T
    card = np.full(3, 0.18)
    return log_channels(balance(rgb, balance_gains(card, 0.18)))


def main() -> None:
    """Draw, regress, write."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--out", type=Path, default=Path("calibration/tables/light_effects.csv"))
    words.add_argument("--pairs", type=int, default=1500)
    words.add_argument("--seed", type=int, default=1)
    order = words.parse_args()
    rng = np.random.default_rng(order.seed)
    samples = np.array([random_reflectance(rng, "clutter") for _ in range(60)])
    coefficients, rest, strength, channels = [], [], [], []
    for _ in range(order.pairs):
        camera = random_camera(rng)
        day = Lamp(name="day", light_class="daylight", power=daylight(rng.uniform(5000, 6500)))
        lamp = random_lamp(rng, str(rng.choice(CLASSES, p=SHARES)))
        matrix = XYZ_TO_RGB @ fit_matrix(camera, day, samples)
        channels.append(np.linalg.inv(matrix))
        spectra = dye_spectra(rng, 12)
        before = balanced(camera, matrix, day, spectra)
        shift = balanced(camera, matrix, lamp, spectra) - before
        usable = before.min(axis=1) > np.log(4 * FLOOR)
        terms = light_terms(before[usable])
        found = np.linalg.lstsq(terms, shift[usable], rcond=None)[0]
        coefficients.append(found.ravel())
        left = shift[usable] - terms @ found
        rest.append((left**2).mean())
        strength.append(((before[usable] @ TINTS.T) ** 2).sum(axis=1).mean())
    moment = np.einsum("ni,nj->ij", coefficients, coefficients) / order.pairs
    print("mean camera channels by linear BT.709\n", np.mean(channels, axis=0).round(3))
    print(
        "left over, share of the log ratios:", np.sqrt(np.mean(rest) / np.mean(strength)).round(4)
    )
    values, _ = np.linalg.eigh(moment)
    print("shares of the first directions:", (values[::-1][:5] / values.sum()).round(3))
    names = [f"{term}_{channel}" for term in NAMES for channel in "rgb"]
    lines = [
        "# source: tests/laboratory/fit_light_effects.py, random and CIE lamps (computed)",
        "# region: any",
        "# year: 2026",
        "# unit: second moment of the shift of log camera channels per term",
        ",".join(("term", *names)),
        *(
            ",".join((name, *(f"{v:.7f}" for v in row)))
            for name, row in zip(names, moment, strict=True)
        ),
    ]
    order.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
