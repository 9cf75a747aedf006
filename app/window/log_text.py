"""Lines of the log without what belongs to people: names of files, folders and samples."""

import logging
import re

KEPT_PARTS = 3
"""Parts of a path of our own code that say which file it is."""

_FRAME = re.compile(r'^  File "([^"]+)"(.*)$')
_QUOTED = re.compile(r"'[^'\n]*'|\"[^\"\n]*\"|“[^”\n]*”")
_PATH = re.compile(r"(?:\b[A-Za-z]:)?(?:[\\/][^\\/\s]+)+|\S+\.[A-Za-z][A-Za-z0-9]{1,6}\b")


def without_names(text: str) -> str:
    """Take out what is quoted and what looks like a file; frames keep which code they are.

    Examples
    --------
    >>> without_names("ValueError: sample 'Ada 7' of /home/ada/plot 7.jpg is odd")
    'ValueError: sample … of … … is odd'
    """
    return "\n".join(_line(line) for line in text.split("\n"))


def _line(line: str) -> str:
    frame = _FRAME.match(line)
    if frame:
        parts = re.split(r"[\\/]", frame[1])
        return f'  File "{"/".join(parts[-KEPT_PARTS:])}"{frame[2]}'
    if line.startswith("    "):  # a line of code
        return line
    return _PATH.sub("…", _QUOTED.sub("…", line))


class UnnamedFormatter(logging.Formatter):
    """Writes a record without names; its time and logger stay."""

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802 - logging's name
        """Write the message."""
        record.message = without_names(record.message)
        return super().formatMessage(record)

    def formatException(self, ei: object) -> str:  # noqa: N802 - logging's name
        """Write a trace."""
        return without_names(super().formatException(ei))  # type: ignore[arg-type]
