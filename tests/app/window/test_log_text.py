"""The log tells what went wrong and not whose it was."""

import logging
import sys

from app.window.log_text import UnnamedFormatter, without_names


def test_a_trace_keeps_its_code_and_loses_its_names() -> None:
    """Names of people, files and samples stay out, whatever raised them."""
    formatter = UnnamedFormatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
    file = "/home/ada/Invented farm/plot-7.jpg"
    try:
        raise OSError(2, "No such file", file)
    except OSError:
        record = logging.getLogger("tintwell.window").makeRecord(
            "app.tasks", logging.ERROR, "", 1, "%s failed: sample 'Ada 7', C:\\Users\\ada\\x.csv",
            ("/home/ada/plot-7.jpg",), sys.exc_info(),
        )  # fmt: skip
    text = formatter.format(record)
    for name in ("ada", "Ada", "plot-7", "Users"):
        assert name not in text
    for kept in ("app.tasks", "ERROR", "test_log_text.py", "raise OSError", "No such file"):
        assert kept in text


def test_a_trace_that_comes_as_text_is_treated_alike() -> None:
    """The window's guard logs the trace as a message."""
    trace = (
        "Traceback (most recent call last):\n"
        '  File "/home/ada/venv/lib/app/tasks/batch.py", line 7, in guarded\n'
        "    return read_one(photo, order)\n"
        "KeyError: 'Ada Invented'\n"
    )
    told = without_names(trace)
    assert "ada" not in told.casefold()
    assert 'app/tasks/batch.py", line 7, in guarded' in told
