"""Tells picture files apart and reads their headers, so that bad ones are refused undecoded.

The kind is told from the content, never from the name. Headers are walked in bounded time and
sizes are checked before any decoder sees the file.
"""

import re
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from colorcore.color_profile import SRGB, ColorProfile, profile_of_signal
from colorcore.errors import PhotoError
from colorcore.exif import TIFF_STARTS, Tag, TiffDirectory, first_directory

Kind = Literal["JPEG", "PNG", "TIFF", "WebP", "HEIC", "AVIF", "raw"]

MAX_BYTES = 200_000_000
MIN_SIDE_PX = 16
# A progressive JPEG has about ten; each further one costs a pass over the whole picture.
MAX_SCANS = 100
MAX_PROFILE_BYTES = 8_000_000

_RAW_STARTS = (b"FUJIFILMCCD-RAW", b"IIRO", b"IIRS", b"MMOR", b"IIU\0", b"FOVb", b"\0MRM")


# --- refusals and limits -------------------------------------------------------------------------


def damaged(what: str = "The file is damaged: it cannot be decoded.") -> PhotoError:
    """Build the refusal of a file with wrong bytes."""
    return PhotoError(what, what_to_do="Copy the photo from the camera again.")


def cut_off() -> PhotoError:
    """Build the refusal of a file that stops too early."""
    return damaged("The file is cut off: its end is missing.")


def _cmyk() -> PhotoError:
    return PhotoError(
        "The photo is stored in printing inks (CMYK).",
        what_to_do="Use the camera's own file, or save the photo as RGB.",
    )


def several() -> PhotoError:
    """Build the refusal of an animation, or of several pages."""
    return PhotoError(
        "The file holds several pictures (an animation or several pages).",
        what_to_do="Save the one to be read as a picture of its own.",
    )


def unusual(what: str) -> PhotoError:
    """Build the refusal of a sound file whose codes are of no kind that is read."""
    return PhotoError(
        f"The file stores its picture in an unusual way ({what}).",
        what_to_do="Save it as JPEG, PNG or TIFF, RGB with 8 or 16 bits a channel.",
    )


def check_length(length: int) -> None:
    """Refuse a file for its number of bytes."""
    if length > MAX_BYTES:
        raise PhotoError(
            f"The file is too large: {length / 1e6:.0f} MB.",
            what_to_do=f"Save the photo as JPEG; up to {MAX_BYTES / 1e6:.0f} MB are read.",
        )


def check_size(width: int, height: int, max_pixels: int) -> None:
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


def kind_of(data: bytes) -> Kind:
    """Tell the kind of picture from its first bytes."""
    if not data:
        raise damaged("The file is empty.")
    check_length(len(data))
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
    if data.startswith(TIFF_STARTS):
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
    first = first_directory(data)
    return (
        data[8:10] == b"CR"
        or Tag.DNG_VERSION in first.entries
        or first.number(Tag.PHOTOMETRIC, 2) in (32803, 34892)
        or (first.number(Tag.SUBFILE_TYPE, 0) == 1 and Tag.SUB_DIRECTORIES in first.entries)
    )


# --- JPEG ----------------------------------------------------------------------------------------

# The next marker in entropy-coded data, where 0xFF is followed by 0, a restart or a fill byte.
_NEXT_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
# Markers that may follow the first scan: tables, scans, comments and notes of programs.
_BETWEEN_SCANS = frozenset({0xC4, 0xDA, 0xDB, 0xDC, 0xDD, 0xFE, *range(0xE0, 0xF0)})


@dataclass(slots=True)
class JpegHeader:
    """What the markers of a JPEG tell, gathered while they are walked."""

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


def read_jpeg_header(data: bytes) -> JpegHeader:
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
    header = JpegHeader()
    at, scans, segments = 2, 0, 0
    while match := _NEXT_MARKER.search(data, at):
        marker, at = data[match.end() - 1], match.end()
        if marker == 0xD9:
            break
        segments += 1
        if (scans and marker not in _BETWEEN_SCANS) or scans > MAX_SCANS or segments > 5000:
            raise damaged()
        scans += marker == 0xDA
        length = int.from_bytes(data[at : at + 2], "big")
        _read_segment(header, marker, data[at + 2 : at + length])
        at += max(length, 2)
    else:
        raise cut_off()
    rest = data[at:].rstrip(b"\0")
    if not scans or (rest.endswith(b"\xff\xd9") and b"\xff\xd8\xff" not in rest):
        raise damaged()  # no picture at all, or an end marker in the middle of it
    return header


