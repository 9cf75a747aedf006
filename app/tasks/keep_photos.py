"""Keep the readings of many photos in the open survey, a photo a step."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.records.record_book import RecordBook
from app.tasks.keep_readings import has_name, keep_lines
from app.tasks.read_photo import ReadOrder
from app.tasks.step import Step, Task
from app.tube_reading import TubeReading
from app.wording import say_count


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoToKeep:
    """A photo whose readings are to be kept.

    Parameters
    ----------
    path : Path
        Its file.
    lines : tuple of TubeReading
        As they were read.
    order : ReadOrder
        What they were read with.
    """

    path: Path
    lines: tuple[TubeReading, ...]
    order: ReadOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPhotos:
    """What became of the readings.

    Parameters
    ----------
    kept : dict
        By photo: tubes that stand in the survey now, each with the reading's number.
    new : int
        Readings that were written.
    already : int
        Tubes that had been kept before on the same chart; what stands there stays.
    unnamed : int
        Tubes without a sample's name.
    refused : int
        Tubes that were refused: there is no reading to keep.
    """

    kept: dict[Path, tuple[tuple[int, int], ...]]
    new: int
    already: int
    unnamed: int
    refused: int


def keep_photos(
    open_book: Callable[[], RecordBook],
    photos: Sequence[PhotoToKeep],
    *,
    person: str,
    now: datetime,
) -> Task[KeptPhotos]:
    """Keep accepted and doubtful readings that name a sample.

    When it is stopped, the photos that are done stay kept.

    Parameters
    ----------
    open_book : callable
        Opens the survey for the thread that does the work.
    photos : sequence of PhotoToKeep
        In order.
    person : str
        Code of who keeps them.
    now : datetime
        With its offset from UTC.

    Raises
    ------
    RecordsError
        If the survey cannot take them.
    """
    kept: dict[Path, tuple[tuple[int, int], ...]] = {}
    new = already = unnamed = refused = 0
    with open_book() as book:
        for done, photo in enumerate(photos):
            yield Step(done=done, total=len(photos), note=photo.path.name)
            lines = [line for line in photo.lines if line.reading.status != "refused"]
            refused += len(photo.lines) - len(lines)
            outcome = keep_lines(book, lines, photo.order, person=person, now=now)
            there = {id(line) for line, _ in outcome.already}
            written = [line for line in lines if has_name(line) and id(line) not in there]
            pairs = [
                *zip(written, outcome.numbers, strict=True),
                *((line, reading.id) for line, reading in outcome.already),
            ]
            kept[photo.path] = tuple(
                (line.tube, number) for line, number in pairs if line.tube is not None
            )
            new += len(outcome.numbers)
            already += len(outcome.already)
            unnamed += len(outcome.unnamed)
    return KeptPhotos(kept=kept, new=new, already=already, unnamed=unnamed, refused=refused)


def say_kept(kept: KeptPhotos) -> str:
    """Say what was kept, and what was not and why.

    Examples
    --------
    >>> say_kept(KeptPhotos(kept={}, new=2, already=0, unnamed=1, refused=0))
    'Kept 2 readings. Not kept: 1 tube without a name.'
    """
    said = f"Kept {say_count(kept.new, 'reading')}."
    rest = [
        f"{say_count(number, 'tube')} {why}"
        for number, why in (
            (kept.already, "kept before"),
            (kept.unnamed, "without a name"),
            (kept.refused, "refused"),
        )
        if number
    ]
    return f"{said} Not kept: {', '.join(rest)}." if rest else said
