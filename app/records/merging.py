"""Takes over what another survey holds."""

import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from app.records import field_tables as tables
from app.records.errors import RecordsError
from app.records.reading_rows import Keeping
from app.records.reading_writer import ReadingWriter
from app.survey.kept_reading import KeptReading
from app.survey.survey import Survey
from app.tube_reading import TubeReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """What came over.

    Parameters
    ----------
    new, same : int
        Readings that are new here, and ones that had come over before.
    """

    new: int
    same: int


class Merging:
    """Takes one survey over into an open one.

    Parameters
    ----------
    db : sqlite3.Connection
        The survey that takes.
    shelf : Path
        Its photos.
    theirs : Survey
        The survey that gives.
    """

    def __init__(self, db: sqlite3.Connection, shelf: Path, theirs: Survey) -> None:
        (ours,) = db.execute("SELECT id FROM survey").fetchone()
        if ours == theirs.id:
            raise RecordsError(
                "This is a copy of the same survey, so its readings cannot be told from ours.",
                what_to_do="Go on with one of the two, and keep the other as it is.",
            )
        self._db = db
        self._writer = ReadingWriter(shelf, {})
        self._theirs = theirs

    def shelve_photos(
        self, readings: Iterable[KeptReading], photo_path: Callable[[str], Path | None]
    ) -> None:
        """Bring their photos to our shelf."""
        found: dict[str, TubeReading] = {}
        for kept in readings:
            sha256 = kept.line.sha256
            if sha256 is not None and sha256 not in found:
                found[sha256] = replace(kept.line, photo=str(photo_path(sha256)))
        self._writer.shelve_photos(self._db, tuple(found.values()))

    def write(self, readings: Iterable[KeptReading], *, person: str, now: datetime) -> Merged:
        """Write their places, samples, tests and readings; inside a transaction."""
        self._add_facts(person, now)
        numbers: dict[int, int] = {}
        same = 0
        for kept in readings:
            origin = kept.origin or f"{self._theirs.id}:{kept.id}"
            there = self._number_of(origin)
            same += there is not None
            numbers[kept.id] = self._write(kept, origin, numbers) if there is None else there
        tables.note(self._db, person, now, "survey merged", self._theirs.id)
        return Merged(new=len(numbers) - same, same=same)

    def _add_facts(self, person: str, now: datetime) -> None:
        theirs = self._theirs
        if theirs.suspected_contamination:  # their samples are ours now, and so is the suspicion
            self._db.execute("UPDATE survey SET suspected_contamination = 1")
        for known_person in theirs.persons:
            tables.ensure_person(self._db, known_person.code)
        tables.add(self._db, tables.SITES, theirs.sites, person=person, now=now)
        tables.add(self._db, tables.SAMPLES, theirs.samples, person=person, now=now)
        tables.add(self._db, tables.METHODS, theirs.methods, person=person, now=now)
        tables.add(self._db, tables.TESTS, theirs.tests, person=person, now=now)
        ours = set(tables.read_known_values(self._db))
        for value in theirs.known_values:
            if value not in ours:
                tables.insert_numbered(self._db, tables.KNOWN_VALUES, value)

    def _number_of(self, origin: str) -> int | None:
        """Our number of one of theirs; also where it was ours in the first place."""
        row = self._db.execute("SELECT id FROM readings WHERE origin = ?", [origin]).fetchone()
        if row is None:
            survey, _, number = origin.rpartition(":")
            row = self._db.execute(
                "SELECT r.id FROM readings AS r, survey AS s WHERE s.id = ? AND r.id = ?",
                [survey, int(number)],
            ).fetchone()
        return None if row is None else int(row[0])

    def _write(self, kept: KeptReading, origin: str, numbers: dict[int, int]) -> int:
        keeping = Keeping(
            person=kept.person,
            now=kept.kept_at,
            card_reflectance=kept.card_reflectance,
            corrects=None if kept.corrects is None else numbers[kept.corrects],
            correction=kept.correction,
            withdrawn=kept.withdrawn,
            software_version=kept.software_version,
            origin=origin,
        )
        (number,) = self._writer.write(self._db, (kept.line,), keeping, known=kept.known)
        return number
