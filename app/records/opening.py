"""How a survey's database is opened: to write, to read, or from a copy where it must be."""

import shutil
import sqlite3
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from app.records.connection import connect, set_journal
from app.records.errors import RecordsError
from app.records.file_system import LockImpossibleError, on_network, take_lock
from app.records.photo_shelf import sweep
from app.records.upgrades import copy_before, format_of, newest_format, upgrade

DATABASE = "survey.sqlite"
LOCK = "survey.lock"
PHOTOS = "photos"

ASKED = "It was opened for reading."
ELSEWHERE = (
    "It is open in another window or command, so it is read-only here; what is written there shows "
    "here too."
)
NO_RIGHTS = "The folder may not be written to, so it is read-only."
NO_LOCKS = (
    "This drive cannot lock files, so two programs could write at once; it is read-only. Copy the "
    "folder to a local disk to write."
)

_UNFINISHED = {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR}
"""What SQLite says where it would have to write before it can read."""

_WAL_MARK = slice(18, 20)
"""Bytes of the file's head that are 2 in write-ahead mode (SQLite file format, 1.3.3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """An open database.

    Parameters
    ----------
    db : sqlite3.Connection
        The connection.
    read_only_because : str or None
        Why nothing can be written; None where it can.
    upgraded_from : int or None
        The older format that the file had.
    holding : ExitStack
        Gives back the lock or the private copy when it is closed.
    """

    db: sqlite3.Connection
    read_only_because: str | None
    upgraded_from: int | None
    holding: ExitStack


def open_database(folder: Path, *, readonly: bool) -> Opened:
    """Open the database of a survey, to write where that is possible.

    Raises
    ------
    RecordsError, sqlite3.Error, OSError
        If it cannot be opened at all.
    """
    path = folder / DATABASE
    if not path.is_file():
        raise RecordsError(
            f"There is no survey in {folder}.",
            what_to_do="Choose the folder that `tintwell new` made, or make a new survey.",
        )
    with ExitStack() as holding:
        because = ASKED if readonly else _lock(folder, holding)
        if because is None:
            db, version = _open_to_write(folder, path, holding)
        else:
            db, version = _open_to_read(folder, path, holding)
        return Opened(
            db=db,
            read_only_because=because,
            upgraded_from=version if version < newest_format() else None,
            holding=holding.pop_all(),
        )


def _lock(folder: Path, holding: ExitStack) -> str | None:
    """Lock the survey for writing; say why where that cannot be."""
    try:
        lock = take_lock(folder / LOCK)
    except LockImpossibleError:
        return NO_LOCKS
    except OSError:
        return NO_RIGHTS
    if lock is None:
        return ELSEWHERE
    holding.callback(lock.close)
    return None


def _open_to_write(folder: Path, path: Path, holding: ExitStack) -> tuple[sqlite3.Connection, int]:
    db = connect(path, "rw")
    holding.callback(db.close)
    version = format_of(db, str(folder))
    set_journal(db, network=on_network(folder))
    (folder / PHOTOS).mkdir(exist_ok=True)
    sweep(folder / PHOTOS)
    if version < newest_format():
        copy_before(db, folder, version)
        upgrade(db, version)
    return db, version


def _open_to_read(folder: Path, path: Path, holding: ExitStack) -> tuple[sqlite3.Connection, int]:
    db = None if _must_copy(folder, path) else _try_to_read(path)
    if db is not None:
        version = _format_of_or_close(db, folder)
        if version == newest_format():
            holding.callback(db.close)
            return db, version
        db.close()
    return _open_copy(folder, path, holding)


def _try_to_read(path: Path) -> sqlite3.Connection | None:
    """Open a database where it lies; None where a program that was cut off left it unfinished."""
    try:
        db = connect(path, "ro")
        try:
            db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except BaseException:
            db.close()
            raise
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF in _UNFINISHED:
            return None
        raise
    return db


def _format_of_or_close(db: sqlite3.Connection, folder: Path) -> int:
    """Return the format; the connection is closed where there is none."""
    try:
        return format_of(db, str(folder))
    except BaseException:
        db.close()
        raise


def _must_copy(folder: Path, path: Path) -> bool:
    """Whether a share holds a file in write-ahead mode, which cannot be followed from here."""
    if not on_network(folder):
        return False
    with path.open("rb") as file:
        return file.read(20)[_WAL_MARK] == b"\x02\x02"


def _open_copy(folder: Path, path: Path, holding: ExitStack) -> tuple[sqlite3.Connection, int]:
    """Copy database and unfinished work to a place of our own, finish it there, and read that."""
    place = Path(holding.enter_context(tempfile.TemporaryDirectory(prefix="survey-")))
    for ending in ("", "-wal", "-journal"):
        part = path.with_name(path.name + ending)
        if part.exists():
            shutil.copyfile(part, place / part.name)
    db = connect(place / path.name, "rw")
    holding.callback(db.close)
    version = format_of(db, str(folder))
    if version < newest_format():
        upgrade(db, version)
    db.execute("PRAGMA query_only = ON")
    return db, version
