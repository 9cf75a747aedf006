"""Decodes the pixels of a picture file, once its header is found good, and sets them upright.

JPEG, PNG, TIFF and WebP are decoded by OpenCV, HEIC by libheif, AVIF by Pillow, and camera raw by
LibRaw.

What cannot be seen: changed bytes inside a JPEG that still decode (they show as shifted stripes),
and a progressive JPEG that was cut and closed again (it is only softer).
"""

import io
import re
import struct
import threading
import warnings
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from colorcore._cv import cv2
from colorcore.color_profile import LINEAR_SRGB, Codes, ColorProfile, profile_of_signal
from colorcore.errors import PhotoError
from colorcore.exif import ExifFacts, Tag, facts_of_directory, facts_of_exif, first_directory
from colorcore.picture_file import (
    Kind,
    check_size,
    check_tiff,
    cut_off,
    damaged,
    has_second_page,
    png_chunks,
    png_profile,
    read_jpeg_header,
    several,
    unusual,
    webp_chunks,
    webp_size,
)
from colorcore.reasons import Reason

Detail = Literal["full", "auto"]

# From which long side on a JPEG is decoded at a quarter or at half its size: much faster, and its
# color is averaged. A thousand pixels stay at least, twice as many as tubes are looked for in.
REDUCE_FROM_PX = {4: 4000, 2: 2800}

