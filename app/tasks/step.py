"""How far a long task is, and the way to run one to its end."""

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import TypeVar

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """How far a task is.

    Parameters
    ----------
    done, total : int
        Pieces of work done and in all.
    note : str
        What has just been done.
    """

    done: int
    total: int
    note: str


Task = Generator[Step, None, Result]


def finish(task: Task[Result], on_step: Callable[[Step], None] | None = None) -> Result:
    """Run a task to its end and return its result."""
    while True:
        try:
            step = next(task)
        except StopIteration as end:
            return end.value  # type: ignore[no-any-return]
        if on_step is not None:
            on_step(step)
