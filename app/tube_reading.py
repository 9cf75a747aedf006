"""One line of an answer: a tube of a photo, what the user said of it and what it reads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the first window comes up without numpy
    from datetime import datetime

    from calibration.chart import Chart
    from calibration.indicator import Analyte
    from calibration.reading import Reading
    from colorcore.geometry import Box, Quad
    from colorcore.hand_outlines import HandOutlines
    from colorcore.measurement import Measurement
    from colorcore.reasons import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeEntry:
    """What the user says of one tube of a photo: which sample, test and chart it belongs to."""

    sample: str | None = None
    replicate: str | None = None
    chart: str | None = None
    role: str = "sample"


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownTube:
    """A tube of known value in the photo being read."""

    tube: int
    value: float | None
    label: str | None
    uncertainty: float | None
    analyte: Analyte


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeReading:
    """One line of the answer: one tube of one photo, or a photo with nothing to read.

    Parameters
    ----------
    photo : str
        The photo as it was named.
    tube : int or None
        Place from the left, from 1; None where nothing was found.
    entry : TubeEntry
        What the user said of it.
    chart : Chart or None
        The chart that it was read on.
    reading : Reading
        What it says.
    measurement : Measurement or None
        What was measured.
    box, card : Box or None
        The region that was averaged and the grey area of the card.
    sha256 : str or None
        Fingerprint of the photo.
    hand : HandOutlines or None
        What the user drew over the photo; None where all stands as it was found.
    """

    photo: str
    tube: int | None
    entry: TubeEntry
    chart: Chart | None
    reading: Reading
    measurement: Measurement | None
    box: Box | None
    card: Box | None
    sha256: str | None
    hand: HandOutlines | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeOutline:
    """Where a tube lies in a photo.

    Parameters
    ----------
    vessel : Quad
        Corners of the glass, full-size upright pixels.
    region : Quad or None
        Corners of what is read; None where there is nothing to read.
    found : int or None
        Its place among the tubes that were found without help, from 1.
    by_hand : bool
        Whether the region was drawn by hand.
    """

    vessel: Quad
    region: Quad | None
    found: int | None
    by_hand: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLook:
    """Everything that was seen in a photo and read from it.

    Parameters
    ----------
    width, height : int
        Of the upright photo, pixels; 0 where the file cannot be used.
    card : Quad or None
        Corners of the grey area.
    tubes : tuple of TubeOutline
        From the left.
    measurements : tuple of Measurement or None
        What was measured of each tube on the card's given reflectance, chart or no chart.
    lines : tuple of TubeReading
        The readings; empty where no chart is in use.
    reasons : tuple of Reason
        What is doubtful about the photo as a whole.
    taken_at : datetime or None
        When it was taken, as the file says.
    camera : str or None
        Make and model, as the file says.
    sha256 : str or None
        Fingerprint of the file.
    clock_shown : datetime or None
        Time of the window's clock, where the photo shows it.
    """

    width: int
    height: int
    card: Quad | None
    tubes: tuple[TubeOutline, ...]
    measurements: tuple[Measurement | None, ...]
    lines: tuple[TubeReading, ...]
    reasons: tuple[Reason, ...]
    taken_at: datetime | None
    camera: str | None
    sha256: str | None
    clock_shown: datetime | None = None
