"""The part of an open survey that keeps readings and finds them again."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from app.records.connected import Connected
from app.records.errors import RecordsError
from app.records.opening import PHOTOS
from app.records.reading_query import condition, page_of_ids
from app.records.reading_rows import SELECT, Keeping, kept_of
from app.records.reading_writer import ReadingWriter, insert_chart
from app.survey.kept_reading import KeptReading, ReadingFilter, SortKey
from app.survey.names import check_name
from app.tube_reading import KnownTube, TubeReading
from app.version import VERSION
from calibration.chart import Chart
from colorcore.measurement import Triple

STANDING = ReadingFilter()
AT_ONCE = 500


class ReadingBook(Connected):
    """Readings: kept, corrected, withdrawn, never changed."""

    def keep_readings(
        self,
        lines: Sequence[TubeReading],
        person: str,
        now: datetime,
        *,
        known: Mapping[str, tuple[KnownTube, ...]] | None = None,
        card_reflectance: Triple | None = None,
    ) -> tuple[int, ...]:
        """Keep readings with their photos and charts: all of them, or none.

        Samples that the survey does not know yet are added with their label alone.

        Parameters
        ----------
        lines : sequence of TubeReading
            Their photos must still be where they were read.
        person : str
            Code of who keeps them.
        now : datetime
            With its offset from UTC.
        known : mapping, optional
            Tubes of known value by the full path of their photo, as the readings were made with.
        card_reflectance : tuple, optional
            Of the card, where it is not the charts'.

        Returns
        -------
        tuple of int
            Their numbers in the survey.

        Raises
        ------
        RecordsError
            If a photo is gone or changed, the disk is full, or the survey is read-only.
        """
        check_name("person", person)
        keeping = Keeping(person=person, now=now, card_reflectance=card_reflectance)
        writer = ReadingWriter(self.folder / PHOTOS, known or {})
        with self._reading() as db:
            if self.is_writable:
                writer.shelve_photos(db, lines)
        with self._writing() as db:
            return writer.write(db, lines, keeping)

    def keep_chart(self, chart: Chart) -> None:
        """Keep a chart before any reading was made with it; one that is there stays as it is.

        Raises
        ------
        RecordsError
            If the survey is read-only or the disk is full.
        """
        with self._writing() as db:
            insert_chart(db, chart)

    def correct(
        self,
        number: int,
        line: TubeReading,
        *,
        reason: str,
        person: str,
        now: datetime,
        known: Mapping[str, tuple[KnownTube, ...]] | None = None,
        card_reflectance: Triple | None = None,
    ) -> int:
        """Keep a reading that takes the place of another one; the other stays as it is.

        Also brings back one that was withdrawn. Known tubes and reflectance are the old reading's
        where they are not given.

        Returns
        -------
        int
            The number of the new one.

        Raises
        ------
        RecordsError
            If there is no such reading, it was corrected before, or the reason is empty.
        """
        old = self.reading(number)
        same = line.reading == old.line.reading and line.measurement == old.line.measurement
        keeping = Keeping(
            person=person,
            now=now,
            card_reflectance=card_reflectance or old.card_reflectance,
            corrects=number,
            correction=reason,
            software_version=old.software_version if same else VERSION,
        )
        return self._replace(old, line, keeping, known)

    def withdraw(self, number: int, *, reason: str, person: str, now: datetime) -> int:
        """Say that a reading no longer stands (also the undo of keeping it); it stays as it is.

        Returns
        -------
        int
            The number of the row that says so.
        """
        old = self.reading(number)
        keeping = Keeping(
            person=person,
            now=now,
            card_reflectance=old.card_reflectance,
            corrects=number,
            correction=reason,
            withdrawn=True,
            software_version=old.software_version,
        )
        return self._replace(old, old.line, keeping, None)

    def _replace(
        self,
        old: KeptReading,
        line: TubeReading,
        keeping: Keeping,
        known: Mapping[str, tuple[KnownTube, ...]] | None,
    ) -> int:
        check_name("person", keeping.person)
        if not (keeping.correction or "").strip():
            raise RecordsError("A correction needs a reason.", what_to_do="Say why in a few words.")
        if old.corrected_by is not None:
            raise RecordsError(
                f"Reading {old.id} has been corrected already, by reading {old.corrected_by}.",
                what_to_do="Correct the newest one.",
            )
        writer = ReadingWriter(self.folder / PHOTOS, known or {})
        with self._reading() as db:
            if self.is_writable:
                writer.shelve_photos(db, (line,))
        with self._writing() as db:
            (number,) = writer.write(db, (line,), keeping, known=old.known)
        return number

    def readings(
        self,
        wanted: ReadingFilter = STANDING,
        *,
        sort: SortKey = "kept",
        descending: bool = False,
        offset: int = 0,
        limit: int = 200,
    ) -> tuple[KeptReading, ...]:
        """One page of the readings that are wanted, in the order that is wanted."""
        page, values = page_of_ids(wanted, sort, descending=descending)
        with self._reading() as db:
            ids = [number for (number,) in db.execute(page, [*values, limit, offset])]
            found = {}
            for start in range(0, len(ids), AT_ONCE):
                some = ids[start : start + AT_ONCE]
                marks = ", ".join("?" * len(some))
                for row in db.execute(f"{SELECT} WHERE r.id IN ({marks})", some):
                    found[row[0]] = kept_of(row, self._chart)
        return tuple(found[number] for number in ids)

    def count(self, wanted: ReadingFilter = STANDING) -> int:
        """How many readings are wanted."""
        where, values = condition(wanted)
        with self._reading() as db:
            row = db.execute(f"SELECT count(*) FROM readings AS r WHERE {where}", values).fetchone()
            return int(row[0])

    def each_reading(self, wanted: ReadingFilter = STANDING) -> Iterator[KeptReading]:
        """All readings that are wanted in the order of keeping, one in memory at a time."""
        where, values = condition(wanted)
        with self._reading() as db:
            for row in db.execute(f"{SELECT} WHERE {where} ORDER BY r.id", values):
                yield kept_of(row, self._chart)

    def reading(self, number: int) -> KeptReading:
        """One reading by its number, whether it stands or not."""
        with self._reading() as db:
            row = db.execute(f"{SELECT} WHERE r.id = ?", [number]).fetchone()
        if row is None:
            raise RecordsError(
                f"There is no reading {number}.", what_to_do="Choose one that is there."
            )
        return kept_of(row, self._chart)

    def history(self, number: int) -> tuple[KeptReading, ...]:
        """Return a reading with all it corrects and all that corrects it, oldest first."""
        found = [self.reading(number)]
        while (before := found[0].corrects) is not None:
            found.insert(0, self.reading(before))
        while (after := found[-1].corrected_by) is not None:
            found.append(self.reading(after))
        return tuple(found)

    def photo_path(self, sha256: str) -> Path | None:
        """Where the photo of a fingerprint lies; None where the survey does not know it."""
        with self._reading() as db:
            row = db.execute("SELECT file FROM photos WHERE sha256 = ?", [sha256]).fetchone()
        return None if row is None else self.folder / PHOTOS / Path(row[0]).name
