"""Who reads the photos of a batch on this computer: threads, all but one with a process to help.

Threads alone wait for each other's turn in the interpreter. A process needs a moment to start;
until it is ready, and when it has gone, its thread reads by itself.
"""

import multiprocessing
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from typing import Any, ParamSpec, TypeVar

from app.errors import OrderError
from colorcore._cv import cv2

WORTH_A_PROCESS = 12  # photos; fewer are read before a process has started

_P = ParamSpec("_P")
_T = TypeVar("_T")


@contextmanager
def readers(workers: int, photos: int) -> Iterator[Executor]:
    """Give an executor that reads so many photos, `workers` at a time.

    What is handed to it, and what comes back, must be fit for pickling.
    """
    helpers = workers - 1 if photos >= WORTH_A_PROCESS else 0
    # a copy of this process is ready at once, but only one of a single thread can be copied safely
    context: Any = multiprocessing.get_context("fork" if _threads() == 1 else "spawn")
    started: list[tuple[BaseProcess, Connection]] = []
    try:
        for _ in range(helpers):
            ours, theirs = context.Pipe()
            process = context.Process(target=_serve, args=(theirs, ours), daemon=True)
            process.start()
            theirs.close()  # so that the end of a process ends what is waited for from it
            started.append((process, ours))
        with ThreadPoolExecutor(workers) as threads:
            connections = tuple(connection for _, connection in started)
            yield _Readers(threads, connections) if connections else threads
    finally:
        for process, _ in started:
            process.terminate()
            process.join()


def _threads() -> int:
    """Return how many threads of any kind this process has; 0 where that cannot be told."""
    try:
        return len(list(Path("/proc/self/task").iterdir()))
    except OSError:
        return 0


def _serve(connection: Connection, other_end: Connection) -> None:
    """Do what comes in, until nobody is left at the other end."""
    other_end.close()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it decides when to stop
    cv2.setNumThreads(1)
    try:
        connection.send(None)  # ready
        while True:
            connection.send(connection.recv()())
    except (EOFError, OSError):
        return


class _Readers(Executor):
    """Threads that leave the work to processes where one is free."""

    def __init__(self, threads: Executor, processes: tuple[Connection, ...]) -> None:
        self._threads = threads
        self._free: SimpleQueue[Connection] = SimpleQueue()
        for process in processes:
            Thread(target=self._welcome, args=(process,), daemon=True).start()

    def _welcome(self, process: Connection) -> None:
        try:
            process.recv()
        except (EOFError, OSError):
            return
        self._free.put(process)

    def submit(
        self, function: Callable[_P, _T], /, *given: _P.args, **named: _P.kwargs
    ) -> Future[_T]:
        """Do this work as soon as somebody has the time."""
        return self._threads.submit(self._do, partial(function, *given, **named))

    def _do(self, work: Callable[[], _T]) -> _T:
        try:
            process = self._free.get_nowait()
        except Empty:
            return work()
        try:
            process.send(work)
            answer: _T = process.recv()
        except (EOFError, OSError) as error:
            raise OrderError(
                "The process that read the photo has ended.",
                what_to_do="Read the photo by itself, on a computer with more memory free.",
            ) from error
        self._free.put(process)
        return answer
