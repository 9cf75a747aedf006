"""Make a chart from photos of tubes of known value, or from a photo of a printed chart.

Looking at the photos and making the chart are separate: a chart is made anew of what was measured
whenever a value is corrected, without a second look.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from app.desk import AS_FOUND
from app.errors import OrderError
from app.tasks.drawn_outlines import check_drawn
from app.tasks.step import Step, Task
from app.version import VERSION
from calibration.chart import SAME_PH, Chart, ChartKind, StandardMeasurement, make_swatches
from calibration.indicator import Analyte
from calibration.reading import strange_standard
from calibration.sheets import Patch, StandardRow, sheet_analyte
from colorcore.geometry import Quad, box_of
from colorcore.hand_outlines import HandOutlines
from colorcore.liquid import average_quad, measure_liquid
from colorcore.measurement import Measurement, Triple
from colorcore.photo import Photo, read_photo
from colorcore.reasons import Reason, worst
from colorcore.scene import Scene, SeenTube, look, measure_tube

FEWEST_VALUES = 4  # that must be left where a value loses its only tube
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
    extractant, indicator, batch, method, light_notes : str or None
        How the tubes were made, and in what light.
    check_again_on : date or None
        When the chart should be checked.
    supersedes : str or None
        Id of the older chart whose place it takes.
    """

    id: str
    created_at: datetime
    name: str
    card_reflectance: Triple
    quantity: str | None = None
    form: str | None = None
    basis: str | None = None
    ratio: str | None = None
    extractant: str | None = None
    indicator: str | None = None
    batch: str | None = None
    method: str | None = None
    light_notes: str | None = None
    check_again_on: date | None = None
    supersedes: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A new chart, and what was left out of it and why."""

    chart: Chart
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenStandard:
    """One vessel in a photo of known tubes.

    Parameters
    ----------
    vessel : Quad
        Corners of the glass, full-size upright pixels.
    region : Quad or None
        Corners of what was averaged; None where there is nothing to average.
    measurement : Measurement or None
        What was measured; None where it cannot be used.
    why_not : str
        Why it cannot be used, and what to do.
    rank : int
        Its place among the photo's vessels by how surely it holds liquid, from 0.
    found : int or None
        Its place among the vessels that were found without help, from 1.
    """

    vessel: Quad
    region: Quad | None
    measurement: Measurement | None
    why_not: str
    rank: int
    found: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardsPhoto:
    """A photo of known tubes, looked at once.

    Parameters
    ----------
    path : Path
        Its file.
    width, height : int
        Of the upright photo, pixels.
    card : Quad or None
        Corners of the grey area.
    tubes : tuple of SeenStandard
        From the left.
    reasons : tuple of Reason
        What is doubtful about the photo as a whole.
    hand : HandOutlines
        What the user had drawn over it when it was looked at.
    """

    path: Path
    width: int
    height: int
    card: Quad | None
    tubes: tuple[SeenStandard, ...]
    reasons: tuple[Reason, ...]
    hand: HandOutlines = AS_FOUND

    def counted(self, highest: int) -> tuple[int, ...]:
        """Return the places of the tubes that a sheet counts from the left.

        A sheet of standards names every tube of its photos. Where more vessels were found than it
        knows, those that hold liquid most surely are counted, so that a glass in the background
        does not shift the count.
        """
        return tuple(place for place, tube in enumerate(self.tubes) if tube.rank < highest)


def look_at_standards(
    path: Path, reflectance: Triple, hand: HandOutlines = AS_FOUND
) -> StandardsPhoto:
    """Look at a photo of known tubes and measure every one of them.

    Parameters
    ----------
    path : Path
        The photo.
    reflectance : tuple
        Of the grey card.
    hand : HandOutlines
        What the user drew in place of what is found.

    Raises
    ------
    PhotoError
        If the file cannot be used.
    OrderError
        If something that was drawn does not lie in the photo.
    """
    photo = read_photo(path)
    check_drawn(photo, path.name, hand)
    scene = look(photo, hand)
    order = sorted(
        scene.tubes, key=lambda seen: (seen.tube.contents == "liquid", seen.tube.sureness)
    )
    ranks = {id(seen): rank for rank, seen in enumerate(reversed(order))}
    return StandardsPhoto(
        path=path,
        width=photo.width,
        height=photo.height,
        card=None if scene.card is None else scene.card.outline_px,
        tubes=tuple(
            _seen_standard(photo, scene, seen, reflectance, ranks[id(seen)]) for seen in scene.tubes
        ),
        reasons=scene.reasons,
        hand=hand,
    )


def _seen_standard(
    photo: Photo, scene: Scene, seen: SeenTube, reflectance: Triple, rank: int
) -> SeenStandard:
    measurement = measure_tube(photo, scene, seen, reflectance)
    reasons = (*scene.reasons, *seen.reasons) if measurement is None else measurement.reasons
    if measurement is None or worst(reasons) == "refused":
        measurement = None
        reasons = tuple(r for r in reasons if r.weight == "refused") or reasons
    else:
        reasons = ()
    window = seen.tube.window
    region = None if window is None else _corners(window)
    return SeenStandard(
        vessel=seen.tube.outline_px,
        region=seen.tube.liquid_px if seen.by_hand else region,
        measurement=measurement,
        why_not=" ".join(f"{reason.text} {reason.what_to_do}" for reason in reasons),
        rank=rank,
        found=seen.found,
    )


def _corners(box: tuple[float, float, float, float]) -> Quad:
    x, y, w, h = box
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def calibrate(rows: Sequence[StandardRow], facts: ChartFacts) -> Task[Calibration]:
    """Measure the standards of a sheet and make a chart of them.

    Tubes that cannot be trusted are left out and named.

    Raises
    ------
    OrderError
        If no standard can be measured.
    """
    analyte = sheet_analyte(
        rows, quantity=facts.quantity, form=facts.form, basis=facts.basis, ratio=facts.ratio
    )
    paths = list(dict.fromkeys(row.path for row in rows))
    measured: list[StandardMeasurement] = []
    left_out: list[str] = []
    for done, path in enumerate(paths):
        yield Step(done=done, total=len(paths), note=path.name)
        seen = look_at_standards(path, facts.card_reflectance)
        here = [row for row in rows if row.path == path]
        counted = seen.counted(max(row.tube for row in here))
        for row in here:
            where = f"{row.photo}, tube {row.tube}"
            if row.tube > len(counted):
                left_out.append(f"{where}: only {len(counted)} tubes were found.")
                continue
            tube = seen.tubes[counted[row.tube - 1]]
            if tube.measurement is None:
                left_out.append(f"{where}: {tube.why_not}")
                continue
            measured.append(
                StandardMeasurement(
                    value=row.value,
                    uncertainty=row.uncertainty,
                    label=row.label,
                    role=row.role,
                    photo=path.name,
                    tube=row.tube,
                    measurement=tube.measurement,
                )
            )
    made = chart_of(facts, analyte, measured, left_out)
    yield Step(done=len(paths), total=len(paths), note="chart made")
    return made


def chart_of(
    facts: ChartFacts,
    analyte: Analyte,
    measured: Sequence[StandardMeasurement],
    left_out: Sequence[str] = (),
) -> Calibration:
    """Make a chart of measured tubes; those whose color fits no other are left out and named.

    Parameters
    ----------
    facts : ChartFacts
        What the user says of it.
    analyte : Analyte
        What the values are.
    measured : sequence of StandardMeasurement
        Tubes of known value, and blanks.
    left_out : sequence of str
        What could not be measured, and why.

    Raises
    ------
    OrderError
        If nothing was measured.
    ChartError
        If fewer than two different standards were.
    """
    if not measured:
        why = left_out[0] if left_out else ""
        raise OrderError(
            f"None of the {len(left_out)} standards could be measured. {why}".rstrip(),
            what_to_do="Photograph the tubes again beside the whole grey card.",
        )
    same_within = SAME_PH if analyte.is_ph else 0.0
    chart = _chart(facts, analyte, "liquid", measured, same_within)
    said = list(left_out)
    for _ in range(len(measured) // MOST_STRANGE):
        strange = strange_standard(chart)
        if strange is None:
            break
        kept = [item for item in chart.measurements if item is not strange.item]
        values = {item.value for item in kept}
        is_last = len(values) < len({item.value for item in chart.measurements})
        if is_last and (not strange.is_certain or len(values) < FEWEST_VALUES):
            break
        said.append(
            f"{strange.item.photo}, tube {strange.item.tube}: its color does not fit the other "
            "standards. Check its value and its place in the sheet, or photograph it again."
        )
        chart = _chart(facts, analyte, "liquid", kept, same_within)
    return Calibration(chart=chart, left_out=tuple(said))


def calibrate_printed(
    path: Path, patches: Sequence[Patch], facts: ChartFacts, *, card: Quad | None = None
) -> Task[Calibration]:
    """Measure the patches of a printed chart on its photo and make a chart of them.

    Parameters
    ----------
    path : Path
        The photo.
    patches : sequence of Patch
        Where they are, and what they stand for.
    facts : ChartFacts
        What the user says of the chart.
    card : Quad or None
        Grey area of the card where the user drew it, full-size upright pixels.

    Raises
    ------
    OrderError
        If the photo has no grey card that can be trusted, or it was drawn outside the photo.
    """
    analyte = sheet_analyte(
        patches, quantity=facts.quantity, form=facts.form, basis=facts.basis, ratio=facts.ratio
    )
    yield Step(done=0, total=1, note=path.name)
    photo, hand = read_photo(path), HandOutlines(card=card)
    check_drawn(photo, path.name, hand)
    scene = look(photo, hand)
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
        extractant=facts.extractant,
        indicator=facts.indicator,
        batch=facts.batch,
        method=facts.method,
        kind=kind,
        swatches=make_swatches(measured, same_within=same_within),
        measurements=tuple(measured),
        white="D65",
        card_reflectance=facts.card_reflectance,
        cameras=_cameras(measured),
        light_notes=facts.light_notes,
        created_at=facts.created_at,
        check_again_on=facts.check_again_on,
        software_version=VERSION,
        supersedes=facts.supersedes,
    )


def _cameras(measured: Sequence[StandardMeasurement]) -> tuple[str, ...]:
    names = (item.measurement.camera for item in measured)
    return tuple(dict.fromkeys(name for name in names if name is not None))
