"""Printed QR codes: labels that name samples, and the window's clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import parse_qs, urlencode, urlsplit

import numpy as np
from numpy.typing import NDArray

from app.errors import OrderError
from app.survey.names import tidy_name
from app.tube_reading import TubeEntry
from colorcore._cv import cv2
from colorcore.geometry import Box
from colorcore.photo import Photo

SAMPLE = "tintwell:sample"
CLOCK = "tintwell:clock"
LONG_SIDE = 1600  # pixels in which codes are looked for; a module then has 3 and more
LONGEST = 120  # characters of a sample's name that a code of a label's size can carry


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenLabel:
    """A label in a photo.

    Parameters
    ----------
    sample : str
        What it says.
    replicate : str or None
        What it says.
    center_x : float
        Where it is, full-size upright pixels from the left.
    """

    sample: str
    replicate: str | None
    center_x: float


def label_text(sample: str, replicate: str | None = None) -> str:
    """Return what a label's QR code holds: a URI query (RFC 3986), so any name goes in.

    Examples
    --------
    >>> label_text("Plot A", "2")
    'tintwell:sample?name=Plot+A&replicate=2'
    """
    name = tidy_name(sample)
    if not name or len(name) > LONGEST:
        raise OrderError(
            f"A label needs a sample name of 1 to {LONGEST} characters.",
            what_to_do="Shorten the name, or write it by hand.",
        )
    said = {"name": name} | ({"replicate": replicate} if replicate else {})
    return f"{SAMPLE}?{urlencode(said)}"


def parse_label(text: str) -> tuple[str, str | None] | None:
    """Return sample and replicate of a code's text; None where it is no label of ours.

    Examples
    --------
    >>> parse_label("tintwell:sample?name=Plot+A&replicate=2"), parse_label("tea")
    (('Plot A', '2'), None)
    """
    try:
        parts = urlsplit(text)
        said = parse_qs(parts.query, max_num_fields=4)
    except ValueError:
        return None
    name = tidy_name(said.get("name", [""])[0])
    if f"{parts.scheme}:{parts.path}" != SAMPLE or not name or len(name) > LONGEST:
        return None
    replicate = tidy_name(said.get("replicate", [""])[0])[:LONGEST]
    return name, replicate or None


def code_modules(text: str) -> NDArray[np.bool_]:
    """Return the QR code of a text, shape (n, n), True where it is dark, without quiet zone."""
    picture = np.asarray(cv2.QRCodeEncoder.create().encode(text))
    dark = picture < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return np.asarray(dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1])


def clock_text(now: datetime) -> str:
    """Return what the window's clock shows as a QR code (time as ISO 8601, to the second)."""
    return f"{CLOCK}?{urlencode({'time': now.isoformat(timespec='seconds')})}"


def parse_clock(text: str) -> datetime | None:
    """Return the time that a code shows; None where it is no clock of ours.

    Examples
    --------
    >>> str(parse_clock("tintwell:clock?time=2026-03-01T09%3A00%3A00%2B00%3A00"))
    '2026-03-01 09:00:00+00:00'
    """
    try:
        parts = urlsplit(text)
        said = parse_qs(parts.query, max_num_fields=4)
        time = datetime.fromisoformat(said.get("time", [""])[0])
    except ValueError:
        return None
    ours = f"{parts.scheme}:{parts.path}" == CLOCK and time.utcoffset() is not None
    return time if ours else None


def find_codes(photo: Photo) -> tuple[tuple[str, float], ...]:
    """Find QR codes in a photo: text, and middle in full-size pixels from the left."""
    codes = photo.codes()
    factor = min(1.0, LONG_SIDE / max(codes.shape[:2]))
    if codes.dtype != np.uint8:
        codes = (codes >> 8).astype(np.uint8)
    size = (max(1, round(codes.shape[1] * factor)), max(1, round(codes.shape[0] * factor)))
    small = cv2.resize(codes, size, interpolation=cv2.INTER_AREA)
    grey = cv2.cvtColor(small, cv2.COLOR_BGR2GRAY)
    found, texts, corners, _ = cv2.QRCodeDetector().detectAndDecodeMulti(grey)
    if not found or corners is None:
        return ()
    scale = photo.width / size[0]
    middles = [float(quad[:, 0].mean()) * scale for quad in np.asarray(corners)]
    return tuple(zip(texts, middles, strict=True))


def labels_of(codes: Sequence[tuple[str, float]]) -> tuple[SeenLabel, ...]:
    """Return the labels among the codes of a photo, from the left."""
    labels = []
    for text, middle in codes:
        said = parse_label(text)
        if said is not None:
            labels.append(SeenLabel(sample=said[0], replicate=said[1], center_x=middle))
    return tuple(sorted(labels, key=lambda label: label.center_x))


def entries_of(labels: Sequence[SeenLabel], tubes: Sequence[Box]) -> tuple[TubeEntry, ...]:
    """Say what the labels say of each tube.

    One label names all tubes of its photo (the tests of one sample often stand side by side). Of
    several, each tube takes the nearest in breadth.

    Examples
    --------
    >>> a = SeenLabel(sample="A", replicate=None, center_x=10.0)
    >>> b = SeenLabel(sample="B", replicate=None, center_x=90.0)
    >>> tubes = [Box(0, 0, 10, 50), Box(70, 0, 10, 50)]
    >>> [entry.sample for entry in entries_of([a, b], tubes)]
    ['A', 'B']
    """
    entries = []
    for box in tubes:
        middle = box.center[0]
        label = min(labels, key=lambda item: abs(item.center_x - middle), default=None)
        entries.append(
            TubeEntry()
            if label is None
            else TubeEntry(sample=label.sample, replicate=label.replicate)
        )
    return tuple(entries)
