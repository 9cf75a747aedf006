"""What kind of disk a folder lies on, and who may write to it."""

import os
import re
import sys
from pathlib import Path
from typing import IO

NETWORK_TYPES = frozenset(
    (
        *("nfs", "nfs4", "cifs", "smb3", "smbfs", "ncpfs", "afs", "coda", "ceph", "glusterfs"),
        *("9p", "virtiofs", "vboxsf", "vmhgfs", "prl_fs", "drvfs", "davfs", "lustre", "gpfs"),
        *("fuse.sshfs", "fuse.rclone", "fuse.davfs2", "fuse.glusterfs", "fuse.vmhgfs-fuse"),
        *("fuse.smbnetfs", "fuse.gvfsd-fuse", "fuse.s3fs", "fuse.cephfs"),
    )
)
"""Where two computers, or a computer and its guest, see the same files but not the same memory."""

MOUNTS = Path("/proc/self/mounts")


class LockImpossibleError(Exception):
    """The disk cannot lock files."""


def on_network(folder: Path) -> bool:
    """Whether a folder lies on a network share.

    Known on Linux, and on Windows for paths that name a server; elsewhere taken as local, and
    SQLite itself refuses what the disk cannot do.
    """
    full = folder.resolve()
    if str(full).startswith("\\\\"):
        return True
    try:
        mounts = MOUNTS.read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return False
    return type_of_mount(str(full), mounts) in NETWORK_TYPES


def type_of_mount(path: str, mounts: str) -> str | None:
    r"""Type of the file system that holds a path; the last mount over it counts.

    Parameters
    ----------
    path : str
        Absolute.
    mounts : str
        Lines of device, place, type, ...; blanks in a place are written \040.

    Examples
    --------
    >>> type_of_mount("/mnt/my share/a", "/dev/a / ext4 rw\nhost:/x /mnt/my\\040share nfs4 rw\n")
    'nfs4'
    """
    best, found = "", None
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        place = re.sub(r"\\([0-7]{3})", lambda octal: chr(int(octal[1], 8)), parts[1])
        inside = path == place or path.startswith(place.rstrip("/") + "/")
        if inside and len(place) >= len(best):
            best, found = place, parts[2]
    return found


def take_lock(path: Path) -> IO[bytes] | None:
    """Lock a file for this program alone; None where somebody else has it.

    The lock is the operating system's: it ends with the program, however that ends, so that no
    stale one is ever left. It is held until the file that is returned is closed.

    Raises
    ------
    OSError
        If the file cannot be made.
    LockImpossibleError
        If the disk cannot lock files.
    """
    file = path.open("ab")
    try:
        _lock(file)
    except (BlockingIOError, PermissionError):
        file.close()
        return None
    except OSError as error:
        file.close()
        raise LockImpossibleError(str(error)) from error
    return file


if sys.platform == "win32":
    import msvcrt

    def _lock(file: IO[bytes]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(file: IO[bytes]) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)


def flush_folder(folder: Path) -> None:
    """Make sure that new names in a folder survive a power cut, where the system can."""
    if os.name != "posix":  # elsewhere a folder cannot be flushed
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