_FULL = cv2.IMREAD_COLOR | cv2.IMREAD_ANYDEPTH | cv2.IMREAD_IGNORE_ORIENTATION
_REDUCED = {
    1: _FULL,
    2: cv2.IMREAD_REDUCED_COLOR_2 | cv2.IMREAD_IGNORE_ORIENTATION,
    4: cv2.IMREAD_REDUCED_COLOR_4 | cv2.IMREAD_IGNORE_ORIENTATION,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A decoded picture: upright BGR codes, and the profile (or its ICC bytes) the file names.

    One pixel stands for `reduction` x `reduction` pixels of a picture of `full_size`, its upright
    height and width.
    """

    pixels: Codes
    facts: ExifFacts
    profile: bytes | ColorProfile | None
    notes: tuple[Reason, ...] = ()
    reduction: int = 1
    full_size: tuple[int, int] | None = None


def _decode(data: bytes, flags: int, width: int, height: int) -> Codes:
    """Decode with OpenCV and insist on the size that the header promised."""
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    except cv2.error as error:
        raise damaged() from error
    if pixels is None or pixels.shape[:2] != (height, width):
        raise damaged()
    return _codes(pixels)


def _codes(pixels: NDArray[Any]) -> Codes:
    """Insist on 8- or 16-bit codes."""
    if pixels.dtype not in (np.uint8, np.uint16):
        raise unusual(f"numbers of type {pixels.dtype}")
    return pixels


def _upright(pixels: Codes, orientation: int) -> Codes:
    """Turn and mirror stored pixels as the EXIF orientation asks (EXIF 2.32, tag 0x0112)."""
    mirrors = {2: 1, 3: -1, 4: 0, 6: 0, 7: -1, 8: 1}
    if orientation in mirrors:  # first, as rows change places much faster than columns
        pixels = _codes(cv2.flip(pixels, mirrors[orientation]))
    if orientation in (5, 6, 7, 8):
        pixels = _codes(cv2.transpose(pixels))
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
        note(
            "transparency",
            "Parts of the photo are transparent; they were laid on white.",
            "Save the photo without transparency.",
        ),
    )


def note(code: str, text: str, what_to_do: str) -> Reason:
    """Say what had to be assumed, without doubt for the reading."""
    return Reason(code=code, text=text, what_to_do=what_to_do, weight="note")


# --- by OpenCV -----------------------------------------------------------------------------------


def _read_jpeg(data: bytes, max_pixels: int, detail: Detail) -> Picture:
    header = read_jpeg_header(data)
    width, height = header.width, header.height
    check_size(width, height, max_pixels)
    facts = facts_of_exif(header.exif)
    step = 1 if detail == "full" else _reduction(width, height, facts.orientation)
    pixels = _decode(data, _REDUCED[step], -(-width // step), -(-height // step))
    if _ends_in_grey(pixels):
        raise cut_off()
    return Picture(
        pixels=_upright(pixels, facts.orientation),
        facts=facts,
        profile=header.profile(),
        reduction=step,
        full_size=(width, height) if facts.orientation >= 5 else (height, width),
    )


def _reduction(width: int, height: int, orientation: int) -> int:
    """How much smaller a picture is decoded, so that whole pixels still fall on the upright grid.

    A decoder groups the stored pixels from the stored left and top. Where the orientation mirrors a
    side that is no multiple of the group, the last, smaller group comes first, and no group is
    where the upright grid has it.
    """
    mirrored_x, mirrored_y = orientation in (2, 3, 7, 8), orientation in (3, 4, 6, 7)
    for step, from_px in REDUCE_FROM_PX.items():
        broken = (mirrored_x and width % step) or (mirrored_y and height % step)
        if max(width, height) >= from_px and not broken:
            return step
    return 1


def _ends_in_grey(pixels: Codes) -> bool:
    """Whether the stored bottom is the flat middle grey that decoders put where data is missing.

    A drawn picture may hold that very grey on purpose; then it is found elsewhere too.
    """
    if (pixels[-4:] != 128).any():
        return False
    grey = (pixels == 128).all(axis=2)
    others = np.flatnonzero(~grey.all(axis=1))
    return bool(others.size) and bool(grey[: others[-1] + 1].mean() < 0.05)


def _read_png(data: bytes, max_pixels: int) -> Picture:
    chunks = png_chunks(data)
    if len(chunks.get(b"IHDR", b"")) != 13:
        raise damaged()
    width, height, _, color_type = struct.unpack_from(">IIBB", chunks[b"IHDR"])
    check_size(width, height, max_pixels)
    if int.from_bytes(chunks.get(b"acTL", b"")[:4], "big") > 1:
        raise several()
    profile = png_profile(chunks)
    facts = facts_of_exif(chunks.get(b"eXIf", b""))
    clear = color_type in (4, 6) or (color_type in (2, 3) and b"tRNS" in chunks)
    pixels, notes = _flat(_decode(data, cv2.IMREAD_UNCHANGED if clear else _FULL, width, height))
    return Picture(
        pixels=_upright(pixels, facts.orientation),
        facts=facts,
        profile=profile,
        notes=notes,
    )


def _read_webp(data: bytes, max_pixels: int) -> Picture:
    chunks = webp_chunks(data)
    width, height = webp_size(chunks)
    check_size(width, height, max_pixels)
    if b"ANIM" in chunks or b"ANMF" in chunks:
        raise several()
    facts = facts_of_exif(chunks.get(b"EXIF", b""))
    pixels, notes = _flat(_decode(data, cv2.IMREAD_UNCHANGED, width, height))
    return Picture(
        pixels=_upright(pixels, facts.orientation),
        facts=facts,
        profile=chunks.get(b"ICCP"),
        notes=notes,
    )


def _read_tiff(data: bytes, max_pixels: int) -> Picture:
    """Decode a TIFF; OpenCV turns it upright by itself.

    Notes
    -----
    Found by trying, and kept by the tests: OpenCV gives 8-bit pixels already multiplied with
    their transparency, leaves 16-bit greys that count from white as they are, and mixes up 16-bit
    channels that are stored in planes.
    """
    first = first_directory(data)
    width, height = int(first.number(Tag.WIDTH, 0)), int(first.number(Tag.HEIGHT, 0))
    check_size(width, height, max_pixels)
    bits, samples, photometric = check_tiff(first)
    tile_width, tile_height = first.number(Tag.TILE_WIDTH, 0), first.number(Tag.TILE_HEIGHT, 0)
    if tile_width > max(width + 15, 1024) or tile_height > max(height + 15, 1024):
        raise damaged()  # tiles far beyond the picture would cost memory for nothing
    if has_second_page(first):
        raise several()
    if first.number(Tag.ORIENTATION, 1) >= 5:
        width, height = height, width
    extra = first.number(Tag.EXTRA_SAMPLES, 0)
    clear = samples == 4 and extra in (1, 2)
    pixels = _decode(data, cv2.IMREAD_UNCHANGED if clear else _FULL, width, height)
    if photometric == 0 and bits == 16:
        pixels = ~pixels
    pixels, notes = _flat(pixels, premultiplied=bits == 8 or extra == 1)
    return Picture(
        pixels=pixels,
        facts=facts_of_directory(first),
        profile=first.raw(Tag.ICC_PROFILE) or None,
        notes=notes,
    )


# --- HEIC, AVIF and camera raw -------------------------------------------------------------------


def _read_heic(data: bytes, max_pixels: int) -> Picture:
    """Decode the primary picture of a HEIC; libheif turns it upright by itself."""
    import pillow_heif

    try:
        heif = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=False, bgr_mode=True)
        primary = heif[heif.primary_index]
        info: dict[str, Any] = primary.info
        width, height = primary.size
        check_size(width, height, max_pixels)
        pixels = _three_channels(np.asarray(primary))
    except (ValueError, OSError, EOFError, SyntaxError, RuntimeError, LookupError) as error:
        raise damaged() from error
    if pixels.shape[:2] != (height, width):
        raise damaged()
    if pixels.dtype == np.uint16:  # codes of 10 or 12 bits, shifted up: white must be 65535
        pixels = _codes(pixels | pixels >> int(info["bit_depth"]))
    pixels, notes = _flat(pixels, premultiplied=primary.mode.endswith("a"))
    if len(heif) > 1:
        notes += (
            note(
                "several_pictures",
                f"The file holds {len(heif)} pictures; the main one was read.",
                "Save the one to be read as a picture of its own.",
            ),
        )
    signal = info.get("nclx_profile") or {}
    return Picture(
        pixels=pixels,
        facts=facts_of_exif(info.get("exif") or b""),
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


def _read_avif(data: bytes, max_pixels: int) -> Picture:
    """Decode an AVIF; its turn and mirror reach us as an EXIF orientation."""
    try:
        with _quiet():
            image = Image.open(io.BytesIO(data), formats=("AVIF",))
        check_size(*image.size, max_pixels)
        if getattr(image, "n_frames", 1) > 1:
            raise several()
        clear = image.mode == "RGBA"
        rgb = np.asarray(image if clear else image.convert("RGB"))
    except Image.DecompressionBombError as error:
        raise PhotoError(
            "The photo is far too large.",
            what_to_do=f"Save it with at most {max_pixels / 1e6:g} million pixels.",
        ) from error
    except (OSError, ValueError, SyntaxError, RuntimeError, KeyError, struct.error) as error:
        raise damaged() from error
    facts = facts_of_exif(image.info.get("exif", b""))
    pixels, notes = _flat(
        _codes(cv2.cvtColor(rgb, cv2.COLOR_RGBA2BGRA if clear else cv2.COLOR_RGB2BGR))
    )
    pixels = _upright(pixels, facts.orientation)
    signal = re.search(rb"colrnclx(..)(..)", data[:65536], re.DOTALL)
    primaries, transfer = (int.from_bytes(n, "big") for n in signal.groups()) if signal else (2, 2)
    return Picture(
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


def _read_raw(data: bytes, max_pixels: int) -> Picture:
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
            check_size(raw.sizes.raw_width, raw.sizes.raw_height, max_pixels)
            rgb = raw.postprocess(
                use_camera_wb=True,
                output_color=rawpy.ColorSpace.sRGB,
                output_bps=16,
                gamma=(1, 1),
                no_auto_bright=True,
                adjust_maximum_thr=0.0,
            )
    except (rawpy.LibRawError, rawpy.NotSupportedError) as error:
        raise damaged("The camera raw file is damaged, or of a camera unknown here.") from error
    pixels = _codes(np.ascontiguousarray(_three_channels(rgb)[..., ::-1]))
    return Picture(
        pixels=pixels,
        facts=facts_of_exif(data),
        profile=LINEAR_SRGB,
    )


_READERS: Mapping[Kind, Callable[[bytes, int], Picture]] = {
    "PNG": _read_png,
    "TIFF": _read_tiff,
    "WebP": _read_webp,
    "HEIC": _read_heic,
    "AVIF": _read_avif,
    "raw": _read_raw,
}


def decode_picture(data: bytes, kind: Kind, *, max_pixels: int, detail: Detail) -> Picture:
    """Decode a picture file of a known kind; only JPEGs can be decoded at less than full detail.

    Raises
    ------
    PhotoError
        If the picture cannot be used.
    """
    if kind == "JPEG":
        return _read_jpeg(data, max_pixels, detail)
    return _READERS[kind](data, max_pixels)
