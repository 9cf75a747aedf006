"""Which files of a watched folder are new and whole."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from app.tasks.photo_files import PHOTO_ENDINGS

Stamp = tuple[int, int]
"""Size in bytes and time of the last change, nanoseconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderWatch:
    """What is known of a watched folder.

    Parameters
    ----------
    folder : Path
        The folder.
    seen : mapping of Path to Stamp
        Files as they were when they were last looked at.
    taken : frozenset of Path
        Those that have been taken, or were there before the watch began.
    """

    folder: Path
    seen: Mapping[Path, Stamp]
    taken: frozenset[Path]


def stamps(folder: Path) -> dict[Path, Stamp]:
    """Photos of a folder as they are now; hidden and unfinished names are left out.

    Raises
    ------
    OSError
        If the folder cannot be read.
    """
    found = {}
    for path in folder.iterdir():
        if path.suffix.casefold() in PHOTO_ENDINGS and not path.name.startswith((".", "~")):
            try:
                facts = path.stat()
            except FileNotFoundError:
                continue  # it went away while we looked
            found[path] = (facts.st_size, facts.st_mtime_ns)
    return found


def begin_watch(folder: Path, *, take_present: bool) -> FolderWatch:
    """Begin to watch a folder, with or without the photos that are in it already."""
    present = frozenset() if take_present else frozenset(stamps(folder))
    return FolderWatch(folder=folder, seen={}, taken=present)


def look_in(watch: FolderWatch, now: Mapping[Path, Stamp]) -> tuple[FolderWatch, tuple[Path, ...]]:
    """Return the watch after a look, and the photos that are new and whole.

    A file counts as whole when it is not empty and two looks found the same size and time: one
    that is still being copied waits.

    Examples
    --------
    >>> photo = Path("a.jpg")
    >>> watch = FolderWatch(folder=Path("."), seen={}, taken=frozenset())
    >>> watch, new = look_in(watch, {photo: (10, 1)})
    >>> new
    ()
    >>> watch, new = look_in(watch, {photo: (20, 2)})  # has grown
    >>> watch, new = look_in(watch, {photo: (20, 2)})
    >>> [path.name for path in new]
    ['a.jpg']
    """
    whole = tuple(
        sorted(
            (
                path
                for path, stamp in now.items()
                if path not in watch.taken and stamp[0] > 0 and watch.seen.get(path) == stamp
            ),
            key=lambda path: (now[path][1], path.name),
        )
    )
    taken = watch.taken | frozenset(whole)
    return FolderWatch(folder=watch.folder, seen=dict(now), taken=taken), whole
