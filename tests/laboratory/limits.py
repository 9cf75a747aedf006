"""What readers without noise would make of drawn campaigns: a bound for the readings.

`oracle` sees each tube in linear light, under one camera matrix for all lamps; `known` under the
matrix of the lamp that fell on the photo. Both know the outlines, and take the nearest place
(CIEDE2000) of a monotone curve through the mean colors of the standards. What they miss is left by
lamp, dose and curve.
"""

import csv
import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from calibration.curve import Scale
from colorcore.color_difference import delta_e_2000_of

FloatArray = NDArray[np.float64]
PLACES = 2001  # at which the curve is compared
USUAL_SHARE = 95  # per cent of a campaign's good tubes that are as near to the chart's curve


def color(row: dict[str, str], reader: str) -> list[float]:
    """Return the CIELAB color that a reader saw."""
    return [float(row[f"{reader}_{axis}"]) for axis in "Lab"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A tube as a reader without noise sees it.

    Parameters
    ----------
    photo : str
        Its photo.
    tube : int or None
        Its number there, from the left.
    fault : str
        What is wrong with it; empty for a good one.
    place : float or None
        Where it belongs on the chart, in swatch steps; None for what has no place there.
    found : float
        Where the reader puts it.
    gap : float
        CIEDE2000 between its color and that of the curve there.
    """

    photo: str
    tube: int | None
    fault: str
    place: float | None
    found: float
    gap: float


def seen_tubes(folder: Path, reader: str) -> list[Seen]:
    """Return what a reader makes of each unknown tube that holds a liquid, in one campaign."""
    swatches = json.loads((folder / "campaign.json").read_text(encoding="utf-8"))["swatches"]
    scale = Scale(values=tuple(swatches), by_index=True)
    with (folder / "truth.csv").open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row[f"{reader}_L"]]
    standards: dict[float, list[list[float]]] = {}
    for row in rows:
        if row["role"] == "standard":
            place = float(scale.position(float(row["value"])))
            standards.setdefault(place, []).append(color(row, reader))
    knots = sorted(standards)
    curve = PchipInterpolator(knots, [np.mean(standards[k], axis=0) for k in knots])
    grid = np.linspace(knots[0], knots[-1], PLACES)
    colors = np.asarray(curve(grid))
    seen = []
    for row in rows:
        if row["role"] == "test":
            gaps = delta_e_2000_of(colors, np.broadcast_to(color(row, reader), colors.shape))
            nearest = int(np.argmin(gaps))
            seen.append(
                Seen(
                    photo=row["photo"],
                    tube=int(row["tube"]) if row["tube"] else None,
                    fault=row["fault"],
                    place=float(scale.position(float(row["value"]))) if row["value"] else None,
                    found=float(grid[nearest]),
                    gap=float(gaps[nearest]),
                )
            )
    return seen


def foreign_dyes(folders: Sequence[Path]) -> list[str]:
    """Return how many foreign dyes lie no farther from the chart than its own do, and which.

    By color alone, seen without noise under a known lamp, these cannot be told from the chart's.
    """
    near, count = [], 0
    for folder in folders:
        tubes = seen_tubes(folder, "known")
        gaps = [t.gap for t in tubes if not t.fault]
        foreign = [t for t in tubes if t.fault == "off_chart"]
        count += len(foreign)
        usual = np.percentile(gaps, USUAL_SHARE) if gaps else 0.0
        near += [f"{folder.name} {Path(t.photo).stem}" for t in foreign if t.gap <= usual]
    named = ", ".join(near)
    return [f"foreign dyes on the chart's curve: {len(near)} of {count}  {named}".rstrip()]


def like_good_tubes(
    folders: Sequence[Path], passed: Collection[tuple[str, str, int | None]]
) -> list[str]:
    """Return how many of the faults that passed did nothing that a color could show.

    Seen without noise under a known lamp these lie as near to the chart's curve, and to their own
    value, as nineteen in twenty good tubes of their campaign, and within a step of it. `passed`
    names campaign, photo and tube.
    """
    like = []
    for folder in folders:
        tubes = [t for t in seen_tubes(folder, "known") if t.place is not None]
        usual = [_misses(t) for t in tubes if not t.fault]
        here = [t for t in tubes if t.fault and (folder.name, t.photo, t.tube) in passed]
        if here and usual:
            most = np.minimum(np.percentile(usual, USUAL_SHARE, axis=0), (np.inf, 1))
            alike = [t for t in here if (_misses(t) <= most).all()]
            like += [f"{folder.name} {Path(t.photo).stem}" for t in alike]
    named = ", ".join(like)
    return [f"like good tubes, seen without noise: {len(like)} of {len(passed)}  {named}".rstrip()]


def _misses(tube: Seen) -> FloatArray:
    """Distance to the curve, and to the tube's own place along it, shape (2,)."""
    assert tube.place is not None
    return np.array([tube.gap, abs(tube.found - tube.place)])
