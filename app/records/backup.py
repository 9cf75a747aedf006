"""A backup is a whole survey folder of its own: it opens like any other."""

import shutil
import sqlite3
from collections.abc import Generator
from pathlib import Path

from app.records.connection import connect
from app.records.errors import RecordsError
from app.records.file_system import flush_folder
from app.records.opening import DATABASE, PHOTOS
from app.records.photo_shelf import PhotoFault, faults, settle, shelve
from app.records.upgrades import copy_database


def backing_up(
    db: sqlite3.Connection, folder: Path, target: Path
) -> Generator[tuple[int, int, str], None, tuple[PhotoFault, ...]]:
    """Copy a survey to a new folder, which appears when it is whole.

    The database is copied first, then every photo it knows: photos are never taken away, so the
    copy is complete even while readings are being added. Photos that are missing or damaged are
    left out and named; they do not stop the backup.

    Yields photos done, photos in all, and the name of the one just done; returns the faults.

    Raises
    ------
    RecordsError
        If there is something at the target already.
    """
    if target.exists():
        raise RecordsError(
            f"There is something at {target} already.",
            what_to_do="Choose a new name, for example with the date.",
        )
    part = target.with_name(f".{target.name}.part")
    shutil.rmtree(part, ignore_errors=True)
    try:
        shelf = part / PHOTOS
        shelf.mkdir(parents=True)
        copy_database(db, part / DATABASE)
        found = []
        photos = _photos_of(part / DATABASE)
        checks = faults(iter(photos), folder / PHOTOS)
        for done, ((sha256, file, name), (_, fault)) in enumerate(
            zip(photos, checks, strict=True), start=1
        ):
            if fault is None:
                shelve(folder / PHOTOS / file, sha256, shelf)
            else:
                found.append(fault)
            yield done, len(photos), name
        settle(shelf)
        flush_folder(part)
        part.replace(target)
        flush_folder(target.parent)
        return tuple(found)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _photos_of(path: Path) -> list[tuple[str, str, str]]:
    db = connect(path, "ro")
    try:
        return db.execute("SELECT sha256, file, name FROM photos ORDER BY name, sha256").fetchall()
    finally:
        db.close()
