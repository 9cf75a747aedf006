"""A file that appears only when it is whole."""

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.errors import OrderError


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
