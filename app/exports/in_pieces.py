"""Writing that says after each row how far it is, so that it can be shown and stopped."""

from collections.abc import Callable, Generator
from functools import wraps
from typing import ParamSpec

Given = ParamSpec("Given")
Writing = Generator[int, None, int]
"""Yields rows written so far, returns rows in all."""


def to_the_end(writing: Callable[Given, Writing]) -> Callable[Given, int]:
    """Make a function that writes to the end of one that writes in pieces."""

    @wraps(writing)
    def write(*args: Given.args, **kwargs: Given.kwargs) -> int:
        pieces = writing(*args, **kwargs)
        while True:
            try:
                next(pieces)
            except StopIteration as end:
                return int(end.value)

    return write