def _read_segment(header: JpegHeader, marker: int, body: bytes) -> None:
    if marker in _FRAMES and len(body) >= 6:
        bits, header.height, header.width, components = struct.unpack_from(">BHHB", body)
        if components == 4:
            raise _cmyk()
        if bits != 8 or components not in (1, 3):
            raise unusual(f"{components} channels of {bits} bits")
    elif marker == 0xE1 and body.startswith(b"Exif\0") and not header.exif:
        header.exif = body
    elif marker == 0xE2 and body.startswith(b"ICC_PROFILE\0") and len(body) >= 14:
        header.icc[body[12]] = body[14:]
        header.icc_count = body[13]


# --- PNG -----------------------------------------------------------------------------------------


def png_chunks(data: bytes) -> dict[bytes, bytes]:
    """First chunk of each kind but the pixels', all checksums compared.

    References
    ----------
    W3C PNG Specification, third edition, section 5.
    """
    chunks: dict[bytes, bytes] = {}
    at = 8
    while b"IEND" not in chunks:
        if at + 12 > len(data):
            raise cut_off()
        length, kind = struct.unpack_from(">I4s", data, at)
        end = at + 8 + length
        if end + 4 > len(data):
            raise cut_off()
        body = memoryview(data)[at + 4 : end]
        if zlib.crc32(body) != int.from_bytes(data[end : end + 4], "big"):
            raise damaged()
        if kind != b"IDAT":
            chunks.setdefault(kind, bytes(body[4:]))
        at = end + 4
    return chunks


def png_profile(chunks: Mapping[bytes, bytes]) -> bytes | ColorProfile | None:
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


def webp_chunks(data: bytes) -> dict[bytes, bytes]:
    """First chunk of each kind, pixels' included (RFC 9649, section 2)."""
    chunks: dict[bytes, bytes] = {}
    end = 8 + int.from_bytes(data[4:8], "little")
    if end > len(data):
        raise cut_off()
    at = 12
    while at + 8 <= end and len(chunks) < 100:
        kind, length = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        chunks.setdefault(kind, data[at + 8 : min(at + 8 + length, end)])
        at += 8 + length + length % 2
    return chunks


def webp_size(chunks: Mapping[bytes, bytes]) -> tuple[int, int]:
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
    raise damaged()


# --- TIFF ----------------------------------------------------------------------------------------


def check_tiff(first: TiffDirectory) -> tuple[int, int, int]:
    """Bits a sample, samples a pixel and kind of color, if it is one that is read (TIFF 6.0)."""
    bits = {int(count) for count in first.numbers(Tag.BITS)} or {1}
    samples, photometric = int(first.number(Tag.SAMPLES, 1)), int(first.number(Tag.PHOTOMETRIC, -1))
    if photometric == 5:
        raise _cmyk()
    if {int(form) for form in first.numbers(Tag.SAMPLE_FORMAT)} - {1}:
        raise unusual("signed or floating-point numbers")
    allowed = {0: (1,), 1: (1,), 2: (3, 4), 3: (1,), 6: (3,)}
    if samples not in allowed.get(photometric, ()):
        raise unusual(f"{samples} channels of color kind {photometric}")
    if bits not in ({8}, {16}) or (bits == {16} and photometric > 2):
        raise unusual(f"{max(bits)} bits a channel")
    if bits == {16} and samples > 1 and first.number(Tag.PLANES, 1) == 2:
        raise unusual("16-bit channels in separate planes")
    return bits.pop(), samples, photometric


def has_second_page(first: TiffDirectory) -> bool:
    """Whether another picture follows that is no smaller copy of the first."""
    page = first
    for _ in range(8):
        if not page.next:
            return False
        page = page.at(page.next)
        if page.entries and not int(page.number(Tag.SUBFILE_TYPE, 0)) & 1:
            return True
    return False
