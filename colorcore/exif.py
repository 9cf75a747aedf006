"""What the EXIF block of a picture tells: orientation, time, camera, place and color space.

The block is built like a TIFF, so the same directories serve TIFF files and camera raws. Garbage
tells nothing, and costs nothing.
"""

import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum

from colorcore.color_profile import ADOBE_RGB, SRGB, ColorProfile

TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")


class Tag(IntEnum):
    """The tags that are read: of TIFF 6.0, EXIF 2.32 and DNG."""

    SUBFILE_TYPE = 254
    WIDTH = 256
    HEIGHT = 257
    BITS = 258
    PHOTOMETRIC = 262
    MAKE = 271
    MODEL = 272
    ORIENTATION = 274
    SAMPLES = 277
    PLANES = 284
    TILE_WIDTH = 322
    TILE_HEIGHT = 323
    SUB_DIRECTORIES = 330
    EXTRA_SAMPLES = 338
    SAMPLE_FORMAT = 339
    EXIF = 34665
    ICC_PROFILE = 34675
    GPS = 34853
    TAKEN = 36867
    DIGITISED = 36868
    TAKEN_ZONE = 36881
    DIGITISED_ZONE = 36882
    COLOR_SPACE = 40961
    INTEROPERABILITY = 40965
    DNG_VERSION = 50706


