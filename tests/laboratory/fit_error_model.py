"""Shows what each size of the error model does to readings of drawn campaigns.

    python -m tests.laboratory.fit_error_model FOLDER

FOLDER holds campaigns written by `tests.laboratory.campaign`. Every photo is measured once; then
the good unknown tubes are read with `calibration.error_model.FITTED` and with each of its sizes
made smaller and larger, without and (second half of a line) with the known tubes of their photos. A
size is well chosen where neither neighbor has the better score: the mean natural log of the
probability of the true value per swatch step.
"""

import argparse
import csv
import json
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from app.tasks.calibrate_chart import ChartFacts, calibrate
from app.tasks.step import finish
from calibration.chart import Chart, StandardMeasurement
from calibration.color_features import features_of
from calibration.curve import Scale
from calibration.error_model import FITTED, ErrorModel
from calibration.reading import chart_curve, curve_with, swatch_values
from calibration.sheets import read_standards_sheet
from calibration.uncertainty import STEPS, grid_of, posterior_of, quantile, swatch_probabilities
from colorcore.measurement import Measurement
from colorcore.photo import read_photo
from colorcore.reasons import worst
from colorcore.scene import look, measure_tube
from tests.laboratory.truth import in_tube

FACTORS = (0.7, 1.4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """A good tube of unknown value, what it is, and the known tubes beside it."""

    chart: Chart
    measurement: Measurement
    truth: float
    known: tuple[StandardMeasurement, ...]


def measure_campaign(folder: Path) -> list[Unknown]:
    """Make the chart of a campaign and measure its good unknown tubes."""
    about = json.loads((folder / "campaign.json").read_text(encoding="utf-8"))
    level = float(about["card_reflectance"])
    reflectance = (level, level, level)
    facts = ChartFacts(
        id="0" * 32,
        created_at=datetime(2026, 1, 1, tzinfo=UTC),
        name=about["name"],
        card_reflectance=reflectance,
    )
    chart = finish(calibrate(read_standards_sheet(folder / "standards.csv"), facts)).chart
    with (folder / "truth.csv").open(encoding="utf-8", newline="") as file:
        rows = [r for r in csv.DictReader(file) if r["role"] != "standard" and r["value"]]
    found = []
    for name in sorted({row["photo"] for row in rows}):
        photo = read_photo(folder / name)
        scene = look(photo)
        here = []
        for row in (r for r in rows if r["photo"] == name and not r["fault"]):
            for seen in scene.tubes:
                if seen.tube.window is not None and in_tube(row, seen.tube.window.center):
                    item = measure_tube(photo, scene, seen, reflectance)
                    if item is not None and worst(item.reasons) in (None, "note"):
                        here.append((row, item))
        known = tuple(
            StandardMeasurement(
                value=float(row["value"]), uncertainty=None, label=None, role="standard",
                photo=Path(name).name, tube=int(row["tube"]), measurement=item,
            )
            for row, item in here
            if row["role"] == "in_frame"
        )  # fmt: skip
        found += [
            Unknown(chart=chart, measurement=item, truth=float(row["value"]), known=known)
            for row, item in here
            if row["role"] == "test"
        ]
    return found


def judge(unknowns: Sequence[Unknown], model: ErrorModel, *, helped: bool) -> str:
    """Return score, error, hits and coverage of tubes read by one model, as one line."""
    scores, errors, hits, covered = [], [], [], []
    for item in unknowns:
        values = swatch_values(item.chart)
        curve = chart_curve(item.chart, model)
        if helped:
            curve, _ = curve_with(curve, item.chart, item.known)
        posterior = posterior_of(curve, features_of(item.measurement), grid_of(values))
        place = Scale(values=values, by_index=True).position
        truth = float(place(item.truth))
        steps, p = place(np.clip(posterior.values, values[0], values[-1])), posterior.probability
        density = np.interp(truth, place(posterior.values), p * STEPS)
        scores.append(np.log(max(float(density), 1e-6)))
        errors.append(float(steps @ p) - truth)
        likely = int(np.argmax(swatch_probabilities(posterior, values)))
        hits.append(abs(likely - truth) <= 0.5)
        covered.append(quantile(steps, p, 0.05) - 1e-9 <= truth <= quantile(steps, p, 0.95) + 1e-9)
    return (
        f"score {np.mean(scores):6.3f}  RMSE {np.sqrt(np.mean(np.square(errors))):.3f}  "
        f"hit {100 * np.mean(hits):3.0f} %  coverage {100 * np.mean(covered):3.0f} %"
    )


def main() -> None:
    """Measure the campaigns of a folder and print the table."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("folder", type=Path)
    order = words.parse_args()
    folders = sorted(path.parent for path in order.folder.glob("*/truth.csv"))
    unknowns = [item for folder in folders for item in measure_campaign(folder)]
    beside = [item for item in unknowns if item.known]
    models = [("FITTED", FITTED)]
    for field in fields(ErrorModel):
        for factor in FACTORS:
            size = factor * getattr(FITTED, field.name)
            models.append((f"{field.name} {size:.4g}", replace(FITTED, **{field.name: size})))
    print(f"{len(unknowns)} tubes, {len(beside)} beside known ones")
    for name, model in models:
        alone = judge(unknowns, model, helped=False)
        print(f"{name:20s} {alone}" + (f" | {judge(beside, model, helped=True)}" if beside else ""))


if __name__ == "__main__":
    main()
