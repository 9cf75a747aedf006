"""A survey on disk: made, opened, checked, backed up and restored."""

from collections.abc import Generator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from app.records import field_tables as tables
from app.records.backup import backing_up
from app.records.connection import connect, plainly, transaction
from app.records.errors import NOT_RIGHT, RecordsDamagedError, RecordsError
from app.records.field_book import FieldBook
from app.records.file_system import flush_folder
from app.records.health import Health, checking
from app.records.merging import Merged, Merging
from app.records.opening import DATABASE, LOCK, PHOTOS, open_database
from app.records.photo_shelf import PhotoFault
from app.records.reading_book import ReadingBook
from app.records.times import to_moment, to_text
from app.records.upgrades import make_tables
from app.survey.kept_reading import ReadingFilter
from app.survey.names import tidy_name
from app.survey.survey import Survey
from app.version import VERSION

Result = TypeVar("Result")
Progress = Generator[tuple[int, int, str], None, Result]
"""Yields pieces done, pieces in all and the name of the last one; stops when it is closed."""


EVERYTHING = ReadingFilter(only_standing=False)


class RecordBook(FieldBook, ReadingBook):
    """An open survey. It belongs to the thread that opened it; `open_again` serves another one.

    Made by `create_survey` and `open_survey`; close it, or use it in a `with` statement.
    """

    def survey(self) -> Survey:
        """Everything but the readings."""
        with self._reading() as db:
            head = db.execute(
                "SELECT id, name, created_at, software_version, suspected_contamination FROM survey"
            )
            try:
                ident, name, created_at, version, suspected = head.fetchone()
                made_at = to_moment(created_at)
            except NOT_RIGHT as error:
                raise RecordsDamagedError(
                    f"What {self.folder} says of the survey itself cannot be right ({error}).",
                    what_to_do="Restore a backup.",
                ) from error
            charts = db.execute("SELECT number FROM charts ORDER BY name, number").fetchall()
            return Survey(
                id=ident,
                name=name,
                created_at=made_at,
                software_version=version,
                sites=tables.read_all(db, tables.SITES),
                samples=tables.read_all(db, tables.SAMPLES),
                methods=tables.read_all(db, tables.METHODS),
                tests=tables.read_all(db, tables.TESTS),
                persons=tables.read_all(db, tables.PERSONS),
                known_values=tables.read_known_values(db),
                charts=tuple(self._chart(number) for (number,) in charts),
                suspected_contamination=None if suspected is None else bool(suspected),
            )

    def merge(self, other: "RecordBook", *, person: str, now: datetime) -> Merged:
        """Take over everything from another survey: all of it, or nothing.

        Readings keep their person, time and version, and what corrects what. What was taken over
        before is left alone, so that merging again brings only what is new. Names of people stay
        behind.

        Raises
        ------
        RecordsError
            If a site, sample, method or test of the same name has other facts there, or it is a
            copy of this survey.
        """
        theirs = other.survey()
        with self._reading() as db:
            merging = Merging(db, self.folder / PHOTOS, theirs)
            if self.is_writable:
                merging.shelve_photos(other.each_reading(EVERYTHING), other.photo_path)
        with self._writing() as db:
            return merging.write(other.each_reading(EVERYTHING), person=person, now=now)

    def checking(self) -> Progress[Health]:
        """Check database and photos, a photo a step."""
        with self._reading() as db:
            return (yield from checking(db, self.folder / PHOTOS))

    def check(self) -> Health:
        """Check database and photos."""
        return drain(self.checking())

    def backing_up(self, path: Path) -> Progress[tuple[PhotoFault, ...]]:
        """Copy the whole survey to a new folder, a photo a step."""
        with plainly(path):
            return (yield from backing_up(self._db, self.folder, path))

    def backup(self, path: Path) -> tuple[PhotoFault, ...]:
        """Copy the whole survey to a new folder; returns the photos that could not be copied."""
        return drain(self.backing_up(path))


def create_survey(folder: Path, *, id: str, now: datetime, name: str | None = None) -> RecordBook:
    """Make an empty survey and open it.

    Parameters
    ----------
    folder : Path
        A new folder, or an empty one.
    id : str
        Tells this survey from every other.
    now : datetime
        With its offset from UTC.
    name : str, optional
        The folder's name where none is given.

    Raises
    ------
    RecordsError
        If there is something in the folder already, or it cannot be written.
    """
    created_at = to_text(now)
    with plainly(folder):
        folder.mkdir(parents=True, exist_ok=True)
        part = folder / f".{DATABASE}.part"
        ours = (PHOTOS, LOCK, part.name, f"{part.name}-journal")
        if any(path.name not in ours for path in folder.iterdir()):
            raise RecordsError(
                f"The folder {folder} is not empty.",
                what_to_do="Choose a new folder for the survey, or open the one that is there.",
            )
        for name_left in ours[2:]:  # by one that was cut off
            (folder / name_left).unlink(missing_ok=True)
        (folder / PHOTOS).mkdir(exist_ok=True)
        try:
            with closing(connect(part, "rwc")) as db, transaction(db):
                make_tables(db)
                db.execute(
                    "INSERT INTO survey (only_one, id, name, created_at, software_version) "
                    "VALUES (1, ?, ?, ?, ?)",
                    [id, tidy_name(name or folder.resolve().name), created_at, VERSION],
                )
            part.replace(folder / DATABASE)
        finally:
            part.unlink(missing_ok=True)
        flush_folder(folder)
    return open_survey(folder)


def open_survey(folder: Path, *, readonly: bool = False) -> RecordBook:
    """Open a survey, to write where that is possible.

    `read_only_because` says why it is open for reading alone: it is open elsewhere, the folder or
    the drive does not allow it, or it was asked for. An older format is upgraded after a copy.

    Parameters
    ----------
    folder : Path
        The survey.
    readonly : bool
        Whether it is only to be read.

    Raises
    ------
    RecordsTooNewError
        If a newer version of the program wrote it.
    RecordsError
        If there is no survey, or it is damaged.
    """
    with plainly(folder):
        opened = open_database(folder, readonly=readonly)
    return RecordBook(folder, opened)


def restore_survey(backup: Path, folder: Path, *, person: str, now: datetime) -> RecordBook:
    """Make a new survey folder of a backup and open it; the backup stays as it is.

    Raises
    ------
    RecordsError
        If there is something at the folder already, or the backup is damaged.
    """
    with open_survey(backup, readonly=True) as book:
        broken = book.check().database
        if broken:
            raise RecordsError(
                f"The backup {backup} is damaged. {broken[0]}", what_to_do="Use another backup."
            )
        book.backup(folder)
    book = open_survey(folder)
    book.note(person, now, "restored", backup.name)
    return book


def drain(work: Progress[Result]) -> Result:
    """Run work to its end."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return end.value  # type: ignore[no-any-return]
