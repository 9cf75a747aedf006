"""The window may stay open all day: calls of Qt do not use up None."""

import sys

from PySide6.QtCore import QTimer

import app.window.immortal as immortal


def test_none_is_not_used_up(qapp: object) -> None:
    """Ten thousand calls that return None leave more than could ever be used up."""
    immortal.make_immortal()
    timer = QTimer(singleShot=True, interval=10_000)
    for _ in range(10_000):
        timer.start()
    timer.stop()
    assert sys.getrefcount(None) > 1_000_000_000
