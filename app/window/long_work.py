"""Long work off the screen's thread: started, watched, stopped."""

import logging
import os
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.tasks.step import Step, Task
from colorcore.errors import TintwellError

log = logging.getLogger(__name__)


class Work(QObject):
    """One piece of long work. Its signals arrive on the screen's thread.

    Signals
    -------
    stepped(Step), finished(result), failed(TintwellError), stopped()
        Exactly one of the last three ends it.
    ended(Work)
        After any of them.
    """

    stepped = Signal(object)
    finished = Signal(object)
    failed = Signal(object)
    stopped = Signal()
    ended = Signal(object)

    def __init__(self, title: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.title = title
        self.step: Step | None = None
        self._stopping = False
        self.stepped.connect(self._remember)

    def _remember(self, step: Step) -> None:
        self.step = step

    @property
    def is_stopping(self) -> bool:
        """Whether it was asked to stop."""
        return self._stopping

    def stop(self) -> None:
        """Ask it to stop; it does so before its next step."""
        self._stopping = True

    def run(self, task: Task[Any]) -> None:
        """Drive the task to its end; called on a thread of the pool."""
        try:
            while not self._stopping:
                self.stepped.emit(next(task))
            task.close()
            self.stopped.emit()
        except StopIteration as end:
            self.finished.emit(end.value)
        except TintwellError as error:
            self.failed.emit(error)
        except Exception as error:
            # the window's door: a fault in a task is logged and told, the window stays
            log.exception("%s failed", self.title)
            fault = TintwellError(
                f"{self.title} failed ({type(error).__name__}: {error}).",
                what_to_do="Try again, and report it with the log (Help, Show the log).",
            )
            self.failed.emit(fault)
        finally:
            self.ended.emit(self)


class WorkBench(QObject):
    """All long work of the window.

    Signals
    -------
    changed()
        Work began, stepped or ended.
    """

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workers = max(1, os.cpu_count() or 1)
        # one thread more, for an open camera holds one as long as it is open
        self._pool = ThreadPoolExecutor(self.workers + 1, thread_name_prefix="work")
        self._works: list[Work] = []
        self.is_closed = False

    @property
    def works(self) -> tuple[Work, ...]:
        """What is going on, oldest first."""
        return tuple(self._works)

    def start(
        self,
        title: str,
        task: Task[Any],
        *,
        on_finished: Callable[[Any], None],
        on_failed: Callable[[TintwellError], None],
        on_stopped: Callable[[], None] | None = None,
    ) -> Work:
        """Begin a task; the callbacks must be methods of objects of the screen's thread."""
        work = Work(title, self)
        work.finished.connect(on_finished)
        work.failed.connect(on_failed)
        if on_stopped is not None:
            work.stopped.connect(on_stopped)
        work.stepped.connect(self._changed)
        work.ended.connect(self._forget)
        self._works.append(work)
        self._pool.submit(work.run, task)
        self.changed.emit()
        return work

    def submit(self, function: Callable[..., Any], *given: Any) -> Future[Any]:
        """Run a short function on the pool, without progress."""
        return self._pool.submit(function, *given)

    def _changed(self) -> None:
        self.changed.emit()

    def _forget(self, work: Work) -> None:
        self._works.remove(work)
        work.deleteLater()
        self.changed.emit()

    def close(self) -> None:
        """Stop everything and wait for it."""
        if self.is_closed:
            return
        self.is_closed = True
        for work in self._works:
            work.stop()
        self._pool.shutdown(wait=True, cancel_futures=True)
