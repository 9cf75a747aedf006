"""Older surveys are brought to the newest format, after a copy, all steps or none."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

from app.records.connection import connect, transaction
from app.records.errors import RecordsDamagedError, RecordsError, RecordsTooNewError
from app.records.schema import APPLICATION_ID, FORMAT, SCHEMA

Upgrade = Callable[[sqlite3.Connection], None]


def _suspected_contamination(db: sqlite3.Connection) -> None:
    """Format 2: sites, and the whole survey, can be marked as suspected of contamination.

    Before, only the words of the land use could say so.
    """
    column = "suspected_contamination INTEGER CHECK (suspected_contamination IN (0, 1))"
    db.execute(f"ALTER TABLE sites ADD COLUMN {column}")
    db.execute(f"ALTER TABLE survey ADD COLUMN {column}")
    db.execute("UPDATE sites SET suspected_contamination = 1 WHERE land_use LIKE '%contaminat%'")


def _drawn_outlines(db: sqlite3.Connection) -> None:
    """Format 3: what was drawn over a photo is kept, so that its readings can be repeated.

    Before, only the box around a region and that it was drawn were kept.
    """
    db.execute("ALTER TABLE reading_details ADD COLUMN hand TEXT")


UPGRADES: tuple[Upgrade, ...] = (_suspected_contamination, _drawn_outlines)
"""Step i turns format i + 1 into format i + 2, statement by statement (never `executescript`, which
would end the transaction). A released step is never edited; each has a test with an old file."""


def newest_format() -> int:
    """Return the newest format that is written and read."""
    return FORMAT + len(UPGRADES)


def make_tables(db: sqlite3.Connection) -> None:
    """Make the tables of an empty survey; inside a transaction."""
    for statement in SCHEMA:
        db.execute(statement)
    for upgrade in UPGRADES:
        upgrade(db)
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {newest_format()}")


def format_of(db: sqlite3.Connection, name: str) -> int:
    """Return the format of a survey's file.

    Raises
    ------
    RecordsTooNewError
        If a newer version of the program wrote it.
    RecordsDamagedError
        If it is no survey.
    """
    (application,) = db.execute("PRAGMA application_id").fetchone()
    (version,) = db.execute("PRAGMA user_version").fetchone()
    if application != APPLICATION_ID or version < 1:
        raise RecordsDamagedError(
            f"{name} holds no survey of this program.",
            what_to_do="Choose the folder that `tintwell new` made.",
        )
    if version > newest_format():
        raise RecordsTooNewError(
            f"{name} was written by a newer version (survey format {version}; this one reads up "
            f"to {newest_format()}).",
            what_to_do="Update the program, or open the copy that was kept before the upgrade.",
        )
    return int(version)


def copy_before(db: sqlite3.Connection, folder: Path, version: int) -> Path:
    """Copy the database as it is before an upgrade; an earlier copy is not touched."""
    stem = f"survey before upgrade from format {version}"
    names = (f"{stem}{f' ({n})' if n > 1 else ''}.sqlite" for n in range(1, 1000))
    target = next((folder / name for name in names if not (folder / name).exists()), None)
    if target is None:
        raise RecordsError(
            f"{folder} is full of copies from before upgrades.", what_to_do="Move them away."
        )
    copy_database(db, target)
    return target


def copy_database(db: sqlite3.Connection, target: Path) -> None:
    """Copy a database by SQLite's own backup, into one closed file that appears when whole."""
    part = target.with_name(f".{target.name}.part")
    part.unlink(missing_ok=True)
    try:
        copy = connect(part, "rwc")
        try:
            db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE").fetchone()
        finally:
            copy.close()
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def upgrade(db: sqlite3.Connection, version: int) -> None:
    """Bring a database from one format to the newest, in one transaction.

    Raises
    ------
    RecordsDamagedError
        If something would point nowhere afterwards; nothing has changed then.
    """
    db.execute("PRAGMA foreign_keys = OFF")  # a step may have to build a table anew
    try:
        with transaction(db):
            for step in UPGRADES[version - FORMAT :]:
                step(db)
            if db.execute("PRAGMA foreign_key_check").fetchone() is not None:
                raise RecordsDamagedError(
                    "The survey could not be brought to the new format: some entries point "
                    "nowhere.",
                    what_to_do="Nothing was changed. Restore a backup, or use the older version.",
                )
            db.execute(f"PRAGMA user_version = {newest_format()}")
    finally:
        db.execute("PRAGMA foreign_keys = ON")
