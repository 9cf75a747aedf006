"""Read many photos, as many at a time as there are cores, in the order given."""

import logging
from collections import deque
from collections.abc import Generator, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from functools import partial

from app.errors import OrderError
from app.tasks.read_photo import ReadOrder, failed, read_one, unreadable
from app.tube_reading import TubeReading
from colorcore._cv import cv2
from colorcore.errors import TintwellError

AHEAD = 4  # photos handed out per worker before their turn, so that memory stays bounded

log = logging.getLogger(__name__)


def guarded(photo: str, order: ReadOrder) -> tuple[TubeReading, ...]:
    """Read one photo; whatever goes wrong with it is logged and becomes a refused line."""
    try:
        return read_one(photo, order)
    except TintwellError as error:  # a chart, say, that only shows itself to be wrong in use
        return (unreadable(photo, order, error),)
    except Exception as error:
        log.exception("a photo could not be read")
        return failed(photo, order, error)


def _result(
    photo: str, future: Future[tuple[TubeReading, ...]], order: ReadOrder
) -> tuple[TubeReading, ...]:
    """Wait for a photo's lines; a photo that brings its readers down becomes a refused line."""
    try:
        return future.result()
    except (CancelledError, BrokenExecutor) as error:
        raise OrderError(
            "Those who read the photos are gone; what was read until then is complete.",
            what_to_do="Start them again and carry on with --resume.",
        ) from error
    except TintwellError as error:
        return (unreadable(photo, order, error),)
    except Exception as error:
        log.exception("a photo could not be read")
        return failed(photo, order, error)


def read_batch(
    photos: Sequence[str], order: ReadOrder, executor: Executor, workers: int
) -> Generator[tuple[TubeReading, ...], None, None]:
    """Read photos on an executor; yield each photo's lines in the order given.

    Only a few photos per worker are handed out ahead. Closing the iterator cancels what has not
    begun. Meanwhile OpenCV works on one core a photo: the photos share the cores out.

    Raises
    ------
    OrderError
        If the executor is gone.
    """
    cores = cv2.getNumThreads()
    if len(photos) > 1:
        cv2.setNumThreads(1)
    work = partial(guarded, order=order)
    waiting: deque[tuple[str, Future[tuple[TubeReading, ...]]]] = deque()
    rest = iter(photos)
    try:
        for photo in rest:
            waiting.append((photo, executor.submit(work, photo)))
            if len(waiting) >= AHEAD * workers:
                yield _result(*waiting.popleft(), order)
        while waiting:
            yield _result(*waiting.popleft(), order)
    finally:
        cv2.setNumThreads(cores)
        for _, future in waiting:
            future.cancel()
