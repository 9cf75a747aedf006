"""What can go wrong, said so that the user knows what to do.

TintwellError
    PhotoError       a picture file that cannot be used
    SheetError       a table of the user's (regions, standards, tubes) that cannot be used
"""


class TintwellError(Exception):
    """Base of every error that is raised on purpose; both halves are shown to the user.

    Parameters
    ----------
    what_happened : str
        One sentence, with the measured number where there is one.
    what_to_do : str
        What the user can try.

    Examples
    --------
    >>> TintwellError("The photo is empty.", what_to_do="Copy it again from the phone.").what_to_do
    'Copy it again from the phone.'
    """

    def __init__(self, what_happened: str, *, what_to_do: str) -> None:
        super().__init__(f"{what_happened} {what_to_do}")
        self.what_happened = what_happened
        self.what_to_do = what_to_do

    def __reduce__(self) -> tuple[object, ...]:
        """Survive the trip between the processes of a batch."""
        return _rebuild, (type(self), self.what_happened, self.what_to_do)


def _rebuild(kind: type[TintwellError], what_happened: str, what_to_do: str) -> TintwellError:
    return kind(what_happened, what_to_do=what_to_do)


class PhotoError(TintwellError):
    """A picture file that cannot be used."""


class SheetError(TintwellError):
    """A table written by the user that cannot be used."""
