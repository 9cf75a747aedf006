"""The photos of a survey: files named by their fingerprint, written whole or not at all."""

import hashlib
import os
import re
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Literal

from app.records.errors import RecordsError
from app.records.file_system import flush_folder

PIECE = 1 << 20
PART = ".part"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelvedPhoto:
    """A photo as it lies on the shelf.

    Parameters
    ----------
    sha256 : str
        Fingerprint of its bytes.
    file : str
        Its name on the shelf: the fingerprint and the ending of the original name.
    name : str
        The original name, without folder.
    size : int
        Bytes.
    """

    sha256: str
    file: str
    name: str
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFault:
    """A photo that is not as it was kept.

    Parameters
    ----------
    name, file : str
        The original name, and the name on the shelf.
    what : {"missing", "damaged", "unreadable"}
        Not there, other bytes, or the disk does not give it.
    """

    name: str
    file: str
    what: Literal["missing", "damaged", "unreadable"]


def shelve(source: Path, sha256: str, shelf: Path) -> ShelvedPhoto:
    """Copy a photo to the shelf, so that it is there and whole, or not there at all.

    Parameters
    ----------
    source : Path
        The photo.
    sha256 : str
        The fingerprint it had when it was read.
    shelf : Path
        The folder.

    Raises
    ------
    RecordsError
        If the photo is gone or is not what was read.
    OSError
        If the disk refuses or is full; nothing is left behind.
    """
    if not source.is_file():
        raise RecordsError(
            f"The photo {source} is not there any more, so its readings cannot be kept.",
            what_to_do="Put it back and keep them again.",
        )
    ending = source.suffix.lower()
    file = sha256 + (ending if re.fullmatch(r"\.[a-z0-9]{1,5}", ending) else "")
    target = shelf / file
    if not (target.is_file() and fingerprint(target) == sha256):
        _copy(source, sha256, target)
    return ShelvedPhoto(sha256=sha256, file=file, name=source.name, size=target.stat().st_size)


def _copy(source: Path, sha256: str, target: Path) -> None:
    part = target.with_name(f".{sha256[:16]}-{os.getpid()}-{threading.get_ident()}{PART}")
    try:
        with source.open("rb") as old, part.open("wb") as new:
            if _digest(old, copy_to=new) != sha256:
                raise RecordsError(
                    f"The photo {source} has changed since it was read.",
                    what_to_do="Read it again and keep that.",
                )
            new.flush()
            os.fsync(new.fileno())
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def fingerprint(path: Path) -> str:
    """SHA-256 of a file, read piece by piece."""
    with path.open("rb") as file:
        return _digest(file)


def _digest(file: IO[bytes], copy_to: IO[bytes] | None = None) -> str:
    digest = hashlib.sha256()
    while piece := file.read(PIECE):
        digest.update(piece)
        if copy_to is not None:
            copy_to.write(piece)
    return digest.hexdigest()


def sweep(shelf: Path) -> None:
    """Remove what a copy that was cut off has left; only who holds the lock may do so."""
    for part in shelf.glob(f".*{PART}"):
        part.unlink(missing_ok=True)


def settle(shelf: Path) -> None:
    """Make sure that the names of new photos survive a power cut."""
    flush_folder(shelf)


def faults(
    photos: Iterator[tuple[str, str, str]], shelf: Path
) -> Iterator[tuple[str, PhotoFault | None]]:
    """Compare every photo with its fingerprint.

    Parameters
    ----------
    photos : iterator of (sha256, file, name)
        What should be there.
    shelf : Path
        The folder.

    Yields
    ------
    (str, PhotoFault or None)
        The name of each photo, and what is wrong with it.
    """
    for sha256, file, name in photos:
        path = shelf / file
        what: Literal["missing", "damaged", "unreadable"] | None = None
        try:
            if Path(file).name != file or not path.is_file():
                what = "missing"
            elif fingerprint(path) != sha256:
                what = "damaged"
        except OSError:
            what = "unreadable"
        yield name, None if what is None else PhotoFault(name=name, file=file, what=what)
