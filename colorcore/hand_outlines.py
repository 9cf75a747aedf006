"""Outlines that the user drew over a photo, in place of those that were found."""

from dataclasses import dataclass

from colorcore.geometry import Quad
from colorcore.reasons import Reason

CARD_BY_HAND = Reason(
    code="outline_by_hand",
    text="The grey card was drawn by hand.",
    what_to_do="Nothing, if the outline lies inside its evenly grey part.",
    weight="note",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandTube:
    """Where the user says that a tube is read.

    Parameters
    ----------
    found : int or None
        Place from the left, from 1, of the tube that was found there; None where none was.
    region : Quad or None
        Corners of the region to read, full-size upright pixels; None: as it was found.
    """

    found: int | None
    region: Quad | None

    def __post_init__(self) -> None:
        if self.found is None and self.region is None:
            raise ValueError("a tube that was not found needs a region")


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOutlines:
    """What the user drew over a photo.

    Parameters
    ----------
    card : Quad or None
        Corners of the grey area; None: as it was found.
    tubes : tuple of HandTube or None
        All tubes that count, in any order; None: as they were found.
    """

    card: Quad | None = None
    tubes: tuple[HandTube, ...] | None = None