# Types of TIFF 6.0 section 2, with IFD and the 64-bit types: letters of `struct`.
_FORMATS = {1: "B", 3: "H", 4: "I", 5: "II", 6: "b", 8: "h", 9: "i", 10: "ii", 11: "f"}
_FORMATS |= {12: "d", 13: "I", 16: "Q", 17: "q", 18: "Q"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """Where a photo was taken, WGS 84, as the file says."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None

    def __post_init__(self) -> None:
        if not -90 <= self.latitude_deg <= 90:
            raise ValueError(f"latitude_deg must be -90 to 90, got {self.latitude_deg}")
        if not -180 <= self.longitude_deg <= 180:
            raise ValueError(f"longitude_deg must be -180 to 180, got {self.longitude_deg}")
        if self.elevation_m is not None and not math.isfinite(self.elevation_m):
            raise ValueError(f"elevation_m must be finite, got {self.elevation_m}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExifFacts:
    """What EXIF tells."""

    orientation: int = 1
    taken_at: datetime | None = None
    camera: str | None = None
    position: Position | None = None
    profile: ColorProfile | None = None


@dataclass(frozen=True, slots=True)
class TiffDirectory:
    """One directory of a TIFF structure: EXIF blocks, TIFF files and most camera raws.

    `entries` holds type, count and place of each value; values are read when asked for, so that
    garbage costs nothing. Whatever cannot be read is missing.
    """

    data: bytes
    order: str
    big: bool
    entries: Mapping[int, tuple[int, int, int]]
    next: int

    def at(self, offset: int) -> "TiffDirectory":
        """Read the directory at another place of the same data."""
        return _read_directory(self.data, self.order, self.big, offset)

    def below(self, tag: int) -> "TiffDirectory":
        """Read the directory that a tag points to."""
        return self.at(int(self.number(tag, 0)))

    def raw(self, tag: int) -> bytes:
        """Bytes of a value of single bytes, empty where missing."""
        kind, count, place = self.entries.get(tag, (0, 0, 0))
        whole = kind in (1, 2, 6, 7) and place + count <= len(self.data)
        return self.data[place : place + count] if whole else b""

    def text(self, tag: int) -> str:
        """Readable part of a text, empty where missing."""
        words = self.raw(tag)[:200].split(b"\0")[0].decode("utf-8", "replace")
        return " ".join("".join(c if c.isprintable() else " " for c in words).split())

    def numbers(self, tag: int) -> tuple[float, ...]:
        """Up to eight numbers, none where missing; a fraction over zero is NaN."""
        kind, count, place = self.entries.get(tag, (0, 0, 0))
        form = _FORMATS.get(kind, "")
        if place > len(self.data):
            return ()
        try:
            found = struct.unpack_from(self.order + form * min(count, 8), self.data, place)
        except struct.error:
            return ()
        if kind in (5, 10):
            pairs = zip(found[::2], found[1::2], strict=True)
            return tuple(above / below if below else math.nan for above, below in pairs)
        return found

    def number(self, tag: int, otherwise: float) -> float:
        """First number of a tag, or `otherwise` where it is missing or no number."""
        found = self.numbers(tag)
        return found[0] if found and math.isfinite(found[0]) else otherwise


def _read_directory(data: bytes, order: str, big: bool, offset: int) -> TiffDirectory:
    """Read the entries of one directory (TIFF 6.0 section 2; 64-bit as libtiff's BigTIFF)."""
    counter, place, width = ("Q", "Q", 8) if big else ("H", "I", 4)
    entries: dict[int, tuple[int, int, int]] = {}
    following = 0
    try:
        if not 8 <= offset < len(data):  # a directory that is not there
            return TiffDirectory(data, order, big, entries, 0)
        (count,) = struct.unpack_from(order + counter, data, offset)
        at = offset + struct.calcsize(order + counter)
        for _ in range(min(count, 1000)):
            tag, kind, items = struct.unpack_from(order + "HH" + place, data, at)
            at += 4 + width
            size = items * struct.calcsize("=" + _FORMATS.get(kind, "B"))
            here = at if size <= width else struct.unpack_from(order + place, data, at)[0]
            entries.setdefault(tag, (kind, items, here))
            at += width
        (following,) = struct.unpack_from(order + place, data, at)
    except struct.error:
        pass  # cut off: what was read before stays
    return TiffDirectory(data, order, big, entries, following)


def first_directory(data: bytes) -> TiffDirectory:
    """Read the first directory of a TIFF structure; one without entries where there is none."""
    order = ">" if data[:2] == b"MM" else "<"
    big = data[2:4] in (b"+\0", b"\0+")
    if not data.startswith(TIFF_STARTS):
        return TiffDirectory(data, order, big, {}, 0)
    start = data[8:16] if big else data[4:8]
    return _read_directory(
        data, order, big, int.from_bytes(start, "big" if order == ">" else "little")
    )


def facts_of_exif(exif: bytes) -> ExifFacts:
    """Read what an EXIF block tells; garbage tells nothing."""
    return facts_of_directory(first_directory(exif.removeprefix(b"Exif\0\0")))


def facts_of_directory(first: TiffDirectory) -> ExifFacts:
    """Read what the first directory of a TIFF structure tells, and those below it."""
    details = first.below(Tag.EXIF)
    orientation = first.number(Tag.ORIENTATION, 1)
    moments = (
        _moment(details.text(time), details.text(zone))
        for time, zone in ((Tag.TAKEN, Tag.TAKEN_ZONE), (Tag.DIGITISED, Tag.DIGITISED_ZONE))
    )
    return ExifFacts(
        orientation=int(orientation) if 1 <= orientation <= 8 else 1,
        taken_at=next((moment for moment in moments if moment), None),
        camera=_camera(first.text(Tag.MAKE), first.text(Tag.MODEL)),
        position=_position(first.below(Tag.GPS)),
        profile=_profile_of_exif(details),
    )


def _profile_of_exif(details: TiffDirectory) -> ColorProfile | None:
    """Take sRGB or Adobe RGB where EXIF says so (DCF 2.0: color space, interoperability R03)."""
    space = details.number(Tag.COLOR_SPACE, 0)
    if space == 2 or details.below(Tag.INTEROPERABILITY).text(1) == "R03":
        return ADOBE_RGB
    return SRGB if space == 1 else None


def _camera(make: str, model: str) -> str | None:
    """Make and model, the make not twice.

    Examples
    --------
    >>> _camera("Acme", "Acme One"), _camera("Acme", "One"), _camera("", "")
    ('Acme One', 'Acme One', None)
    """
    return (model if model.lower().startswith(make.lower()) else f"{make} {model}".strip()) or None


def _moment(text: str, zone: str) -> datetime | None:
    """EXIF time, with its zone where that is known and sane.

    Examples
    --------
    >>> _moment("2024:05:01 10:30:00", "+02:00").isoformat()
    '2024-05-01T10:30:00+02:00'
    >>> _moment("0000:00:00 00:00:00", "") is None
    True
    """
    for words, form in ((text + zone, "%Y:%m:%d %H:%M:%S%z"), (text, "%Y:%m:%d %H:%M:%S")):
        try:
            return datetime.strptime(words, form)
        except ValueError:
            continue
    return None


def _position(gps: TiffDirectory) -> Position | None:
    """Degrees from the GPS directory; None where a part is missing or out of range."""
    latitude, longitude = _degrees(gps, 1, "NS"), _degrees(gps, 3, "EW")
    if latitude is None or longitude is None:
        return None
    elevation = gps.number(6, math.nan)
    if gps.number(5, 0) in (1, 3):  # below sea level, or below the ellipsoid
        elevation = -elevation
    try:
        return Position(
            latitude_deg=latitude,
            longitude_deg=longitude,
            elevation_m=elevation if math.isfinite(elevation) else None,
        )
    except ValueError:
        return None


def _degrees(gps: TiffDirectory, tag: int, letters: str) -> float | None:
    """Degrees, minutes and seconds with their letter; the value stands one tag after it."""
    letter, parts = gps.text(tag).upper(), gps.numbers(tag + 1)
    if len(letter) != 1 or letter not in letters or not 1 <= len(parts) <= 3:
        return None
    degrees = sum(part / 60.0**k for k, part in enumerate(parts))
    if not math.isfinite(degrees):
        return None
    return -degrees if letter == letters[1] else degrees
