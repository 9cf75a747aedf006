"""From what was said and seen to a chart: the photos of a draft, measured, and their chart."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.tasks.calibrate_chart import (
    Calibration,
    StandardsPhoto,
    calibrate_printed,
    chart_of,
    look_at_standards,
)
from app.tasks.chart_draft import ChartDraft
from app.tasks.step import Step, Task, finish
from calibration.chart import StandardMeasurement
from calibration.errors import StandardError
from calibration.sheets import Patch, Region
from colorcore.errors import TintwellError
from colorcore.hand_outlines import HandOutlines
from colorcore.measurement import Triple

FEWEST = 2  # different values of a chart


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnusablePhoto:
    """A photo that could not be looked at, and why."""

    path: Path
    error: TintwellError


def measured_tubes(
    draft: ChartDraft, seen: Mapping[Path, StandardsPhoto]
) -> tuple[tuple[StandardMeasurement, ...], tuple[str, ...]]:
    """Return the tubes that can be used, and what cannot and why.

    Parameters
    ----------
    draft : ChartDraft
        What is said.
    seen : mapping of Path to StandardsPhoto
        The photos that were looked at.
    """
    measured, left_out = [], []
    order = {path: place for place, path in enumerate(draft.photos)}
    said = (tube for tube in draft.tubes if tube.path in order)
    for tube in sorted(said, key=lambda item: (order[item.path], item.tube)):
        where = f"{tube.path.name}, tube {tube.tube}"
        photo = seen.get(tube.path)
        if photo is None or tube.path in dict(draft.counted):
            continue
        if tube.tube > len(photo.tubes):
            left_out.append(f"{where}: only {len(photo.tubes)} tubes were found.")
            continue
        found = photo.tubes[tube.tube - 1]
        try:
            value, uncertainty = tube.known()
        except StandardError as error:
            left_out.append(f"{where}: {error.what_happened} {error.what_to_do}")
            continue
        if found.measurement is None:
            left_out.append(f"{where}: {found.why_not}")
            continue
        measured.append(
            StandardMeasurement(
                value=None if tube.role == "blank" else value,
                uncertainty=None if tube.role == "blank" else uncertainty,
                label=tube.label,
                role=tube.role,
                photo=tube.path.name,
                tube=tube.tube,
                measurement=found.measurement,
            )
        )
    return tuple(measured), tuple(left_out)


def draft_patches(draft: ChartDraft) -> tuple[Patch, ...]:
    """Return the patches of a printed chart that have a value or a label."""
    analyte = draft.facts.analyte
    return tuple(
        Patch(
            line=number,
            region=Region(str(number), patch.quad),
            value=patch.value,
            uncertainty=None if patch.value is None else patch.uncertainty,
            label=patch.label,
            analyte=analyte,
        )
        for number, patch in enumerate(draft.patches, start=1)
        if patch.is_said
    )


def look_at_all(
    photos: Sequence[tuple[Path, HandOutlines]],
    reflectance: Triple,
    tell: Callable[[StandardsPhoto | UnusablePhoto], None],
) -> Task[int]:
    """Look at photos of known tubes, telling of each as soon as it was seen.

    Parameters
    ----------
    photos : sequence of (Path, HandOutlines)
        The photos, with what is drawn over them.
    reflectance : tuple
        Of the grey card.
    tell : callable
        Takes each photo; called where the task runs.

    Returns
    -------
    int
        How many could be used.
    """
    usable = 0
    for done, (path, hand) in enumerate(photos):
        yield Step(done=done, total=len(photos), note=path.name)
        try:
            tell(look_at_standards(path, reflectance, hand))
            usable += 1
        except TintwellError as error:
            tell(UnusablePhoto(path=path, error=error))
    return usable


def judge_draft(
    draft: ChartDraft, seen: Mapping[Path, StandardsPhoto], ident: str, now: datetime
) -> Calibration:
    """Make the chart of a draft as far as it goes.

    Raises
    ------
    TintwellError
        If there is not enough yet, or something that was said cannot be right.
    """
    facts = draft.facts.chart_facts(ident, now)
    if draft.kind == "printed":
        patches = draft_patches(draft)
        if not draft.photos or len(patches) < FEWEST:
            raise OrderError(
                "There is no curve yet.",
                what_to_do="Mark two patches or more on the photo and type their values.",
            )
        photo = draft.photos[0]
        return finish(calibrate_printed(photo, patches, facts, card=draft.hand(photo).card))
    measured, left_out = measured_tubes(draft, seen)
    standards = {item.value if item.value is not None else item.label for item in measured}
    if len(standards) < FEWEST and not left_out:
        raise OrderError(
            "There is no curve yet.",
            what_to_do="Give values to two tubes or more; five different values are better.",
        )
    return chart_of(facts, draft.facts.analyte, measured, left_out)
