"""Decodes a picture file into a `Photo`: upright codes, their profile, when and where taken.

Whatever is wrong with a file comes out as a `PhotoError`, in bounded time and memory: headers are
walked here, sizes checked, and only then are the pixels decoded (by OpenCV; HEIC by libheif, AVIF
by Pillow, camera raw by LibRaw). The kind is told from the content, never from the name.

What cannot be seen: changed bytes inside a JPEG that still decode (they show as shifted stripes),
and a progressive JPEG that was cut and closed again (it is only softer).
"""

import errno
import hashlib
import io
import math
import re
import stat
import struct
import threading
import warnings
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from colorcore._cv import cv2
from colorcore.color_profile import (
    ADOBE_RGB,
    LINEAR_SRGB,
    SRGB,
    Codes,
    ColorProfile,
    needs_tables,
    profile_of_icc,
    profile_of_signal,
)
from colorcore.errors import PhotoError
from colorcore.geometry import Box
from colorcore.reasons import Reason

__all__ = ["ColorProfile", "Photo", "Position", "decode_photo", "read_photo"]

Detail = Literal["full", "auto"]

MAX_BYTES = 200_000_000
MAX_PIXELS = 50_000_000
MIN_SIDE_PX = 16
# From this size on a JPEG is decoded at half size: twice as fast, and its color is averaged.
REDUCE_FROM_PIXELS = 6_000_000
# A progressive JPEG has about ten; each further one costs a pass over the whole picture.
MAX_SCANS = 100
MAX_PROFILE_BYTES = 8_000_000

_FULL = cv2.IMREAD_COLOR | cv2.IMREAD_ANYDEPTH | cv2.IMREAD_IGNORE_ORIENTATION
_HALF = cv2.IMREAD_REDUCED_COLOR_2 | cv2.IMREAD_IGNORE_ORIENTATION

