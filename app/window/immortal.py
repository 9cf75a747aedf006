"""Keeps None, True and False alive on Python 3.11, as later versions do by themselves.

PySide6 6.12 gives them back more often than it takes them: `QTimer.start()` and every other call
that returns None lowers the count of None by one (measured: 200 calls, 200 fewer). From Python 3.12
on they are immortal (PEP 683); before, the interpreter ends when a count reaches zero.
"""

import sys

PLENTY = 1 << 40


def make_immortal() -> None:
    """Raise the counts out of reach, once."""
    if sys.version_info >= (3, 12):
        return
    from ctypes import c_ssize_t

    for value in (None, True, False):
        if sys.getrefcount(value) < PLENTY // 2:
            c_ssize_t.from_address(id(value)).value += PLENTY
