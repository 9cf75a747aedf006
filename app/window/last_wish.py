"""Answers from the work bench where only the last wish counts."""

from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.window.long_work import WorkBench


class LastWish(QObject):
    """Runs short functions on the bench; what is no longer wished for is not heard.

    Signals
    -------
    came(answer)
        The answer to the last wish.
    """

    came = Signal(object)
    _done = Signal(int, object)

    def __init__(self, bench: WorkBench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._wished = self._answered = 0
        self._done.connect(self._take)

    @property
    def is_waiting(self) -> bool:
        """Whether an answer is on its way."""
        return self._wished != self._answered

    def wish(self, function: Callable[..., Any], *given: Any) -> None:
        """Run a function in place of the one that was wished for before."""
        self._wished += 1
        turn = self._wished
        future = self._bench.submit(function, *given)
        future.add_done_callback(lambda done: self._bring(done, turn))

    def _bring(self, done: "Future[Any]", turn: int) -> None:
        """Run on a thread of the pool: hand over by signal."""
        if not done.cancelled():
            self._done.emit(turn, done.result())

    def _take(self, turn: int, answer: object) -> None:
        if turn == self._wished:
            self._answered = turn
            self.came.emit(answer)
