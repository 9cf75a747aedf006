"""One line of an answer: a tube of a photo, what the user said of it and what it reads."""

from dataclasses import dataclass

from calibration.chart import Chart
from calibration.indicator import Analyte
from calibration.reading import Reading
from colorcore.geometry import Box
from colorcore.measurement import Measurement


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
