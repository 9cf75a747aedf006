"""What can go wrong with a survey on disk.

TintwellError
    RecordsError             the survey cannot do what was asked
        RecordsReadOnlyError     it is open for reading alone
        RecordsTooNewError       a newer version of the program wrote it
        RecordsDamagedError      the database or a photo is not as it was written
        NoRoomError              the disk is full
"""

from colorcore.errors import TintwellError


class RecordsError(TintwellError):
    """A survey that cannot do what was asked."""


class RecordsReadOnlyError(RecordsError):
    """A survey that is open for reading alone."""


class RecordsTooNewError(RecordsError):
    """A survey written by a newer version of the program."""


class RecordsDamagedError(RecordsError):
    """A survey that is not as it was written."""


class NoRoomError(RecordsError):
    """A disk that is full."""


NOT_RIGHT = (ValueError, TypeError, LookupError, AttributeError, OverflowError, RecursionError)
"""What making value objects of a damaged or forged database raises."""
