"""Read many photos, as many at a time as there are cores, in the order given."""

import logging
from collections import deque
from collections.abc import Generator, Sequence
from concurrent.futures import Executor, Future
from functools import partial
from pathlib import Path

from app.errors import OrderError
from app.tasks.read_photo import ReadOrder, failed, read_one
from app.tube_reading import TubeReading

PHOTO_ENDINGS = frozenset(
    (
        *(".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif"),
        *(".dng", ".cr2", ".cr3", ".nef", ".arw", ".raf", ".orf", ".rw2"),
    )
)
AHEAD = 4  # photos handed out per worker before their turn, so that memory stays bounded

log = logging.getLogger(__name__)


def expand(named: Sequence[str]) -> tuple[str, ...]:
    """Replace folders by the photos in them, in the order of their names.

    Raises
    ------
    OrderError
        If a folder holds no photo.
    """
    found: list[str] = []
    for name in named:
        folder = Path(name)
        if not folder.is_dir():
            found.append(name)
            continue
        inside = sorted(p for p in folder.iterdir() if p.suffix.lower() in PHOTO_ENDINGS)
        if not inside:
            raise OrderError(
                f"The folder {name} holds no photo.", what_to_do="Name another folder."
            )
        found.extend(str(p) for p in inside)
    return tuple(found)


def guarded(photo: str, order: ReadOrder) -> tuple[TubeReading, ...]:
    """Read one photo; whatever goes wrong with it is logged and becomes a refused line."""
    try:
        return read_one(photo, order)
    except Exception as error:
        log.exception("%s could not be read", photo)
        return failed(photo, order, error)


def read_batch(
    photos: Sequence[str], order: ReadOrder, executor: Executor, workers: int
) -> Generator[tuple[TubeReading, ...], None, None]:
    """Read photos on an executor; yield each photo's lines in the order given.

    Only a few photos per worker are handed out ahead. Closing the iterator cancels what has not
    begun.
    """
    work = partial(guarded, order=order)
    waiting: deque[Future[tuple[TubeReading, ...]]] = deque()
    rest = iter(photos)
    try:
        for photo in rest:
            waiting.append(executor.submit(work, photo))
            if len(waiting) >= AHEAD * workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        for future in waiting:
            future.cancel()
