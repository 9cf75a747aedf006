"""Is the survey as it was written: the database, its guards, and every photo."""

import hashlib
import sqlite3
from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path

from app.records.photo_shelf import PhotoFault, faults
from app.records.upgrades import make_tables

SHOWN = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """What an integrity check found.

    Parameters
    ----------
    database : tuple of str
        What is wrong with the database, one sentence each.
    photos : tuple of PhotoFault
        Photos that are missing, damaged or unreadable.
    unused : tuple of str
        Files on the shelf that no reading knows: harmless.
    """

    database: tuple[str, ...]
    photos: tuple[PhotoFault, ...]
    unused: tuple[str, ...]

    @property
    def is_sound(self) -> bool:
        """Whether everything is as it was written."""
        return not self.database and not self.photos


def checking(db: sqlite3.Connection, shelf: Path) -> Generator[tuple[int, int, str], None, Health]:
    """Check a survey; yields photos done, photos in all, and the name of the one just done."""
    database = database_faults(db)
    try:
        rows = db.execute("SELECT sha256, file, name FROM photos ORDER BY name, sha256").fetchall()
    except sqlite3.DatabaseError:
        rows = []  # the database's own faults are named already
    found = []
    for done, (name, fault) in enumerate(faults(iter(rows), shelf), start=1):
        if fault is not None:
            found.append(fault)
        yield done, len(rows), name
    known = {file for _, file, _ in rows}
    there = sorted(path.name for path in shelf.iterdir()) if shelf.is_dir() else []
    return Health(
        database=database,
        photos=tuple(found),
        unused=tuple(name for name in there if name not in known),
    )


def database_faults(db: sqlite3.Connection) -> tuple[str, ...]:
    """Sentences about what is wrong with the database; none where it is sound."""
    try:
        return (*_broken(db), *_pointing_nowhere(db), *_unguarded(db), *_changed_charts(db))
    except sqlite3.DatabaseError as error:
        return (f"The database is damaged: {error}.",)


def _broken(db: sqlite3.Connection) -> list[str]:
    lines = [line for (line,) in db.execute(f"PRAGMA integrity_check({SHOWN})")]
    return [] if lines == ["ok"] else [f"The database is damaged: {line}." for line in lines]


def _pointing_nowhere(db: sqlite3.Connection) -> list[str]:
    rows = db.execute("PRAGMA foreign_key_check").fetchmany(SHOWN)
    found = [f"Row {row[1]} of {row[0]} names a row of {row[2]} that is not there." for row in rows]
    (lacking,) = db.execute(
        "SELECT count(*) FROM readings WHERE id NOT IN (SELECT reading FROM reading_details)"
    ).fetchone()
    return [*found, *([f"{lacking} readings have lost their details."] if lacking else [])]


def _unguarded(db: sqlite3.Connection) -> list[str]:
    """Compare tables and guards with those of a new survey."""
    fresh = sqlite3.connect(":memory:")
    try:
        make_tables(fresh)
        expected = _plan(fresh)
    finally:
        fresh.close()
    there = _plan(db)
    return [
        f"The database lacks {name} as it should be: what is kept may have been changed."
        for name, sql in expected.items()
        if there.get(name) != sql
    ]


def _plan(db: sqlite3.Connection) -> dict[str, str]:
    rows = db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {name: " ".join(sql.split()) for name, sql in rows}


def _changed_charts(db: sqlite3.Connection) -> list[str]:
    return [
        f"The chart '{name}' is not as it was kept."
        for fingerprint, name, text in db.execute("SELECT fingerprint, name, text FROM charts")
        if hashlib.sha256(text.encode("utf-8")).hexdigest() != fingerprint
    ]
