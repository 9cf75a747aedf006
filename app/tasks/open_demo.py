"""The demo survey: charts made from the sample photos, and the photos to be read."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import sample_images
from app.tasks.calibrate_chart import ChartFacts, calibrate
from app.tasks.step import Step, Task
from app.tube_reading import TubeEntry
from calibration.chart import Chart
from calibration.sheets import read_standards_sheet, read_tubes_sheet

DEMO_CHARTS = (
    ("ph", "Demo pH", None, None),
    ("phosphorus", "Demo phosphorus", "P", "extract"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """What the demo lays on the desk.

    Parameters
    ----------
    charts : tuple of Chart
        Made from the sample photos of known tubes.
    photos : tuple of Path
        Photos of the invented survey.
    entries : mapping of Path to tuple of (int, TubeEntry)
        Which tube is which sample and test.
    """

    charts: tuple[Chart, ...]
    photos: tuple[Path, ...]
    entries: dict[Path, tuple[tuple[int, TubeEntry], ...]]


def open_demo() -> Task[Demo]:
    """Calibrate the demo's charts and list its photos."""
    folder = Path(sample_images.__file__).resolve().parent
    charts = []
    for done, (name, title, form, basis) in enumerate(DEMO_CHARTS):
        facts = ChartFacts(
            id=uuid4().hex, created_at=datetime.now(UTC), name=title,
            card_reflectance=(0.18, 0.18, 0.18), quantity=name, form=form, basis=basis,
        )  # fmt: skip
        work = calibrate(read_standards_sheet(folder / name / "standards.csv"), facts)
        while True:
            try:
                step = next(work)
            except StopIteration as end:
                charts.append(end.value.chart)
                break
            part = step.done / max(step.total, 1)
            yield Step(
                done=round(100 * (done + part)),
                total=100 * len(DEMO_CHARTS),
                note=f"{title}, {step.note}",
            )
    entries: dict[Path, tuple[tuple[int, TubeEntry], ...]] = {}
    by_name = {name: title for name, title, _, _ in DEMO_CHARTS}
    for row in read_tubes_sheet(folder / "tubes.csv"):
        path = row.path.resolve()
        entry = TubeEntry(
            sample=row.sample,
            replicate=row.replicate,
            chart=None if row.chart is None else by_name.get(row.chart, row.chart),
            role=row.role,
        )
        entries[path] = (*entries.get(path, ()), (row.tube, entry))
    photos = tuple(sorted((folder / "survey").iterdir()))
    return Demo(charts=tuple(charts), photos=photos, entries=entries)
