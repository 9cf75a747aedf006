"""What readers without noise would make of drawn campaigns: a bound for the readings.

`oracle` sees each tube in linear light, under one camera matrix for all lamps; `known` under the
matrix of the lamp that fell on the photo. Both know the outlines, and take the nearest place
(CIEDE2000) of a monotone curve through the mean colors of the standards. What they miss is left by
lamp, dose and curve.
"""

import csv
import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from calibration.curve import Scale
from colorcore.color_difference import delta_e_2000_of

FloatArray = NDArray[np.float64]
PLACES = 2001  # at which the curve is compared


def color(row: dict[str, str], reader: str) -> list[float]:
    """Return the CIELAB color that a reader saw."""
    return [float(row[f"{reader}_{axis}"]) for axis in "Lab"]


def misses(folder: Path, reader: str) -> list[tuple[float, float]]:
    """Return true place and error, in swatch steps, of each good tube of one campaign."""
    swatches = json.loads((folder / "campaign.json").read_text(encoding="utf-8"))["swatches"]
    scale = Scale(values=tuple(swatches), by_index=True)
    with (folder / "truth.csv").open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row[f"{reader}_L"] and row["value"]]
    seen: dict[float, list[list[float]]] = {}
    for row in rows:
        if row["role"] == "standard":
            place = float(scale.position(float(row["value"])))
            seen.setdefault(place, []).append(color(row, reader))
    knots = sorted(seen)
    curve = PchipInterpolator(knots, [np.mean(seen[k], axis=0) for k in knots])
    grid = np.linspace(knots[0], knots[-1], PLACES)
    colors = np.asarray(curve(grid))
    found = []
    for row in rows:
        if row["role"] == "test" and not row["fault"]:
            place = float(scale.position(float(row["value"])))
            gaps = delta_e_2000_of(colors, np.broadcast_to(color(row, reader), colors.shape))
            found.append((place, float(grid[np.argmin(gaps)]) - place))
    return found
