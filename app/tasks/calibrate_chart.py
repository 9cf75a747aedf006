"""Make a chart from photos of tubes of known value, or from a photo of a printed chart."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.tasks.step import Step, Task
from app.version import VERSION
from calibration.chart import SAME_PH, Chart, ChartKind, StandardMeasurement, make_swatches
from calibration.indicator import Analyte
from calibration.reading import strange_standard
from calibration.sheets import Patch, StandardRow, sheet_analyte
from colorcore.geometry import box_of
from colorcore.liquid import average_quad, measure_liquid
from colorcore.measurement import Measurement, Triple
from colorcore.photo import Photo, read_photo
from colorcore.reasons import worst
from colorcore.scene import Scene, SeenTube, look, measure_tube

MOST_STRANGE = 6  # at most one standard in so many is left out for its color


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartFacts:
    """What the user says of a chart; what is not said stays unknown.

    Parameters
    ----------
    id : str
        32 hexadecimal digits, made by the caller.
    created_at : datetime
        With its offset from UTC.
    name : str
        The chart's name.
    card_reflectance : tuple
        Of the grey card, for R, G and B, fractions.
    quantity, form, basis, ratio : str or None
        What the values are.
    """

    id: str
    created_at: datetime
    name: str
    card_reflectance: Triple
    quantity: str | None = None
    form: str | None = None
    basis: str | None = None
    ratio: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A new chart, and what was left out of it and why."""

    chart: Chart
    left_out: tuple[str, ...]


def counted_tubes(scene: Scene, highest: int) -> tuple[SeenTube, ...]:
    """Return the tubes that a sheet counts from the left.

    A sheet of standards names every tube of its photos. Where more vessels were found than it
    knows, those that hold liquid most surely are counted, so that a glass in the background does
    not shift the count.
    """
    ranked = sorted(
        scene.tubes, key=lambda seen: (seen.tube.contents == "liquid", seen.tube.sureness)
    )
    counted = ranked[-highest:]
    return tuple(seen for seen in scene.tubes if seen in counted)


def _measure(
    photo: Photo, scene: Scene, row: StandardRow, highest: int, reflectance: Triple
) -> Measurement | str:
    """Measurement of one row of the sheet, or why there is none."""
    where = f"{row.photo}, tube {row.tube}"
    tubes = counted_tubes(scene, highest)
    if row.tube > len(tubes):
        return f"{where}: only {len(tubes)} tubes were found."
    measurement = measure_tube(photo, scene, tubes[row.tube - 1], reflectance)
    if measurement is None:
        reasons = (*scene.reasons, *tubes[row.tube - 1].reasons)
        return f"{where}: {' '.join(f'{r.text} {r.what_to_do}' for r in reasons)}"
    if worst(measurement.reasons) == "refused":
        said = [r for r in measurement.reasons if r.weight == "refused"]
        return f"{where}: {' '.join(f'{r.text} {r.what_to_do}' for r in said)}"
    return measurement


def calibrate(rows: Sequence[StandardRow], facts: ChartFacts) -> Task[Calibration]:
    """Measure the standards of a sheet and make a chart of them.

    Tubes that cannot be trusted are left out and named.

    Raises
    ------
    OrderError
        If fewer than two different standards can be used.
    """
    analyte = sheet_analyte(
        rows, quantity=facts.quantity, form=facts.form, basis=facts.basis, ratio=facts.ratio
    )
    paths = list(dict.fromkeys(row.path for row in rows))
    measured: list[StandardMeasurement] = []
    left_out: list[str] = []
    for done, path in enumerate(paths):
        yield Step(done=done, total=len(paths), note=path.name)
        photo = read_photo(path)
        scene = look(photo)
        here = [row for row in rows if row.path == path]
        highest = max(row.tube for row in here)
        for row in here:
            found = _measure(photo, scene, row, highest, facts.card_reflectance)
            if isinstance(found, str):
                left_out.append(found)
                continue
            measured.append(
                StandardMeasurement(
                    value=row.value,
                    uncertainty=row.uncertainty,
                    label=row.label,
                    role=row.role,
                    photo=path.name,
                    tube=row.tube,
                    measurement=found,
                )
            )
    if not measured:
        raise OrderError(
            f"None of the {len(rows)} standards could be measured. {left_out[0]}",
            what_to_do="Photograph the tubes again beside the whole grey card.",
        )
    same_within = SAME_PH if analyte.is_ph else 0.0
    chart = _chart(facts, analyte, "liquid", measured, same_within)
    for _ in range(len(measured) // MOST_STRANGE):
        strange = strange_standard(chart)
        if strange is None:
            break
        kept = [item for item in chart.measurements if item is not strange]
        if len({item.value for item in kept}) < len({item.value for item in chart.measurements}):
            break
        left_out.append(
            f"{strange.photo}, tube {strange.tube}: its color does not fit the other standards. "
            "Check its value and its place in the sheet, or photograph it again."
        )
        chart = _chart(facts, analyte, "liquid", kept, same_within)
    yield Step(done=len(paths), total=len(paths), note="chart made")
    return Calibration(chart=chart, left_out=tuple(left_out))


def calibrate_printed(path: Path, patches: Sequence[Patch], facts: ChartFacts) -> Task[Calibration]:
    """Measure the patches of a printed chart on its photo and make a chart of them.

    Raises
    ------
    OrderError
        If the photo has no grey card that can be trusted.
    """
    analyte = sheet_analyte(
        patches, quantity=facts.quantity, form=facts.form, basis=facts.basis, ratio=facts.ratio
    )
    yield Step(done=0, total=1, note=path.name)
    photo = read_photo(path)
    scene = look(photo)
    if scene.card is None or worst(scene.reasons) == "refused":
        said = [r for r in scene.reasons if r.weight == "refused"]
        raise OrderError(said[0].text, what_to_do=said[0].what_to_do)
    measured = [
        StandardMeasurement(
            value=patch.value,
            uncertainty=patch.uncertainty,
            label=patch.label,
            role="standard",
            photo=path.name,
            tube=number,
            measurement=measure_liquid(
                photo,
                box_of(patch.region.quad),
                average_quad(photo, patch.region.quad),
                scene.card,
                facts.card_reflectance,
                outline="by_hand",
                reasons=scene.reasons,
            ),
        )
        for number, patch in enumerate(patches, start=1)
    ]
    chart = _chart(facts, analyte, "printed", measured, 0.0)
    yield Step(done=1, total=1, note="chart made")
    return Calibration(chart=chart, left_out=())


def _chart(
    facts: ChartFacts,
    analyte: Analyte,
    kind: ChartKind,
    measured: Sequence[StandardMeasurement],
    same_within: float,
) -> Chart:
    return Chart(
        id=facts.id,
        name=facts.name,
        analyte=analyte,
        extractant=None,
        indicator=None,
        batch=None,
        method=None,
        kind=kind,
        swatches=make_swatches(measured, same_within=same_within),
        measurements=tuple(measured),
        white="D65",
        card_reflectance=facts.card_reflectance,
        cameras=_cameras(measured),
        light_notes=None,
        created_at=facts.created_at,
        check_again_on=None,
        software_version=VERSION,
    )


def _cameras(measured: Sequence[StandardMeasurement]) -> tuple[str, ...]:
    names = (item.measurement.camera for item in measured)
    return tuple(dict.fromkeys(name for name in names if name is not None))
