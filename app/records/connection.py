"""Connections to the database: how they are opened, and what their errors mean."""

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from app.records.errors import (
    NoRoomError,
    RecordsDamagedError,
    RecordsError,
    RecordsReadOnlyError,
)

WAIT_S = 5.0
"""How long a connection waits for another one of the same program to finish."""

LEAST_SQLITE = (3, 37, 0)
"""The first with STRICT tables."""

CACHE_KB = 32_000
"""Pages kept in memory: most of what sorting 100,000 readings goes through."""

_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


def address(path: Path, mode: str) -> str:
    """Return the URI of a database's file, whatever characters its name holds."""
    name = path.absolute().as_posix()
    return f"file://{quote(name if name.startswith('/') else '/' + name)}?mode={mode}"


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """Open a database.

    Parameters
    ----------
    path : Path
        Its file.
    mode : {"ro", "rw", "rwc"}
        To read, to write, or to make a new one.

    Raises
    ------
    sqlite3.Error
        If it cannot be opened.
    RecordsError
        If the SQLite of this computer is too old.
    """
    if sqlite3.sqlite_version_info < LEAST_SQLITE:
        raise RecordsError(
            f"This computer's SQLite is {sqlite3.sqlite_version}; "
            f"{'.'.join(map(str, LEAST_SQLITE))} is needed.",
            what_to_do="Update Python.",
        )
    db = sqlite3.connect(address(path, mode), uri=True, timeout=WAIT_S, isolation_level=None)
    try:
        db.execute("PRAGMA trusted_schema = OFF")  # the file may be a stranger's
        db.execute("PRAGMA cell_size_check = ON")
        db.execute("PRAGMA foreign_keys = ON")
        db.execute("PRAGMA synchronous = FULL")
        db.execute(f"PRAGMA cache_size = -{CACHE_KB}")
        db.execute("PRAGMA secure_delete = ON")  # a blanked name is gone from the file too
        if mode == "ro":
            db.execute("PRAGMA query_only = ON")
    except BaseException:
        db.close()
        raise
    return db


def set_journal(db: sqlite3.Connection, *, network: bool) -> None:
    """Write ahead on a local disk; on a share, where that is unsafe, keep a rollback journal."""
    if not network:
        db.execute("PRAGMA journal_mode = WAL").fetchone()  # SQLite keeps another where it must
        return
    # A file left in WAL mode is turned back without the shared memory that a share cannot give.
    db.execute("PRAGMA locking_mode = EXCLUSIVE").fetchone()
    db.execute("PRAGMA journal_mode = DELETE").fetchone()
    db.execute("PRAGMA locking_mode = NORMAL").fetchone()
    db.execute("SELECT count(*) FROM sqlite_master").fetchone()  # lets go of the lock


def tidy_up(db: sqlite3.Connection) -> None:
    """Move everything into the one file, so that it can be copied, zipped and opened read-only.

    While another connection is open, or where the disk is full, this is left for another time:
    what was kept is safe in the journal file.
    """
    db.execute("PRAGMA busy_timeout = 0")
    try:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        db.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF not in {*_BUSY, sqlite3.SQLITE_FULL}:
            raise


@contextmanager
def plainly(folder: Path) -> Iterator[None]:
    """Turn errors of database and disk into sentences for the user."""
    try:
        yield
    except sqlite3.Error as error:
        raise _said(error, folder) from error
    except UnicodeDecodeError as error:  # even SQLite's own messages may quote a forged file
        raise RecordsDamagedError(
            f"The database of {folder} holds text that is none.",
            what_to_do="Restore a backup; keep the damaged folder until that is done.",
        ) from error
    except OSError as error:
        raise _said_of_disk(error, folder) from error


def _said(error: sqlite3.Error, folder: Path) -> RecordsError:
    code = getattr(error, "sqlite_errorcode", None)
    kind = None if code is None else code & 0xFF
    if kind == sqlite3.SQLITE_FULL:
        return no_room(folder)
    if kind in _DAMAGED:
        return RecordsDamagedError(
            f"The database of {folder} is damaged ({error}).",
            what_to_do="Restore a backup; keep the damaged folder until that is done.",
        )
    if kind in _BUSY:
        return RecordsError(
            f"The survey {folder} is being written to by another program.",
            what_to_do="Try again in a moment.",
        )
    if kind == sqlite3.SQLITE_READONLY:
        return RecordsReadOnlyError(
            f"The survey {folder} may not be written to.",
            what_to_do="Copy the folder to a place of your own and open it there.",
        )
    if kind == sqlite3.SQLITE_CONSTRAINT:
        return RecordsError(
            f"The survey refused an entry: {error}.", what_to_do="Nothing was changed."
        )
    return RecordsError(
        f"The database of {folder} could not be used ({error}).",
        what_to_do="Check that the disk is connected and has room; nothing was changed.",
    )


def _said_of_disk(error: OSError, folder: Path) -> RecordsError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return no_room(folder)
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return RecordsReadOnlyError(
            f"{error.filename or folder} may not be used ({error.strerror}).",
            what_to_do="Check the rights of the folder, or choose another.",
        )
    return RecordsError(
        f"{error.filename or folder} cannot be used ({error.strerror}).",
        what_to_do="Check the name, and that the disk is connected.",
    )


def no_room(folder: Path) -> NoRoomError:
    """Say that a disk is full."""
    return NoRoomError(
        f"The disk of {folder} is full.",
        what_to_do="Make room and do it again: nothing of it was kept.",
    )


@contextmanager
def transaction(db: sqlite3.Connection) -> Iterator[None]:
    """Everything inside is kept, or nothing."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
