"""Read many photos, as many at a time as there are cores, in the order given."""

import logging
from collections import deque
from collections.abc import Generator, Sequence
from concurrent.futures import Executor, Future
from functools import partial

from app.tasks.read_photo import ReadOrder, failed, read_one
from app.tube_reading import TubeReading
from colorcore._cv import cv2

AHEAD = 4  # photos handed out per worker before their turn, so that memory stays bounded

log = logging.getLogger(__name__)


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
    begun. Meanwhile OpenCV works on one core a photo: the photos share the cores out.
    """
    cores = cv2.getNumThreads()
    if len(photos) > 1:
        cv2.setNumThreads(1)
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
        cv2.setNumThreads(cores)
        for future in waiting:
            future.cancel()
