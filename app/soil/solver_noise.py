"""Keeps what a library prints by itself off the standard output, where other programs read."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def hushed() -> Iterator[None]:
    """Let nothing through to the standard output that compiled code prints in the meantime.

    HiGHS, as SciPy 1.17 ships it, prints a line of its own where it repairs a rounded solution;
    no option stops it. On Windows nothing is done, and where there is no standard output.
    """
    try:
        kept = -1 if os.name == "nt" else os.dup(1)
    except OSError:
        kept = -1
    if kept < 0:
        yield
        return
    compiled = ctypes.CDLL(None)
    if sys.stdout is not None:
        sys.stdout.flush()
    compiled.fflush(None)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        compiled.fflush(None)
        os.dup2(kept, 1)
        os.close(nowhere)
        os.close(kept)