# Our errors say what is wrong; the library's own lines on the terminal say it twice.
cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photo:
    """One upright picture, still in codes, with all that its file tells.

    Parameters
    ----------
    pixels : ndarray
        BGR codes, shape (H, W, 3), uint8 or uint16; made read-only.
    reduction : {1, 2}
        One stored pixel stands for reduction x reduction pixels of the full-size photo: stored
        column j covers columns [j reduction, (j + 1) reduction).
    width, height : int
        Full size, upright, in pixels.
    profile : ColorProfile
        What the codes mean.
    taken_at : datetime or None
        When taken; with a time zone only where the file knows it.
    camera : str or None
        Make and model.
    position : Position or None
        Where taken.
    sha256 : str
        Fingerprint of the file's bytes.
    file_format : str
        "JPEG", "PNG", "TIFF", "WebP", "HEIC", "AVIF" or "raw".
    name : str
        The file's name, for people.
    notes : tuple of Reason
        What had to be assumed, all of weight "note".
    """

    pixels: Codes
    reduction: int
    width: int
    height: int
    profile: ColorProfile
    taken_at: datetime | None
    camera: str | None
    position: Position | None
    sha256: str
    file_format: str
    name: str
    notes: tuple[Reason, ...] = ()

    def __post_init__(self) -> None:
        if self.pixels.dtype not in (np.uint8, np.uint16):
            raise ValueError(f"pixels must be uint8 or uint16, got {self.pixels.dtype}")
        if self.reduction not in (1, 2):
            raise ValueError(f"reduction must be 1 or 2, got {self.reduction}")
        shape = (-(-self.height // self.reduction), -(-self.width // self.reduction), 3)
        if self.pixels.shape != shape:
            raise ValueError(f"pixels must have the shape {shape}, got {self.pixels.shape}")
        self.pixels.setflags(write=False)

    @property
    def max_code(self) -> int:
        """The code of white: 255 or 65535."""
        return int(np.iinfo(self.pixels.dtype).max)

    def window(self, box: Box) -> tuple[slice, slice]:
        """Rows and columns of `pixels` that a box touches.

        Raises
        ------
        ValueError
            If the box lies outside the photo.
        """
        rows = _span(box.y, box.h, self.reduction, self.pixels.shape[0])
        columns = _span(box.x, box.w, self.reduction, self.pixels.shape[1])
        if rows.start >= rows.stop or columns.start >= columns.stop:
            raise ValueError(f"{box} must touch the photo of {self.width} x {self.height} pixels")
        return rows, columns

    def codes(self, box: Box | None = None) -> Codes:
        """Return the stored BGR codes under a box (all without one), a view, shape (h, w, 3)."""
        return self.pixels if box is None else self.pixels[self.window(box)]

    def linear(self, box: Box | None = None) -> NDArray[np.float32]:
        """Return linear RGB under a box: BT.709 primaries, 1 = white code, unclipped, (h, w, 3)."""
        return self.profile.to_linear(self.codes(box))


def _span(start: float, length: float, reduction: int, end: int) -> slice:
    first = math.floor(start / reduction)
    last = math.ceil((start + length) / reduction)
    return slice(min(max(first, 0), end), min(max(last, 0), end))


def read_photo(path: Path | str, *, max_pixels: int = MAX_PIXELS, detail: Detail = "auto") -> Photo:
    """Read a picture file.

    Parameters
    ----------
    path : Path or str
        The file.
    max_pixels, detail
        As for `decode_photo`.

    Raises
    ------
    PhotoError
        If the file cannot be opened or used.
    """
    name = Path(path).name
    try:
        data = _content(Path(path))
    except (OSError, ValueError) as error:  # ValueError: a name with a NUL in it
        raise _named(name, _cannot_open(error)) from error
    except PhotoError as error:
        raise _named(name, error) from error
    return decode_photo(data, name, max_pixels=max_pixels, detail=detail)


def _content(path: Path) -> bytes:
    """Read a whole file, if it is one: pipes and devices may never end."""
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        raise PhotoError("This is no file.", what_to_do="Name the photos themselves.")
    _check_length(status.st_size)
    return path.read_bytes()


def _check_length(length: int) -> None:
    if length > MAX_BYTES:
        raise PhotoError(
            f"The file is too large: {length / 1e6:.0f} MB.",
            what_to_do=f"Save the photo as JPEG; up to {MAX_BYTES / 1e6:.0f} MB are read.",
        )


def decode_photo(
    data: bytes, name: str, *, max_pixels: int = MAX_PIXELS, detail: Detail = "auto"
) -> Photo:
    """Decode the bytes of a picture file.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        What to call it.
    max_pixels : int
        Larger pictures are refused before they are decoded.
    detail : {"auto", "full"}
        "auto" decodes JPEGs from six megapixels on at half size where the pixel grid allows it.

    Raises
    ------
    PhotoError
        If the picture cannot be used.
    """
    try:
        kind = _kind(data)
        picture = _READERS[kind](data, max_pixels, detail)
        pixels, profile, notes = _with_profile(picture)
    except PhotoError as error:
        raise _named(name, error) from error
    height, width = picture.halved_from or pixels.shape[:2]
    return Photo(
        pixels=pixels,
        reduction=2 if picture.halved_from else 1,
        width=width,
        height=height,
        profile=profile,
        taken_at=picture.facts.taken_at,
        camera=picture.facts.camera,
        position=picture.facts.position,
        sha256=hashlib.sha256(data).hexdigest(),
        file_format=kind,
        name=name,
        notes=notes,
    )


def _named(name: str, error: PhotoError) -> PhotoError:
    """Put the file's name before what happened, without characters that no screen shows."""
    shown = "".join(
        letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in name
    )
    return PhotoError(f"{shown}: {error.what_happened}", what_to_do=error.what_to_do)


def _cannot_open(error: OSError | ValueError) -> PhotoError:
    """Say why a file cannot be opened."""
    code = error.errno if isinstance(error, OSError) else None
    if code in (errno.ENOENT, errno.ENOTDIR):
        return PhotoError("There is no such file.", what_to_do="Check the name and the folder.")
    if code in (errno.EACCES, errno.EPERM):
        return PhotoError(
            "The file may not be read.", what_to_do="Ask its owner for the right to read it."
        )
    reason = error.strerror if isinstance(error, OSError) else str(error)
    return PhotoError(
        f"The file cannot be opened ({reason}).",
        what_to_do="Copy the photo to another folder, under a plain name, and try again.",
    )


def _damaged(what: str = "The file is damaged: it cannot be decoded.") -> PhotoError:
    return PhotoError(what, what_to_do="Copy the photo from the camera again.")


def _cut_off() -> PhotoError:
    return _damaged("The file is cut off: its end is missing.")


def _cmyk() -> PhotoError:
    return PhotoError(
        "The photo is stored in printing inks (CMYK).",
        what_to_do="Use the camera's own file, or save the photo as RGB.",
    )


def _several() -> PhotoError:
    return PhotoError(
        "The file holds several pictures (an animation or several pages).",
        what_to_do="Save the one to be read as a picture of its own.",
    )


def _unusual(what: str) -> PhotoError:
    return PhotoError(
        f"The file stores its picture in an unusual way ({what}).",
        what_to_do="Save it as JPEG, PNG or TIFF, RGB with 8 or 16 bits a channel.",
    )


def _check_size(width: int, height: int, max_pixels: int) -> None:
    """Refuse a picture for what its header says, before anything is decoded."""
    if min(width, height) < MIN_SIDE_PX:
        raise PhotoError(
            f"The photo is too small: {width} x {height} pixels.",
            what_to_do=f"Use the camera's own file; a side has at least {MIN_SIDE_PX} pixels.",
        )
    if width * height > max_pixels:
        raise PhotoError(
            f"The photo is too large: {width} x {height} pixels.",
            what_to_do=f"Save it with at most {max_pixels / 1e6:g} million pixels.",
        )


# --- what kind of file ---------------------------------------------------------------------------

Kind = Literal["JPEG", "PNG", "TIFF", "WebP", "HEIC", "AVIF", "raw"]

_RAW_STARTS = (b"FUJIFILMCCD-RAW", b"IIRO", b"IIRS", b"MMOR", b"IIU\0", b"FOVb", b"\0MRM")
_TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")


def _kind(data: bytes) -> Kind:
    """Tell the kind of picture from its first bytes."""
    if not data:
        raise _damaged("The file is empty.")
    _check_length(len(data))
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WebP"
    if data[4:8] == b"ftyp":
        return _kind_of_brands(data)
    if data.startswith(_RAW_STARTS):
        return "raw"
    if data.startswith(_TIFF_STARTS):
        return "raw" if _is_raw(data) else "TIFF"
    raise _unknown()


def _unknown() -> PhotoError:
    return PhotoError(
        "This is no photo of a known kind (JPEG, PNG, TIFF, WebP, HEIC, AVIF or camera raw).",
        what_to_do="Save it as JPEG, PNG or TIFF.",
    )


def _kind_of_brands(data: bytes) -> Kind:
    """Tell HEIC, AVIF and raw apart by the brands of ISO/IEC 14496-12, section 4.3."""
    size = min(int.from_bytes(data[:4], "big"), 512)
    brands = {data[8:12], *(data[at : at + 4] for at in range(16, size, 4))}
    if b"crx " in brands:
        return "raw"
    if brands & {b"avif", b"avis"}:
        return "AVIF"
    if brands & {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"}:
        return "HEIC"
    raise _unknown()


def _is_raw(data: bytes) -> bool:
    """Whether a file built like a TIFF is a camera raw: a DNG, a mosaic, or a preview first."""
    first = _first_directory(data)
    return (
        data[8:10] == b"CR"
        or _DNG_VERSION in first.entries
        or first.number(_PHOTOMETRIC, 2) in (32803, 34892)
        or (first.number(_SUBFILE_TYPE, 0) == 1 and _SUB_DIRECTORIES in first.entries)
    )


# --- pictures ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Facts:
    """What EXIF tells."""

    orientation: int = 1
    taken_at: datetime | None = None
    camera: str | None = None
    position: Position | None = None
    profile: ColorProfile | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Picture:
    """A decoded picture: upright BGR codes, and the profile (or its ICC bytes) the file names."""

    pixels: Codes
    facts: _Facts
    profile: bytes | ColorProfile | None
    notes: tuple[Reason, ...] = ()
    halved_from: tuple[int, int] | None = None  # upright height and width


def _decode(data: bytes, flags: int, width: int, height: int) -> Codes:
    """Decode with OpenCV and insist on the size that the header promised."""
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    except cv2.error as error:
        raise _damaged() from error
    if pixels is None or pixels.shape[:2] != (height, width):
        raise _damaged()
    return _codes(pixels)


def _codes(pixels: NDArray[Any]) -> Codes:
    """Insist on 8- or 16-bit codes."""
    if pixels.dtype not in (np.uint8, np.uint16):
        raise _unusual(f"numbers of type {pixels.dtype}")
    return pixels


def _upright(pixels: Codes, orientation: int) -> Codes:
    """Turn and mirror stored pixels as the EXIF orientation asks (EXIF 2.32, tag 0x0112)."""
    if orientation in (5, 6, 7, 8):
        pixels = _codes(cv2.transpose(pixels))
    mirrors = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}
    if orientation in mirrors:
        pixels = _codes(cv2.flip(pixels, mirrors[orientation]))
    return pixels


def _flat(pixels: Codes, *, premultiplied: bool = False) -> tuple[Codes, tuple[Reason, ...]]:
    """Lay a BGRA picture on white, as viewers do; one without transparency stays as it is."""
    if pixels.shape[2] == 3:
        return pixels, ()
    color, alpha = pixels[..., :3], pixels[..., 3:]
    white = int(np.iinfo(pixels.dtype).max)
    flat = _codes(np.ascontiguousarray(color))
    if alpha.min() == white:
        return flat, ()
    for top in range(0, len(flat), 256):  # by bands, for the memory
        rows = slice(top, top + 256)
        share = alpha[rows] / np.float32(white)
        seen = color[rows] if premultiplied else color[rows] * share
        flat[rows] = np.clip(seen + white * (1 - share) + 0.5, 0, white)
    return flat, (
        _note(
            "transparency",
            "Parts of the photo are transparent; they were laid on white.",
            "Save the photo without transparency.",
        ),
    )


def _note(code: str, text: str, what_to_do: str) -> Reason:
    return Reason(code=code, text=text, what_to_do=what_to_do, weight="note")


# --- JPEG ----------------------------------------------------------------------------------------

# The next marker in entropy-coded data, where 0xFF is followed by 0, a restart or a fill byte.
_NEXT_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
# Markers that may follow the first scan: tables, scans, comments and notes of programs.
_BETWEEN_SCANS = frozenset({0xC4, 0xDA, 0xDB, 0xDC, 0xDD, 0xFE, *range(0xE0, 0xF0)})


@dataclass(slots=True)
class _JpegHeader:
    width: int = 0
    height: int = 0
    exif: bytes = b""
    icc: dict[int, bytes] = field(default_factory=dict)
    icc_count: int = 0

    def profile(self) -> bytes | None:
        """Join the parts of the ICC profile; empty, which is damaged, where one is missing."""
        parts = sorted(self.icc)
        if parts != list(range(1, self.icc_count + 1)):
            return b""
        return b"".join(self.icc[part] for part in parts) or None


def _walk_jpeg(data: bytes) -> _JpegHeader:
    """Walk the markers of a JPEG from its start to its end, through all scans.

    Raises
    ------
    PhotoError
        If the end is missing, a marker stands where none may stand, or the picture is of a kind
        that is not read.

    References
    ----------
    ITU-T T.81, annex B; ICC.1:2022, B.4 (profiles in JPEG).
    """
    header = _JpegHeader()
    at, scans, segments = 2, 0, 0
    while match := _NEXT_MARKER.search(data, at):
        marker, at = data[match.end() - 1], match.end()
        if marker == 0xD9:
            break
        segments += 1
        if (scans and marker not in _BETWEEN_SCANS) or scans > MAX_SCANS or segments > 5000:
            raise _damaged()
        scans += marker == 0xDA
        length = int.from_bytes(data[at : at + 2], "big")
        _read_segment(header, marker, data[at + 2 : at + length])
        at += max(length, 2)
    else:
        raise _cut_off()
    rest = data[at:].rstrip(b"\0")
    if not scans or (rest.endswith(b"\xff\xd9") and b"\xff\xd8\xff" not in rest):
        raise _damaged()  # no picture at all, or an end marker in the middle of it
    return header


def _read_segment(header: _JpegHeader, marker: int, body: bytes) -> None:
    if marker in _FRAMES and len(body) >= 6:
        bits, header.height, header.width, components = struct.unpack_from(">BHHB", body)
        if components == 4:
            raise _cmyk()
        if bits != 8 or components not in (1, 3):
            raise _unusual(f"{components} channels of {bits} bits")
    elif marker == 0xE1 and body.startswith(b"Exif\0") and not header.exif:
        header.exif = body
    elif marker == 0xE2 and body.startswith(b"ICC_PROFILE\0") and len(body) >= 14:
        header.icc[body[12]] = body[14:]
        header.icc_count = body[13]


def _read_jpeg(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    header = _walk_jpeg(data)
    width, height = header.width, header.height
    _check_size(width, height, max_pixels)
    facts = _facts(header.exif)
    large = detail == "auto" and width * height >= REDUCE_FROM_PIXELS
    halve = large and _halves_exactly(width, height, facts.orientation)
    if halve:
        pixels = _decode(data, _HALF, -(-width // 2), -(-height // 2))
    else:
        pixels = _decode(data, _FULL, width, height)
    if _ends_in_grey(pixels):
        raise _cut_off()
    full_size = (width, height) if facts.orientation >= 5 else (height, width)
    return _Picture(
        pixels=_upright(pixels, facts.orientation),
        facts=facts,
        profile=header.profile(),
        halved_from=full_size if halve else None,
    )


def _halves_exactly(width: int, height: int, orientation: int) -> bool:
    """Whether pairs of pixels still start at the left and upper edge of the upright picture.

    Halving pairs the stored pixels from the stored left and top. Where the orientation mirrors an
    odd side, its single last pixel comes first, and no upright pair is whole.
    """
    mirrored_x, mirrored_y = orientation in (2, 3, 7, 8), orientation in (3, 4, 6, 7)
    return not (mirrored_x and width % 2) and not (mirrored_y and height % 2)


def _ends_in_grey(pixels: Codes) -> bool:
    """Whether the stored bottom is the flat middle grey that decoders put where data is missing.

    A drawn picture may hold that very grey on purpose; then it is found elsewhere too.
    """
    if (pixels[-4:] != 128).any():
        return False
    grey = (pixels == 128).all(axis=2)
    others = np.flatnonzero(~grey.all(axis=1))
    return bool(others.size) and bool(grey[: others[-1] + 1].mean() < 0.05)


# --- PNG -----------------------------------------------------------------------------------------


def _png_chunks(data: bytes) -> dict[bytes, bytes]:
    """First chunk of each kind but the pixels', all checksums compared.

    References
    ----------
    W3C PNG Specification, third edition, section 5.
    """
    chunks: dict[bytes, bytes] = {}
    at = 8
    while b"IEND" not in chunks:
        if at + 12 > len(data):
            raise _cut_off()
        length, kind = struct.unpack_from(">I4s", data, at)
        end = at + 8 + length
        if end + 4 > len(data):
            raise _cut_off()
        body = memoryview(data)[at + 4 : end]
        if zlib.crc32(body) != int.from_bytes(data[end : end + 4], "big"):
            raise _damaged()
        if kind != b"IDAT":
            chunks.setdefault(kind, bytes(body[4:]))
        at = end + 4
    return chunks


def _read_png(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    chunks = _png_chunks(data)
    if len(chunks.get(b"IHDR", b"")) != 13:
        raise _damaged()
    width, height, _, color_type = struct.unpack_from(">IIBB", chunks[b"IHDR"])
    _check_size(width, height, max_pixels)
    if int.from_bytes(chunks.get(b"acTL", b"")[:4], "big") > 1:
        raise _several()
    profile = _png_profile(chunks)
    facts = _facts(chunks.get(b"eXIf", b""))
    clear = color_type in (4, 6) or (color_type in (2, 3) and b"tRNS" in chunks)
    pixels, notes = _flat(_decode(data, cv2.IMREAD_UNCHANGED if clear else _FULL, width, height))
    return _Picture(
        pixels=_upright(pixels, facts.orientation),
        facts=facts,
        profile=profile,
        notes=notes,
    )


def _png_profile(chunks: Mapping[bytes, bytes]) -> bytes | ColorProfile | None:
    """Profile of a PNG, in the order of precedence that its specification gives (13.15)."""
    signal = chunks.get(b"cICP", b"")
    if len(signal) == 4 and (known := profile_of_signal(signal[0], signal[1])):
        return known
    if b"iCCP" in chunks:
        _, _, packed = chunks[b"iCCP"].partition(b"\0")
        try:
            return zlib.decompressobj().decompress(packed[1:], MAX_PROFILE_BYTES)
        except zlib.error:
            return b""
    return SRGB if b"sRGB" in chunks else None


# --- WebP ----------------------------------------------------------------------------------------


def _webp_chunks(data: bytes) -> dict[bytes, bytes]:
    """First chunk of each kind, pixels' included (RFC 9649, section 2)."""
    chunks: dict[bytes, bytes] = {}
    end = 8 + int.from_bytes(data[4:8], "little")
    if end > len(data):
        raise _cut_off()
    at = 12
    while at + 8 <= end and len(chunks) < 100:
        kind, length = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        chunks.setdefault(kind, data[at + 8 : min(at + 8 + length, end)])
        at += 8 + length + length % 2
    return chunks


def _webp_size(chunks: Mapping[bytes, bytes]) -> tuple[int, int]:
    """Width and height that the first header names (RFC 9649, 2.7 and 3.4; RFC 6386, 9.1)."""
    if len(canvas := chunks.get(b"VP8X", b"")) >= 10:
        return (
            int.from_bytes(canvas[4:7], "little") + 1,
            int.from_bytes(canvas[7:10], "little") + 1,
        )
    if len(lossless := chunks.get(b"VP8L", b"")) >= 5:
        bits = int.from_bytes(lossless[1:5], "little")
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if len(lossy := chunks.get(b"VP8 ", b"")) >= 10:
        width, height = struct.unpack_from("<HH", lossy, 6)
        return width & 0x3FFF, height & 0x3FFF
    raise _damaged()


def _read_webp(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    chunks = _webp_chunks(data)
    width, height = _webp_size(chunks)
    _check_size(width, height, max_pixels)
    if b"ANIM" in chunks or b"ANMF" in chunks:
        raise _several()
    facts = _facts(chunks.get(b"EXIF", b""))
    pixels, notes = _flat(_decode(data, cv2.IMREAD_UNCHANGED, width, height))
    return _Picture(
        pixels=_upright(pixels, facts.orientation),
        facts=facts,
        profile=chunks.get(b"ICCP"),
        notes=notes,
    )


# --- TIFF ----------------------------------------------------------------------------------------


def _read_tiff(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    """Decode a TIFF; OpenCV turns it upright by itself.

    Notes
    -----
    Found by trying, and kept by the tests: OpenCV gives 8-bit pixels already multiplied with
    their transparency, leaves 16-bit greys that count from white as they are, and mixes up 16-bit
    channels that are stored in planes.
    """
    first = _first_directory(data)
    width, height = int(first.number(256, 0)), int(first.number(257, 0))
    _check_size(width, height, max_pixels)
    bits, samples, photometric = _check_tiff(first)
    if first.number(322, 0) > max(width + 15, 1024) or first.number(323, 0) > max(
        height + 15, 1024
    ):
        raise _damaged()  # tiles far beyond the picture would cost memory for nothing
    if _has_second_page(first):
        raise _several()
    if first.number(_ORIENTATION, 1) >= 5:
        width, height = height, width
    transparent = samples == 4 and first.number(338, 0) in (1, 2)
    pixels = _decode(data, cv2.IMREAD_UNCHANGED if transparent else _FULL, width, height)
    if photometric == 0 and bits == 16:
        pixels = ~pixels
    pixels, notes = _flat(pixels, premultiplied=bits == 8 or first.number(338, 0) == 1)
    return _Picture(
        pixels=pixels,
        facts=_facts_of(first),
        profile=first.raw(34675) or None,
        notes=notes,
    )


def _check_tiff(first: "_Directory") -> tuple[int, int, int]:
    """Bits a sample, samples a pixel and kind of color, if it is one that is read (TIFF 6.0)."""
    bits = {int(count) for count in first.numbers(258)} or {1}
    samples, photometric = int(first.number(277, 1)), int(first.number(_PHOTOMETRIC, -1))
    if photometric == 5:
        raise _cmyk()
    if {int(form) for form in first.numbers(339)} - {1}:
        raise _unusual("signed or floating-point numbers")
    allowed = {0: (1,), 1: (1,), 2: (3, 4), 3: (1,), 6: (3,)}
    if samples not in allowed.get(photometric, ()):
        raise _unusual(f"{samples} channels of color kind {photometric}")
    if bits not in ({8}, {16}) or (bits == {16} and photometric > 2):
        raise _unusual(f"{max(bits)} bits a channel")
    if bits == {16} and samples > 1 and first.number(284, 1) == 2:
        raise _unusual("16-bit channels in separate planes")
    return bits.pop(), samples, photometric


def _has_second_page(first: "_Directory") -> bool:
    """Whether another picture follows that is no smaller copy of the first."""
    page = first
    for _ in range(8):
        if not page.next:
            return False
        page = page.at(page.next)
        if page.entries and not int(page.number(_SUBFILE_TYPE, 0)) & 1:
            return True
    return False


# --- HEIC, AVIF and camera raw -------------------------------------------------------------------


def _read_heic(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    """Decode the primary picture of a HEIC; libheif turns it upright by itself."""
    import pillow_heif

    try:
        heif = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=False, bgr_mode=True)
        primary = heif[heif.primary_index]
        info: dict[str, Any] = primary.info
        width, height = primary.size
        _check_size(width, height, max_pixels)
        pixels = _three_channels(np.asarray(primary))
    except (ValueError, OSError, EOFError, SyntaxError, RuntimeError, LookupError) as error:
        raise _damaged() from error
    if pixels.shape[:2] != (height, width):
        raise _damaged()
    if pixels.dtype == np.uint16:  # codes of 10 or 12 bits, shifted up: white must be 65535
        pixels = _codes(pixels | pixels >> int(info["bit_depth"]))
    pixels, notes = _flat(pixels, premultiplied=primary.mode.endswith("a"))
    if len(heif) > 1:
        notes += (
            _note(
                "several_pictures",
                f"The file holds {len(heif)} pictures; the main one was read.",
                "Save the one to be read as a picture of its own.",
            ),
        )
    signal = info.get("nclx_profile") or {}
    return _Picture(
        pixels=pixels,
        facts=_facts(info.get("exif") or b""),
        profile=info.get("icc_profile")
        or profile_of_signal(
            signal.get("color_primaries", 2), signal.get("transfer_characteristics", 2)
        ),
        notes=notes,
    )


def _three_channels(pixels: NDArray[Any]) -> Codes:
    """Make grey, or grey with transparency, into BGR or BGRA."""
    if pixels.ndim == 2:
        pixels = pixels[..., None]
    if pixels.shape[2] <= 2:
        pixels = pixels[..., [0, 0, 0, 1][: pixels.shape[2] + 2]]
    return _codes(pixels)


def _read_avif(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    """Decode an AVIF; its turn and mirror reach us as an EXIF orientation."""
    try:
        with _quiet():
            image = Image.open(io.BytesIO(data), formats=("AVIF",))
        _check_size(*image.size, max_pixels)
        if getattr(image, "n_frames", 1) > 1:
            raise _several()
        clear = image.mode == "RGBA"
        rgb = np.asarray(image if clear else image.convert("RGB"))
    except Image.DecompressionBombError as error:
        raise PhotoError(
            "The photo is far too large.",
            what_to_do=f"Save it with at most {max_pixels / 1e6:g} million pixels.",
        ) from error
    except (OSError, ValueError, SyntaxError, RuntimeError, KeyError, struct.error) as error:
        raise _damaged() from error
    facts = _facts(image.info.get("exif", b""))
    pixels, notes = _flat(
        _codes(cv2.cvtColor(rgb, cv2.COLOR_RGBA2BGRA if clear else cv2.COLOR_RGB2BGR))
    )
    pixels = _upright(pixels, facts.orientation)
    signal = re.search(rb"colrnclx(..)(..)", data[:65536], re.DOTALL)
    primaries, transfer = (int.from_bytes(n, "big") for n in signal.groups()) if signal else (2, 2)
    return _Picture(
        pixels=pixels,
        facts=facts,
        profile=image.info.get("icc_profile") or profile_of_signal(primaries, transfer),
        notes=notes,
    )


_QUIET = threading.Lock()


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep Pillow's warnings to ourselves; the filter is the process's, so one thread at a time."""
    with _QUIET, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _read_raw(data: bytes, max_pixels: int, detail: Detail) -> _Picture:
    """Develop a camera raw file into linear sRGB with the camera's own white balance.

    White is the sensor's white level, never the brightest pixel of the picture.
    """
    try:
        import rawpy
    except ImportError as error:
        raise PhotoError(
            "This is a camera raw file, and the part that reads those is not installed.",
            what_to_do='Install it with: pip install "tintwell[raw]"; or save the photo as TIFF.',
        ) from error
    try:
        with rawpy.imread(io.BytesIO(data)) as raw:
            _check_size(raw.sizes.raw_width, raw.sizes.raw_height, max_pixels)
            rgb = raw.postprocess(
                use_camera_wb=True,
                output_color=rawpy.ColorSpace.sRGB,
                output_bps=16,
                gamma=(1, 1),
                no_auto_bright=True,
                adjust_maximum_thr=0.0,
            )
    except (rawpy.LibRawError, rawpy.NotSupportedError) as error:
        raise _damaged("The camera raw file is damaged, or of a camera unknown here.") from error
    pixels = _codes(np.ascontiguousarray(_three_channels(rgb)[..., ::-1]))
    return _Picture(
        pixels=pixels,
        facts=_facts(data),
        profile=LINEAR_SRGB,
    )


_READERS: Mapping[Kind, Callable[[bytes, int, Detail], _Picture]] = {
    "JPEG": _read_jpeg,
    "PNG": _read_png,
    "TIFF": _read_tiff,
    "WebP": _read_webp,
    "HEIC": _read_heic,
    "AVIF": _read_avif,
    "raw": _read_raw,
}


# --- color profile -------------------------------------------------------------------------------


def _with_profile(picture: _Picture) -> tuple[Codes, ColorProfile, tuple[Reason, ...]]:
    """Settle what the codes mean; a profile of tables is applied at once, to sRGB codes."""
    named = picture.profile if picture.profile is not None else picture.facts.profile
    if named is None:
        note = _note(
            "untagged_profile",
            "The photo does not say what its colors mean; sRGB was assumed.",
            "Nothing, if the camera was set to sRGB.",
        )
        return picture.pixels, SRGB, (*picture.notes, note)
    if isinstance(named, ColorProfile):
        return picture.pixels, named, picture.notes
    try:
        if needs_tables(named):
            return _through_tables(picture.pixels, named), SRGB, picture.notes
        return picture.pixels, profile_of_icc(named), picture.notes
    except PhotoError as error:
        note = _note(
            "damaged_profile", f"{error.what_happened} sRGB was assumed.", error.what_to_do
        )
        return picture.pixels, SRGB, (*picture.notes, note)


def _through_tables(pixels: Codes, icc: bytes) -> Codes:
    """Convert a picture to 8-bit sRGB codes by the look-up tables of its profile."""
    if pixels.dtype == np.uint16:
        pixels = (pixels >> 8).astype(np.uint8)
    rgb = Image.fromarray(np.ascontiguousarray(pixels[..., ::-1]))
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        target = ImageCms.createProfile("sRGB")
        intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
        converted = ImageCms.profileToProfile(rgb, source, target, renderingIntent=intent)
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        raise _damaged("The color profile inside the photo is damaged.") from error
    return np.ascontiguousarray(np.asarray(converted)[..., ::-1])


# --- EXIF ----------------------------------------------------------------------------------------

_SUBFILE_TYPE, _PHOTOMETRIC, _ORIENTATION = 254, 262, 274
_SUB_DIRECTORIES, _DNG_VERSION = 330, 50706
_MAKE, _MODEL, _EXIF, _GPS, _INTEROPERABILITY = 271, 272, 34665, 34853, 40965
_MOMENTS = ((36867, 36881), (36868, 36882))  # taken, digitised: time and its offset
_COLOR_SPACE = 40961

# Types of TIFF 6.0 section 2, with IFD and the 64-bit types: letters of `struct`.
_FORMATS = {1: "B", 3: "H", 4: "I", 5: "II", 6: "b", 8: "h", 9: "i", 10: "ii", 11: "f"}
_FORMATS |= {12: "d", 13: "I", 16: "Q", 17: "q", 18: "Q"}


@dataclass(frozen=True, slots=True)
class _Directory:
    """One directory of a TIFF structure: EXIF blocks, TIFF files and most camera raws.

    `entries` holds type, count and place of each value; values are read when asked for, so that
    garbage costs nothing. Whatever cannot be read is missing.
    """

    data: bytes
    order: str
    big: bool
    entries: Mapping[int, tuple[int, int, int]]
    next: int

    def at(self, offset: int) -> "_Directory":
        """Read the directory at another place of the same data."""
        return _read_directory(self.data, self.order, self.big, offset)

    def below(self, tag: int) -> "_Directory":
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


def _read_directory(data: bytes, order: str, big: bool, offset: int) -> _Directory:
    """Read the entries of one directory (TIFF 6.0 section 2; 64-bit as libtiff's BigTIFF)."""
    counter, place, width = ("Q", "Q", 8) if big else ("H", "I", 4)
    entries: dict[int, tuple[int, int, int]] = {}
    following = 0
    try:
        if not 8 <= offset < len(data):  # a directory that is not there
            return _Directory(data, order, big, entries, 0)
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
    return _Directory(data, order, big, entries, following)


def _first_directory(data: bytes) -> _Directory:
    """Read the first directory of a TIFF structure; one without entries where there is none."""
    order = ">" if data[:2] == b"MM" else "<"
    big = data[2:4] in (b"+\0", b"\0+")
    if not data.startswith(_TIFF_STARTS):
        return _Directory(data, order, big, {}, 0)
    start = data[8:16] if big else data[4:8]
    return _read_directory(
        data, order, big, int.from_bytes(start, "big" if order == ">" else "little")
    )


def _facts(exif: bytes) -> _Facts:
    """Read what an EXIF block tells; garbage tells nothing."""
    return _facts_of(_first_directory(exif.removeprefix(b"Exif\0\0")))


def _facts_of(first: _Directory) -> _Facts:
    details = first.below(_EXIF)
    orientation = first.number(_ORIENTATION, 1)
    moments = (_moment(details.text(time), details.text(zone)) for time, zone in _MOMENTS)
    return _Facts(
        orientation=int(orientation) if 1 <= orientation <= 8 else 1,
        taken_at=next((moment for moment in moments if moment), None),
        camera=_camera(first.text(_MAKE), first.text(_MODEL)),
        position=_position(first.below(_GPS)),
        profile=_profile_of_exif(details),
    )


def _profile_of_exif(details: _Directory) -> ColorProfile | None:
    """Take sRGB or Adobe RGB where EXIF says so (DCF 2.0: color space, interoperability R03)."""
    space = details.number(_COLOR_SPACE, 0)
    if space == 2 or details.below(_INTEROPERABILITY).text(1) == "R03":
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


def _position(gps: _Directory) -> Position | None:
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


def _degrees(gps: _Directory, tag: int, letters: str) -> float | None:
    """Degrees, minutes and seconds with their letter; the value stands one tag after it."""
    letter, parts = gps.text(tag).upper(), gps.numbers(tag + 1)
    if len(letter) != 1 or letter not in letters or not 1 <= len(parts) <= 3:
        return None
    degrees = sum(part / 60.0**k for k, part in enumerate(parts))
    if not math.isfinite(degrees):
        return None
    return -degrees if letter == letters[1] else degrees
