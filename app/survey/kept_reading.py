"""A reading that was kept, and how kept readings are chosen and ordered."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from app.tube_reading import KnownTube, TubeReading
from calibration.reading import Status
from colorcore.measurement import Triple

SortKey = Literal[
    "kept", "sample", "photo", "quantity", "value", "status", "confidence", "taken", "person"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptReading:
    """A reading as it was kept. It is never changed: a correction is another one that names it.

    Parameters
    ----------
    id : int
        Number in the survey, rising in the order of keeping.
    kept_at : datetime
        With its offset from UTC.
    person : str
        Code of the person who kept it.
    software_version : str
        What read it.
    test : str or None
        The test it belongs to, where the survey has exactly one of that sample and quantity.
    line : TubeReading
        The reading with chart, measurement and places; `photo` is the file's name alone.
    known : tuple of KnownTube
        Tubes of known value in the photo, as they were declared.
    card_reflectance : tuple or None
        Of the card, where it was not the chart's.
    corrects : int or None
        The reading that this one takes the place of.
    correction : str or None
        Why.
    withdrawn : bool
        Whether it takes the other's place only to say that it no longer stands.
    corrected_by : int or None
        The reading that took the place of this one.
    origin : str or None
        Survey and number that it had in another survey; None for one of this survey.
    """

    id: int
    kept_at: datetime
    person: str
    software_version: str
    test: str | None
    line: TubeReading
    known: tuple[KnownTube, ...]
    card_reflectance: Triple | None
    corrects: int | None
    correction: str | None
    withdrawn: bool
    corrected_by: int | None
    origin: str | None = None

    @property
    def stands(self) -> bool:
        """Whether it counts: neither withdrawn nor replaced."""
        return not self.withdrawn and self.corrected_by is None

    @property
    def taken_at(self) -> datetime | None:
        """When the photo was taken, as its file says."""
        return None if self.line.measurement is None else self.line.measurement.taken_at


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFilter:
    """Which kept readings are wanted; None means any.

    Parameters
    ----------
    sample, site, quantity, status, role, chart_id, person : str or None
        Exactly this one.
    photo : str or None
        Fingerprint of the photo.
    text : str or None
        Contained in the sample's label, the replicate or the photo's name; ASCII letters of
        either case match.
    kept_from, kept_before : datetime or None
        Kept in this span, the second end excluded; with their offset from UTC.
    only_standing : bool
        Leave out what was withdrawn or replaced.
    """

    sample: str | None = None
    site: str | None = None
    quantity: str | None = None
    status: Status | None = None
    role: str | None = None
    chart_id: str | None = None
    person: str | None = None
    photo: str | None = None
    text: str | None = None
    kept_from: datetime | None = None
    kept_before: datetime | None = None
    only_standing: bool = True

    def __post_init__(self) -> None:
        for name in ("kept_from", "kept_before"):
            time = getattr(self, name)
            if time is not None and time.utcoffset() is None:
                raise ValueError(f"{name} must carry its offset from UTC")
