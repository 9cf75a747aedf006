"""Reads a picture file into a `Photo`: upright codes, their profile, when and where taken.

Whatever is wrong with a file comes out as a `PhotoError`, in bounded time and memory.
"""

import errno
import hashlib
import io
import math
import stat
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from colorcore.color_profile import SRGB, Codes, ColorProfile, needs_tables, profile_of_icc
from colorcore.errors import PhotoError
from colorcore.exif import Position
from colorcore.geometry import Box
from colorcore.picture_decoder import Detail, Picture, decode_picture, note
from colorcore.picture_file import check_length, damaged, kind_of
from colorcore.reasons import Reason

__all__ = ["ColorProfile", "Photo", "Position", "decode_photo", "read_photo"]

MAX_PIXELS = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photo:
    """One upright picture, still in codes, with all that its file tells.

    Parameters
    ----------
    pixels : ndarray
        BGR codes, shape (H, W, 3), uint8 or uint16; made read-only.
    reduction : {1, 2, 4}
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
        if self.reduction not in (1, 2, 4):
            raise ValueError(f"reduction must be 1, 2 or 4, got {self.reduction}")
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
    check_length(status.st_size)
    return path.read_bytes()


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
        "auto" decodes large JPEGs at half or a quarter of their size where the grid allows it.

    Raises
    ------
    PhotoError
        If the picture cannot be used.
    """
    try:
        kind = kind_of(data)
        picture = decode_picture(data, kind, max_pixels=max_pixels, detail=detail)
        pixels, profile, notes = _with_profile(picture)
    except PhotoError as error:
        raise _named(name, error) from error
    height, width = picture.full_size or pixels.shape[:2]
    return Photo(
        pixels=pixels,
        reduction=picture.reduction,
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


def _with_profile(picture: Picture) -> tuple[Codes, ColorProfile, tuple[Reason, ...]]:
    """Settle what the codes mean; a profile of tables is applied at once, to sRGB codes."""
    named = picture.profile if picture.profile is not None else picture.facts.profile
    if named is None:
        untagged = note(
            "untagged_profile",
            "The photo does not say what its colors mean; sRGB was assumed.",
            "Nothing, if the camera was set to sRGB.",
        )
        return picture.pixels, SRGB, (*picture.notes, untagged)
    if isinstance(named, ColorProfile):
        return picture.pixels, named, picture.notes
    try:
        if needs_tables(named):
            return _through_tables(picture.pixels, named), SRGB, picture.notes
        return picture.pixels, profile_of_icc(named), picture.notes
    except PhotoError as error:
        sick = note("damaged_profile", f"{error.what_happened} sRGB was assumed.", error.what_to_do)
        return picture.pixels, SRGB, (*picture.notes, sick)


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
        raise damaged("The color profile inside the photo is damaged.") from error
    return np.ascontiguousarray(np.asarray(converted)[..., ::-1])
