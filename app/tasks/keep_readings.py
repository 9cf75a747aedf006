"""Keep readings in a survey, each tube of a photo once on a chart."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.records.record_book import RecordBook
from app.survey.kept_reading import KeptReading, ReadingFilter
from app.survey.names import tidy_name
from app.tasks.read_photo import ReadOrder
from app.tube_reading import TubeReading


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLines:
    """What became of some lines.

    Parameters
    ----------
    numbers : tuple of int
        Numbers of those that were kept.
    unnamed : tuple of TubeReading
        Tubes that nobody gave a sample's name: not kept.
    already : tuple of (TubeReading, KeptReading)
        Tubes that had been kept before on the same chart, and what stands there: not kept again.
    """

    numbers: tuple[int, ...]
    unnamed: tuple[TubeReading, ...]
    already: tuple[tuple[TubeReading, KeptReading], ...]


def keep_lines(
    book: RecordBook, lines: Sequence[TubeReading], order: ReadOrder, *, person: str, now: datetime
) -> KeptLines:
    """Keep the lines that name a sample, with their photos and charts: all of them, or none.

    A photo is known by its content, not by its name. A reading that was withdrawn may be kept
    again.

    Parameters
    ----------
    book : RecordBook
        The survey, open to write.
    lines : sequence of TubeReading
        As they were read; each tube once.
    order : ReadOrder
        What they were read with.
    person : str
        Code of who keeps them.
    now : datetime
        With its offset from UTC.

    Raises
    ------
    RecordsError
        If the survey cannot take them.
    """
    named = [line for line in lines if has_name(line)]
    there = {
        (kept.line.sha256, kept.line.tube, kept.line.reading.chart_id): kept
        for sha256 in {line.sha256 for line in named} - {None}
        for kept in book.each_reading(ReadingFilter(photo=sha256))
    }
    found = [(line, there.get((line.sha256, line.tube, line.reading.chart_id))) for line in named]
    new = [line for line, kept in found if kept is None]
    numbers: tuple[int, ...] = ()
    if new:
        numbers = book.keep_readings(
            new, person, now, known=order.known, card_reflectance=order.reflectance
        )
    return KeptLines(
        numbers=numbers,
        unnamed=tuple(
            line
            for line in lines
            if line.tube is not None and line.entry.role != "in_frame" and not has_name(line)
        ),
        already=tuple((line, kept) for line, kept in found if kept is not None),
    )


def has_name(line: TubeReading) -> bool:
    """Whether a line names a sample."""
    return bool(tidy_name(line.entry.sample or ""))
