"""A sound file that is spoilt in many ways."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Seed:
    """A sound file.

    Parameters
    ----------
    kind : str
        Which door it is taken to.
    name : str
        The file's name; its ending says how it can be spoilt.
    data : bytes
        What it holds.
    """

    kind: str
    name: str
    data: bytes
