"""Find out which photo shows which sample, and write it down as a tubes sheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.exports.readings import csv_row, safe_text
from app.exports.whole_file import check_free, whole_file
from app.survey.photo_matching import (
    PhotoMatch,
    match_by_label,
    match_by_name,
    match_by_time,
)
from app.survey.survey import Survey
from app.tasks.step import Step, Task
from colorcore.errors import PhotoError
from colorcore.photo import read_photo

SHEET = ("photo", "tube", "sample", "replicate", "chart", "role")


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchOrder:
    """How photos are matched; by their names where nothing is said.

    Parameters
    ----------
    pattern : str or None
        What names look like: "{sample}_{replicate}".
    by_time : bool
        By the time between indicator and photo.
    label : str or None
        All of them show this sample.
    with_positions : bool
        Whether the photos' places are looked at: only for photos taken in the field.
    """

    pattern: str | None = None
    by_time: bool = False
    label: str | None = None
    with_positions: bool = False

    def __post_init__(self) -> None:
        if (self.pattern is not None) + self.by_time + (self.label is not None) > 1:
            raise OrderError(
                "Photos are matched in one way at a time.",
                what_to_do="Give a pattern of names, or a label, or ask for the time.",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Matched:
    """What was found out.

    Parameters
    ----------
    matches : tuple of PhotoMatch
        In the order of the photos.
    positions : dict
        Latitude and longitude in degrees by photo; empty where they were not asked for.
    """

    matches: tuple[PhotoMatch, ...]
    positions: dict[str, tuple[float, float]]


def match_photos(survey: Survey, photos: Sequence[str], order: MatchOrder) -> Task[Matched]:
    """Match photos to the samples of a survey; files are opened only where that is needed.

    Raises
    ------
    SheetError
        If the pattern or the label cannot be used.
    """
    times: list[tuple[str, datetime | None]] = []
    positions: dict[str, tuple[float, float]] = {}
    if order.by_time or order.with_positions:
        for done, photo in enumerate(photos, start=1):
            try:
                seen = read_photo(Path(photo))
            except PhotoError:
                times.append((photo, None))
            else:
                times.append((photo, seen.taken_at))
                if order.with_positions and seen.position is not None:
                    place = seen.position
                    positions[photo] = place.latitude_deg, place.longitude_deg
            yield Step(done=done, total=len(photos), note=Path(photo).name)
    labels = [sample.label for sample in survey.samples]
    if order.by_time:
        matches = match_by_time(times, survey.tests, survey.methods)
    elif order.label is not None:
        matches = match_by_label(photos, labels, order.label)
    else:
        matches = match_by_name(photos, labels, order.pattern)
    return Matched(matches=matches, positions=positions)


def write_tubes_sheet(
    matches: Sequence[PhotoMatch], target: Path, *, tubes: int = 1, replace: bool = False
) -> int:
    """Write the matched photos as a sheet that `tintwell read --tubes` takes.

    Parameters
    ----------
    matches : sequence of PhotoMatch
        Those without a sample are left out.
    target : Path
        The sheet; photos are written relative to its folder where they lie below it.
    tubes : int
        Tubes in each photo; all of them hold the same sample.
    replace : bool
        Whether a sheet that is there already may be written over.

    Returns
    -------
    int
        Rows written.

    Raises
    ------
    OrderError
        If the sheet is there already, or the disk refuses.
    """
    check_free(target, replace=replace)
    folder, rows = target.resolve().parent, 0
    with whole_file(target) as part, part.open("w", encoding="utf-8", newline="") as file:
        file.write(csv_row(SHEET))
        for match in matches:
            if match.sample is None:
                continue
            path = Path(match.photo).resolve()
            photo = path.relative_to(folder) if path.is_relative_to(folder) else path
            for tube in range(1, tubes + 1):
                which = (match.replicate, str(tube) if tubes > 1 else None)
                cells = (photo.as_posix(), match.sample, ".".join(filter(None, which)))
                name, sample, replicate = map(safe_text, cells)
                file.write(csv_row((name, tube, sample, replicate, "", "sample")))
                rows += 1
    return rows
