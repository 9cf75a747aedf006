"""Look after a survey: check it, back it up, take another one over."""

from datetime import datetime
from pathlib import Path

from app.records.errors import RecordsDamagedError
from app.records.health import Health
from app.records.merging import Merged
from app.records.photo_shelf import PhotoFault
from app.records.record_book import Progress, RecordBook, Result, open_survey
from app.tasks.plan_file import copy_plan
from app.tasks.step import Step, Task


def check_survey(book: RecordBook) -> Task[Health]:
    """Compare database, guards, charts and every photo with what was kept, a photo a step."""
    return (yield from _steps(book.checking()))


def back_up_survey(book: RecordBook, target: Path) -> Task[tuple[PhotoFault, ...]]:
    """Copy a survey, with its plan, to a new folder, a photo a step.

    Returns the photos that could not be copied.
    """
    faults = yield from _steps(book.backing_up(target))
    copy_plan(book.folder, target)
    return faults


def restore_backup(backup: Path, folder: Path, *, person: str, now: datetime) -> Task[Path]:
    """Make a new survey folder of a backup, a photo a step; the backup stays as it is.

    Returns
    -------
    Path
        The new survey.

    Raises
    ------
    RecordsError
        If there is something at the folder already, or the backup is damaged.
    """
    with open_survey(backup, readonly=True) as book:
        health = yield from _steps(book.checking())
        if health.database:
            raise RecordsDamagedError(
                f"The backup {backup} is damaged. {health.database[0]}",
                what_to_do="Use another backup.",
            )
        yield from back_up_survey(book, folder)
    with open_survey(folder) as restored:
        restored.note(person, now, "restored", backup.name)
    return folder


def take_over(book: RecordBook, other: Path, *, person: str, now: datetime) -> Merged:
    """Take over everything from another survey: all of it, or nothing.

    Raises
    ------
    RecordsError
        If a site, sample, method or test of the same name has other facts there.
    """
    with open_survey(other, readonly=True) as theirs:
        return book.merge(theirs, person=person, now=now)


def _steps(work: Progress[Result]) -> Task[Result]:
    """Turn the book's own steps into those of a task."""
    try:
        while True:
            done, total, name = next(work)
            yield Step(done=done, total=total, note=name)
    except StopIteration as end:
        return end.value  # type: ignore[no-any-return]
    finally:
        work.close()
