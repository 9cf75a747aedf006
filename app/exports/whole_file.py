"""A file that appears only when it is whole."""

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.errors import OrderError


def check_free(target: Path, *, replace: bool) -> None:
    """Refuse to write over what is there already, unless that was asked for.

    Raises
    ------
    OrderError
        If there is something at the target.
    """
    if not replace and target.exists():
        raise OrderError(
            f"There is a file {target} already; nothing was written.",
            what_to_do="Choose another name, or let it be replaced with --replace.",
        )


@contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """Give a place to write to; at the end what is there takes the target's place.

    Raises
    ------
    OrderError
        If the disk refuses; what was at the target before is still there.
    """
    part = target.with_name(f".{os.getpid()}-{threading.get_ident()}.part")
    try:
        yield part
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        raise OrderError(
            f"{target} cannot be written ({error.strerror}).",
            what_to_do="Choose another place, or make room on the disk.",
        ) from error
    finally:
        part.unlink(missing_ok=True)
