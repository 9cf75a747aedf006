"""Keeps readings: photos first, then charts, samples and rows in one transaction."""

import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import Path

from app.records.field_tables import ensure_person
from app.records.photo_shelf import ShelvedPhoto, settle, shelve
from app.records.reading_rows import Keeping, chart_row, insert_reading, sample_of
from app.records.times import to_text
from app.survey.names import tidy_text
from app.tube_reading import KnownTube, TubeReading
from calibration.chart import Chart


class ReadingWriter:
    """Keeps one batch of readings.

    Parameters
    ----------
    shelf : Path
        Folder of the photos.
    known : mapping
        Tubes of known value by the full path of their photo.
    """

    def __init__(self, shelf: Path, known: Mapping[str, tuple[KnownTube, ...]]) -> None:
        self._shelf = shelf
        self._known = known
        self._shelved: list[ShelvedPhoto] = []

    def shelve_photos(self, db: sqlite3.Connection, lines: Sequence[TubeReading]) -> None:
        """Bring every photo to the shelf before anything is written about it."""
        sources = {line.sha256: Path(line.photo) for line in lines if line.sha256 is not None}
        for sha256, source in sources.items():
            row = db.execute("SELECT file FROM photos WHERE sha256 = ?", [sha256]).fetchone()
            if row is None:
                self._shelved.append(shelve(source, sha256, self._shelf))
            elif not (self._shelf / row[0]).is_file() and source.is_file():
                shelve(source, sha256, self._shelf)  # it was lost; here it is again
        if self._shelved:
            settle(self._shelf)

    def write(
        self,
        db: sqlite3.Connection,
        lines: Sequence[TubeReading],
        keeping: Keeping,
        *,
        known: tuple[KnownTube, ...] = (),
    ) -> tuple[int, ...]:
        """Write the rows; inside a transaction. Returns the numbers of the readings.

        `known` are the tubes of known value where nothing else was said of a photo.
        """
        ensure_person(db, keeping.person)
        for shelved in self._shelved:
            _insert_photo(db, shelved, to_text(keeping.now))
        photos = {line.sha256: _photo_number(db, line.sha256) for line in lines}
        charts = {id(line.chart): line.chart for line in lines if line.chart is not None}
        numbers = {key: insert_chart(db, chart) for key, chart in charts.items()}
        tests = _ensure_samples(db, lines)
        (last,) = db.execute("SELECT coalesce(max(id), 0) FROM readings").fetchone()
        for number, line in enumerate(lines, start=last + 1):
            quantity = None if line.chart is None else line.chart.analyte.quantity
            insert_reading(
                db,
                number,
                line,
                keeping,
                photo=photos[line.sha256],
                chart=numbers.get(id(line.chart)),
                test=tests.get((sample_of(line), quantity)),
                known=self._known.get(str(Path(line.photo).resolve()), known),
            )
        return tuple(range(last + 1, last + 1 + len(lines)))


def _photo_number(db: sqlite3.Connection, sha256: str | None) -> int | None:
    row = db.execute("SELECT number FROM photos WHERE sha256 = ?", [sha256]).fetchone()
    return None if row is None else int(row[0])


def _insert_photo(db: sqlite3.Connection, photo: ShelvedPhoto, now: str) -> None:
    if _photo_number(db, photo.sha256) is None:
        db.execute(
            "INSERT INTO photos (number, sha256, file, name, bytes, kept_at) "
            "VALUES ((SELECT coalesce(max(number), 0) + 1 FROM photos), ?, ?, ?, ?, ?)",
            [photo.sha256, photo.file, tidy_text(photo.name), photo.size, now],
        )


def insert_chart(db: sqlite3.Connection, chart: Chart) -> int:
    """Write a chart where it is not there yet; returns its number."""
    fingerprint, ident, name, text = chart_row(chart)
    find = "SELECT number FROM charts WHERE fingerprint = ?"
    if db.execute(find, [fingerprint]).fetchone() is None:
        db.execute(
            "INSERT INTO charts (number, fingerprint, id, name, text) "
            "VALUES ((SELECT coalesce(max(number), 0) + 1 FROM charts), ?, ?, ?, ?)",
            [fingerprint, ident, name, text],
        )
    return int(db.execute(find, [fingerprint]).fetchone()[0])


def _ensure_samples(
    db: sqlite3.Connection, lines: Sequence[TubeReading]
) -> dict[tuple[str | None, str | None], str]:
    """Make every sample known; return the one test of each sample and quantity that has one."""
    kinds = {sample_of(line): line.entry.role for line in lines}
    kinds.pop(None, None)
    tests: dict[tuple[str | None, str | None], str] = {}
    for label, role in kinds.items():
        db.execute(
            "INSERT INTO samples (label, kind) VALUES (?, ?) ON CONFLICT DO NOTHING",
            [label, "blank" if role == "blank" else "soil"],
        )
        rows = db.execute(
            "SELECT quantity, min(id) FROM tests WHERE sample = ? GROUP BY quantity "
            "HAVING count(*) = 1",
            [label],
        )
        tests |= {(label, quantity): test for quantity, test in rows}
    return tests
