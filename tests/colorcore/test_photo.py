"""Picture files of every kind, whole, turned, odd, broken and hostile."""

import errno
import hashlib
import io
import os
import struct
import sys
import tracemalloc
import zlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
import pytest
import tifffile
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageOps
from PIL.TiffImagePlugin import IFDRational

from colorcore import picture_decoder
from colorcore._cv import cv2
from colorcore.color_profile import ADOBE_RGB, DISPLAY_P3, LINEAR_SRGB, SRGB
from colorcore.errors import PhotoError
from colorcore.geometry import Box
from colorcore.photo import Photo, Position, decode_photo, read_photo
from tests.colorcore.test_color_profile import icc_of, made_icc

Array = NDArray[Any]


def picture(width: int = 60, height: int = 40, top: int = 255, dtype: type = np.uint8) -> Array:
    """Draw RGB slopes that differ along both axes, so that no turn or mirror looks the same."""
    y, x = np.mgrid[0:height, 0:width]
    slopes = [x / width, y / height, (x + 2 * y) / (width + 2 * height)]
    return np.stack([np.round(slope * top) for slope in slopes], axis=-1).astype(dtype)


def exif_block(tags: dict[int, Any], **below: dict[int, Any]) -> bytes:
    """Let Pillow write an EXIF block; `details` and `gps` go into their directories."""
    block = Image.Exif()
    block.update(tags)
    for name, place in (("details", 0x8769), ("gps", 0x8825)):
        if name in below:
            block.get_ifd(place).update(below[name])
    return block.tobytes()


def saved(rgb: Array | Image.Image, form: str, **options: Any) -> bytes:
    """Encode a picture with Pillow, as exactly as the format can."""
    exact: dict[str, dict[str, Any]] = {
        "JPEG": {"quality": 100, "subsampling": 0},
        "WEBP": {"lossless": True, "exact": True},
        "AVIF": {"quality": 100, "subsampling": "4:4:4"},
    }
    file = io.BytesIO()
    image = rgb if isinstance(rgb, Image.Image) else Image.fromarray(rgb)
    image.save(file, form, **{**exact.get(form, {}), **options})
    return file.getvalue()


def heic(rgb: Array, mode: str = "RGB", **options: Any) -> bytes:
    """Encode a HEIC with libheif."""
    file = io.BytesIO()
    height, width = rgb.shape[:2]
    heif = pillow_heif.from_bytes(mode=mode, size=(width, height), data=rgb.tobytes())
    heif.save(file, **{"quality": -1, "chroma": 444, **options})
    return file.getvalue()


def tiff(pixels: Array, **options: Any) -> bytes:
    """Encode a TIFF with tifffile."""
    file = io.BytesIO()
    tifffile.imwrite(file, pixels, **{"metadata": None, **options})
    return file.getvalue()


def dng(mosaic: NDArray[np.uint16], orientation: int = 1) -> bytes:
    """Write a tiny valid DNG: RGGB, black 512, white 16383, identity color matrix.

    Its white balance says that grey has red and blue at 1/2 and 2/3 of green.
    """
    identity = [part for row in np.eye(3, dtype=int).tolist() for n in row for part in (n, 1)]
    tags = [
        (50706, "B", 4, (1, 4, 0, 0), True),
        (33421, "H", 2, (2, 2), True),
        (33422, "B", 4, (0, 1, 1, 2), True),
        (50717, "I", 1, 16383, True),
        (50714, "I", 1, 512, True),
        (50721, "2i", 9, identity, True),
        (50728, "2I", 3, [1, 2, 1, 1, 2, 3], True),
        (50778, "H", 1, 21, True),
        (274, "H", 1, orientation, True),
        (271, "s", 0, "Maker", True),
        (272, "s", 0, "Model 1", True),
        (50708, "s", 0, "Maker Model 1", True),
    ]
    return tiff(mosaic, photometric=32803, extratags=tags)


def grey_mosaic(green: NDArray[np.float64]) -> NDArray[np.uint16]:
    """Sensor codes of a grey scene: green share of white, red and blue as the balance says."""
    share = np.tile([[0.5, 1.0], [1.0, 2 / 3]], (green.shape[0] // 2, green.shape[1] // 2))
    return np.round(512 + green * share * (16383 - 512)).astype(np.uint16)


def rgb_of(photo: Photo) -> Array:
    """Return the stored codes in the order of the drawing."""
    return photo.pixels[..., ::-1]


def differ(a: Array, b: Array) -> int:
    """Return the largest difference of two pictures of one shape."""
    assert a.shape == b.shape
    return int(np.abs(a.astype(np.int64) - b.astype(np.int64)).max())


def note_codes(photo: Photo) -> set[str]:
    """Return the codes of the notes, all of them notes indeed."""
    assert all(note.weight == "note" for note in photo.notes)
    return {note.code for note in photo.notes}


# --- whole pictures ------------------------------------------------------------------------------

# Kind, encoder and the largest difference its coding may leave, in 8-bit codes.
WRITERS: dict[str, tuple[Callable[[Array, bytes], bytes], int]] = {
    "JPEG": (lambda rgb, exif: saved(rgb, "JPEG", exif=exif), 3),
    "PNG": (lambda rgb, exif: saved(rgb, "PNG", exif=exif), 0),
    "TIFF": (lambda rgb, exif: saved(rgb, "TIFF", exif=exif), 0),
    "WebP": (lambda rgb, exif: saved(rgb, "WEBP", exif=exif), 0),
    "HEIC": (lambda rgb, exif: heic(rgb, exif=exif), 3),
    "AVIF": (lambda rgb, exif: saved(rgb, "AVIF", exif=exif), 3),
}


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", WRITERS)
def test_every_format_stands_upright(kind: str, orientation: int) -> None:
    """Agrees with Pillow's exif_transpose in all eight orientations."""
    encode, tolerance = WRITERS[kind]
    exif = exif_block({274: orientation, 271: "Acme", 272: "One"})
    photo = decode_photo(encode(picture(), exif), "a")
    wanted = Image.fromarray(picture())
    wanted.getexif()[274] = orientation
    upright = np.asarray(ImageOps.exif_transpose(wanted))
    assert differ(rgb_of(photo), upright) <= tolerance
    assert (photo.height, photo.width, photo.reduction) == (*upright.shape[:2], 1)
    assert (photo.file_format, photo.camera) == (kind, "Acme One")


def test_read_photo_keeps_name_and_fingerprint(tmp_path: Path) -> None:
    """The fingerprint is SHA-256 of the file; names may be any text and need no extension."""
    path = tmp_path / "Boden Größe 土壌 №7"
    path.write_bytes(saved(picture(), "PNG"))
    link = tmp_path / "link.txt"
    link.symlink_to(path)
    for place, name in ((path, path.name), (str(link), "link.txt")):
        photo = read_photo(place)
        assert photo.name == name
        assert photo.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert photo.file_format == "PNG"


def test_pixels_are_read_only_and_linear_on_request() -> None:
    """Codes stay codes; light is RGB, float32, only of the box that was asked for."""
    photo = decode_photo(saved(picture(), "PNG"), "a")
    with pytest.raises(ValueError, match="read-only"):
        photo.pixels[0, 0] = 0
    box = Box(10, 5, 8, 4)
    light = photo.linear(box)
    assert (light.shape, light.dtype, photo.max_code) == ((4, 8, 3), np.float32, 255)
    np.testing.assert_array_equal(light, photo.linear()[5:9, 10:18])
    np.testing.assert_array_equal(light, SRGB.to_linear(photo.pixels)[5:9, 10:18])
    assert np.shares_memory(photo.codes(box), photo.pixels)


@pytest.mark.parametrize(
    ("box", "rows", "columns"),
    [
        (Box(0, 0, 60, 40), (0, 40), (0, 60)),
        (Box(-5, -5, 10, 10), (0, 5), (0, 5)),
        (Box(55.5, 39.2, 100, 100), (39, 40), (55, 60)),
        (Box(10.2, 10.2, 0.1, 0.1), (10, 11), (10, 11)),
    ],
)
def test_boxes_are_clipped(box: Box, rows: tuple[int, int], columns: tuple[int, int]) -> None:
    """A box takes every stored pixel that it touches and none beyond the edge."""
    photo = decode_photo(saved(picture(), "PNG"), "a")
    assert photo.window(box) == (slice(*rows), slice(*columns))


@pytest.mark.parametrize("box", [Box(60, 0, 5, 5), Box(0, -9, 5, 5), Box(5, 5, 0, 0)])
def test_a_box_outside_is_a_mistake(box: Box) -> None:
    """No empty arrays whose mean would be NaN."""
    photo = decode_photo(saved(picture(), "PNG"), "a")
    with pytest.raises(ValueError, match="must touch the photo"):
        photo.linear(box)


def test_photo_refuses_nonsense_at_birth() -> None:
    """Shape, type and reduction must fit."""
    fields: dict[str, Any] = {
        "reduction": 2, "width": 33, "height": 20, "profile": SRGB, "taken_at": None,
        "camera": None, "position": None, "sha256": "", "file_format": "PNG", "name": "a",
    }  # fmt: skip
    pixels = np.zeros((10, 17, 3), np.uint8)
    assert Photo(pixels=pixels, **fields).width == 33
    for wrong in ({"width": 35}, {"reduction": 3}, {"pixels": pixels.astype(np.float32)}):
        with pytest.raises(ValueError, match="must"):
            Photo(**{"pixels": pixels, **fields, **wrong})


# --- JPEGs decoded at less than their size ------------------------------------------------------


@pytest.fixture(params=[2, 4])
def step(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    """Treat small test pictures as large ones, and say by how much they are reduced."""
    monkeypatch.setattr(picture_decoder, "REDUCE_FROM_PX", {request.param: 1})
    return int(request.param)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("size", [(64, 48), (63, 48), (64, 47), (63, 47)])
def test_reduction_keeps_the_pixel_grid(size: tuple[int, int], orientation: int, step: int) -> None:
    """Each stored pixel is the mean of the full-size pixels it stands for, odd sides included."""
    data = saved(picture(*size), "JPEG", exif=exif_block({274: orientation}))
    small, full = decode_photo(data, "a"), decode_photo(data, "a", detail="full")
    assert (small.width, small.height) == (full.width, full.height)
    assert full.reduction == 1
    step = small.reduction
    fields = full.pixels.astype(np.float64)
    fields = np.pad(fields, ((0, -full.height % step), (0, -full.width % step), (0, 0)), "edge")
    rows, columns = fields.shape[0] // step, fields.shape[1] // step
    means = fields.reshape(rows, step, columns, step, 3).mean(axis=(1, 3))
    # the cosine transform is no plain mean: up to two codes; a shift by one pixel is four or more
    assert np.abs(small.pixels - means).max() <= 2.5


def test_reduction_is_used_wherever_the_grid_allows(step: int) -> None:
    """Only sides that the orientation mirrors and that do not divide are decoded whole."""
    for orientation in range(1, 9):
        for width, height in ((64, 48), (63, 47)):
            data = saved(picture(width, height), "JPEG", exif=exif_block({274: orientation}))
            even = width % 2 == 0
            expected = step if even or orientation in (1, 5) else 1
            assert decode_photo(data, "a").reduction == expected


def test_boxes_find_their_place_in_reduced_pictures(step: int) -> None:
    """A box in full-size pixels takes the stored pixels it touches."""
    rgb = np.zeros((48, 64, 3), np.uint8)
    rgb[16:32, 24:40] = 255
    photo = decode_photo(saved(rgb, "JPEG"), "a")
    rows, columns = slice(16 // step, 32 // step), slice(24 // step, 40 // step)
    assert photo.window(Box(24, 16, 16, 16)) == (rows, columns)
    assert photo.window(Box(25, 17, 3, 1)) == (
        slice(rows.start, rows.start + 1),
        slice(columns.start, columns.start + 4 // step),
    )
    assert photo.codes(Box(24, 16, 16, 16)).min() > 250
    assert photo.codes(Box(0, 0, 22, 48)).max() < 5


def test_only_large_jpegs_are_reduced() -> None:
    """A thousand pixels stay at least, and all of them when full detail is asked for."""
    for side, expected in ((2799, 1), (2800, 2), (3999, 2), (4000, 4)):
        data = saved(np.full((200, side, 3), 200, np.uint8), "JPEG")
        assert decode_photo(data, "a").reduction == expected
    assert decode_photo(data, "a", detail="full").reduction == 1
    flat = saved(np.full((200, 4000, 3), 200, np.uint8), "WEBP", method=0)
    assert decode_photo(flat, "a").reduction == 1


# --- depths, greys and transparency --------------------------------------------------------------

WIDE = picture(top=65535, dtype=np.uint16)


@pytest.mark.parametrize(
    "options",
    [
        {},
        {"byteorder": ">"},
        {"bigtiff": True},
        {"compression": "zlib"},
        {"compression": "zlib", "predictor": True},
        {"tile": (16, 16)},
        {"rowsperstrip": 7},
    ],
)
def test_16_bit_tiff_is_exact(options: dict[str, Any]) -> None:
    """Every code survives, whatever the layout."""
    photo = decode_photo(tiff(WIDE, photometric="rgb", **options), "a")
    assert (photo.pixels.dtype, photo.max_code) == (np.uint16, 65535)
    np.testing.assert_array_equal(rgb_of(photo), WIDE)


def test_16_bit_png_is_exact() -> None:
    """Every code survives, with opaque transparency too."""
    opaque = np.full(WIDE.shape[:2], 65535, np.uint16)
    for pixels in (WIDE[..., ::-1], np.dstack([WIDE[..., ::-1], opaque])):
        photo = decode_photo(cv2.imencode(".png", pixels)[1].tobytes(), "a")
        np.testing.assert_array_equal(rgb_of(photo), WIDE)
        assert "transparency" not in note_codes(photo)


def test_10_bit_heic_keeps_its_depth() -> None:
    """Ten bits, spread so that white is white; coding leaves two steps of 64."""
    photo = decode_photo(heic(WIDE, mode="RGB;16"), "a")
    assert photo.max_code == 65535
    assert differ(rgb_of(photo), WIDE) <= 3 * 64
    white = decode_photo(heic(np.full_like(WIDE, 65535), mode="RGB;16"), "a")
    assert white.pixels.max() == 65535


GREY, WIDE_GREY = picture()[..., 2].copy(), WIDE[..., 2].copy()
GREYS: dict[str, tuple[bytes, Array]] = {
    "JPEG": (saved(GREY, "JPEG"), GREY),
    "PNG": (saved(GREY, "PNG"), GREY),
    "PNG 16": (saved(WIDE_GREY, "PNG"), WIDE_GREY),
    "PNG LA": (saved(Image.fromarray(GREY).convert("LA"), "PNG"), GREY),
    "HEIC": (heic(GREY, mode="L", chroma=420), GREY),
    "AVIF": (saved(GREY, "AVIF"), GREY),
    "TIFF": (tiff(GREY, photometric="minisblack"), GREY),
    "TIFF 16": (tiff(WIDE_GREY, photometric="minisblack"), WIDE_GREY),
    "TIFF from white": (tiff(~GREY, photometric="miniswhite"), GREY),
    "TIFF 16 from white": (tiff(~WIDE_GREY, photometric="miniswhite"), WIDE_GREY),
}


@pytest.mark.parametrize("kind", GREYS)
def test_grey_becomes_three_equal_channels(kind: str) -> None:
    """Whatever the depth, and whether black or white counts as 0."""
    data, grey = GREYS[kind]
    photo = decode_photo(data, "a")
    assert differ(photo.pixels, np.repeat(grey[..., None], 3, axis=2)) <= 3
    assert np.ptp(photo.pixels, axis=2).max() == 0


def test_palettes_become_colors() -> None:
    """PNG and TIFF with a palette agree with Pillow."""
    image = Image.fromarray(picture()).quantize(64)
    wanted = np.asarray(image.convert("RGB"))
    for form in ("PNG", "TIFF"):
        np.testing.assert_array_equal(rgb_of(decode_photo(saved(image, form), "a")), wanted)


def test_planar_8_bit_tiff() -> None:
    """Channels in planes of their own."""
    planes = picture().transpose(2, 0, 1).copy()
    photo = decode_photo(tiff(planes, photometric="rgb", planarconfig="separate"), "a")
    np.testing.assert_array_equal(rgb_of(photo), picture())


def see_through(dtype: type) -> Array:
    """Make a picture with a slope of transparency."""
    top = np.iinfo(dtype).max
    alpha = np.tile(np.linspace(0, top, 60).round().astype(dtype), (40, 1))
    return np.dstack([picture(top=top, dtype=dtype), alpha])


def premultiplied(rgba: Array) -> Array:
    """Multiply the colors with their transparency."""
    top = np.iinfo(rgba.dtype).max
    color = np.round(rgba[..., :3] * (rgba[..., 3:] / top)).astype(rgba.dtype)
    return np.dstack([color, rgba[..., 3]])


def transparent_files() -> dict[str, tuple[bytes, Array]]:
    """Encode one transparent picture every way there is."""
    rgba, wide = see_through(np.uint8), see_through(np.uint16)
    unassociated = {"photometric": "rgb", "extrasamples": ["unassalpha"]}
    associated = {"photometric": "rgb", "extrasamples": ["assocalpha"]}
    return {
        "PNG": (saved(rgba, "PNG"), rgba),
        "PNG 16": (cv2.imencode(".png", wide[..., [2, 1, 0, 3]])[1].tobytes(), wide),
        "WebP": (saved(rgba, "WEBP"), rgba),
        "HEIC": (heic(rgba, mode="RGBA"), rgba),
        "AVIF": (saved(rgba, "AVIF"), rgba),
        "TIFF": (tiff(rgba, **unassociated), rgba),
        "TIFF 16": (tiff(wide, **unassociated), wide),
        "TIFF multiplied": (tiff(premultiplied(rgba), **associated), rgba),
        "TIFF 16 multiplied": (tiff(premultiplied(wide), **associated), wide),
    }


@pytest.mark.parametrize("kind", transparent_files())
def test_transparency_is_laid_on_white_and_said(kind: str) -> None:
    """Lay on white: color alpha + white (1 - alpha), to the rounding of the file."""
    data, rgba = transparent_files()[kind]
    top = np.iinfo(rgba.dtype).max
    share = rgba[..., 3:] / top
    wanted = np.round(rgba[..., :3] * share + top * (1 - share)).astype(rgba.dtype)
    photo = decode_photo(data, "a")
    assert differ(rgb_of(photo), wanted) <= 3
    assert "transparency" in note_codes(photo)


# --- camera raw ----------------------------------------------------------------------------------


def test_raw_of_a_grey_scene_is_linear() -> None:
    """A grey wedge comes out neutral, with white at the sensor's white level, not stretched."""
    green = np.repeat(np.linspace(0.05, 0.9, 8), 16)[None].repeat(64, axis=0)
    photo = decode_photo(dng(grey_mosaic(green)), "a")
    assert (photo.file_format, photo.profile, photo.max_code) == ("raw", LINEAR_SRGB, 65535)
    assert photo.camera == "Maker Model 1"
    light = photo.linear()[32, 8::16]
    np.testing.assert_allclose(light, green[32, 8::16, None].repeat(3, axis=1), atol=1e-3)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_raw_stands_upright(orientation: int) -> None:
    """A grey slope along both axes, turned as the file says."""
    y, x = np.mgrid[0:64, 0:96]
    green = 0.1 + 0.5 * (x // 16 + 6 * (y // 16)) / 24
    photo = decode_photo(dng(grey_mosaic(green), orientation), "a")
    turns = {1: 0, 3: 2, 6: 3, 8: 1}  # quarter turns to the left
    wanted = np.rot90(green, turns[orientation])
    assert (photo.height, photo.width) == wanted.shape
    np.testing.assert_allclose(photo.linear()[8::16, 8::16, 1], wanted[8::16, 8::16], atol=1e-3)


def test_raw_without_its_part_says_how_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Raw is an optional extra."""
    monkeypatch.setitem(sys.modules, "rawpy", None)
    with pytest.raises(PhotoError, match=r"tintwell\[raw\]"):
        decode_photo(dng(np.full((64, 64), 4000, np.uint16)), "a")


def test_raw_is_not_loaded_for_other_files() -> None:
    """Slow readers are imported only when such a file comes."""
    import subprocess

    data = saved(picture(), "PNG")
    code = (
        "import sys; from colorcore.photo import decode_photo;"
        f"decode_photo(bytes.fromhex('{data.hex()}'), 'a');"
        "print(sorted({'rawpy', 'pillow_heif', 'colour', 'skimage', 'scipy'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


# --- color profiles ------------------------------------------------------------------------------

TAGGED: dict[str, Callable[[bytes], bytes]] = {
    "JPEG": lambda icc: saved(picture(), "JPEG", icc_profile=icc),
    "PNG": lambda icc: saved(picture(), "PNG", icc_profile=icc),
    "TIFF": lambda icc: saved(picture(), "TIFF", icc_profile=icc),
    "WebP": lambda icc: saved(picture(), "WEBP", icc_profile=icc),
    "HEIC": lambda icc: heic_tagged(icc),
    "AVIF": lambda icc: saved(picture(), "AVIF", icc_profile=icc),
}


def heic_tagged(icc: bytes) -> bytes:
    """Encode a HEIC with an ICC profile."""
    file = io.BytesIO()
    heif = pillow_heif.from_pillow(Image.fromarray(picture()))
    heif.info["icc_profile"] = icc
    heif.save(file, quality=-1)
    return file.getvalue()


@pytest.mark.parametrize("kind", TAGGED)
def test_embedded_profiles_are_honoured(kind: str) -> None:
    """Display P3 in every format; no note is needed then."""
    photo = decode_photo(TAGGED[kind](icc_of("DisplayP3")), "a")
    assert photo.profile is DISPLAY_P3
    assert photo.notes == ()
    np.testing.assert_array_equal(photo.linear(), DISPLAY_P3.to_linear(photo.pixels))


def test_profiles_in_several_segments() -> None:
    """A JPEG profile of 200 kB is joined from its parts; a lost part is said."""
    icc = made_icc({b"kTRC": b"curv\0\0\0\0\0\0\0\1\2\0", b"text": os.urandom(200_000)}, b"GRAY")
    data = saved(picture(), "JPEG", icc_profile=icc)
    assert data.count(b"ICC_PROFILE\0") == 4
    assert decode_photo(data, "a").profile.name == "grey profile"
    lost = data.replace(b"ICC_PROFILE\0\2\4", b"ICC_PROFILX\0\2\4")
    assert note_codes(decode_photo(lost, "a")) == {"damaged_profile"}


@pytest.mark.parametrize("kind", TAGGED)
def test_damaged_profiles_are_said(kind: str) -> None:
    """The photo is still read, as sRGB."""
    damaged = icc_of("DisplayP3")[:128] + b"\0" * 300
    if kind == "HEIC":  # libheif copies whatever it is given
        damaged = icc_of("DisplayP3").replace(b"XYZ \0", b"text\0")
    photo = decode_photo(TAGGED[kind](damaged), "a")
    assert photo.profile is SRGB
    assert note_codes(photo) == {"damaged_profile"}


def test_untagged_photos_say_so() -> None:
    """Assume sRGB, and tell the user."""
    photo = decode_photo(saved(picture(), "JPEG"), "a")
    assert photo.profile is SRGB
    assert note_codes(photo) == {"untagged_profile"}


@pytest.mark.parametrize(
    ("details", "profile"),
    [({40961: 1}, SRGB), ({40961: 2}, ADOBE_RGB), ({40961: 65535, 40965: {1: "R03"}}, ADOBE_RGB)],
)
def test_exif_may_name_the_profile(details: dict[int, Any], profile: object) -> None:
    """DCF 2.0: color space 1 and 2, interoperability index R03."""
    photo = decode_photo(saved(picture(), "JPEG", exif=exif_block({}, details=details)), "a")
    assert photo.profile is profile
    assert photo.notes == ()


def png_with(*chunks: tuple[bytes, bytes], after: bool = False) -> bytes:
    """Add chunks to a PNG, before or after its pixels."""
    data = saved(picture(), "PNG")
    at = len(data) - 12 if after else 33
    extra = b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )
    return data[:at] + extra + data[at:]


def test_png_color_chunks() -> None:
    """In the order of precedence cICP, iCCP, sRGB (PNG, third edition); gAMA says too little."""
    adobe = (b"iCCP", b"x\0\0" + zlib.compress(icc_of("AdobeRgb")))
    p3, srgb = (b"cICP", bytes([12, 13, 0, 1])), (b"sRGB", b"\0")
    assert decode_photo(png_with(srgb), "a").profile is SRGB
    assert decode_photo(png_with(srgb), "a").notes == ()
    assert decode_photo(png_with(adobe, srgb), "a").profile is ADOBE_RGB
    assert decode_photo(png_with(p3, adobe), "a").profile is DISPLAY_P3
    gamma = decode_photo(png_with((b"gAMA", struct.pack(">I", 45455))), "a")
    assert note_codes(gamma) == {"untagged_profile"}
    torn = decode_photo(png_with((b"iCCP", b"x\0\0rubbish")), "a")
    assert note_codes(torn) == {"damaged_profile"}


def test_a_packed_profile_does_not_explode() -> None:
    """A profile that unpacks to a gigabyte is cut at its limit and called damaged."""
    packer = zlib.compressobj(9, wbits=-15)
    block = packer.compress(bytes(2**24)) + packer.flush(zlib.Z_FULL_FLUSH)
    checksum = struct.pack(">HH", 2**30 % 65521, 1)  # Adler-32 of 2^30 zeros
    packed = b"\x78\xda" + 64 * block + packer.flush() + checksum
    data = png_with((b"iCCP", b"x\0\0" + packed))
    tracemalloc.start()
    photo = decode_photo(data, "a")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert note_codes(photo) == {"damaged_profile"}
    assert peak < 50_000_000


def test_exif_behind_the_pixels_of_a_png() -> None:
    """The chunk may stand anywhere."""
    block = exif_block({274: 6}).removeprefix(b"Exif\0\0")
    photo = decode_photo(png_with((b"eXIf", block), after=True), "a")
    assert (photo.width, photo.height) == (40, 60)


@pytest.mark.parametrize("kind", ["HEIC", "AVIF"])
def test_signal_numbers_are_honoured(kind: str) -> None:
    """Without an ICC profile the two numbers of H.273 count: P3 primaries, sRGB curve."""
    data = heic(picture()) if kind == "HEIC" else saved(picture(), "AVIF")
    assert b"colrnclx\0\1\0\x0d" in data
    assert decode_photo(data, "a").profile is SRGB
    p3 = data.replace(b"colrnclx\0\1\0\x0d", b"colrnclx\0\x0c\0\x0d")
    assert decode_photo(p3, "a").profile is DISPLAY_P3
    bright = data.replace(b"colrnclx\0\1\0\x0d", b"colrnclx\0\x09\0\x10")
    with pytest.raises(PhotoError, match="HDR"):
        decode_photo(bright, "a")


def table_icc(corners: dict[tuple[int, ...], tuple[float, float, float]]) -> bytes:
    """Write an RGB profile of a 2 x 2 x 2 table: Lab of the eight corners (ICC.1, lut8Type)."""
    ramp = bytes(range(256))
    grid = b"".join(
        bytes(
            (
                round(corners[r, g, b][0] * 2.55),
                round(corners[r, g, b][1] + 128),
                round(corners[r, g, b][2] + 128),
            )
        )
        for r in (0, 1)
        for g in (0, 1)
        for b in (0, 1)
    )
    identity = struct.pack(">9i", *(65536 * (k in (0, 4, 8)) for k in range(9)))
    table = b"mft1\0\0\0\0" + bytes([3, 3, 2, 0]) + identity + 3 * ramp + grid + 3 * ramp
    return made_icc({b"A2B0": table, b"wtpt": b"XYZ " + bytes(16)}, pcs=b"Lab ")


def test_profiles_of_tables_are_applied() -> None:
    """A table that swaps red and green, in 8 and 16 bits."""
    lab = {  # sRGB corners under D50: Lab of Bradford-adapted XYZ
        (0, 0, 0): (0.0, 0.0, 0.0),
        (1, 0, 0): (54.29, 80.81, 69.89),
        (0, 1, 0): (87.82, -79.29, 80.99),
        (0, 0, 1): (29.57, 68.30, -112.03),
        (1, 1, 0): (97.61, -15.75, 93.39),
        (1, 0, 1): (60.17, 93.55, -60.50),
        (0, 1, 1): (90.67, -50.67, -14.96),
        (1, 1, 1): (100.0, 0.0, 0.0),
    }
    icc = table_icc({(r, g, b): lab[g, r, b] for r, g, b in lab})
    rgb = np.zeros((40, 60, 3), np.uint8)
    rgb[:, 30:] = (0, 255, 0)
    for data in (
        saved(rgb, "PNG", icc_profile=icc),
        tiff(rgb.astype(np.uint16) * 257, photometric="rgb", iccprofile=icc),
    ):
        photo = decode_photo(data, "a")
        assert photo.profile is SRGB
        assert differ(rgb_of(photo)[5, 50], np.array([255, 0, 0])) <= 6
        assert differ(rgb_of(photo)[5, 5], np.array([0, 0, 0])) <= 2


def test_a_broken_table_is_said() -> None:
    """Little CMS refuses it; the photo is read as sRGB."""
    icc = made_icc({b"A2B0": b"mft1" + bytes(20)}, pcs=b"Lab ")
    photo = decode_photo(saved(picture(), "PNG", icc_profile=icc), "a")
    assert note_codes(photo) == {"damaged_profile"}
    np.testing.assert_array_equal(rgb_of(photo), picture())


# --- when and where ------------------------------------------------------------------------------


def with_exif(tags: dict[int, Any], **below: dict[int, Any]) -> Photo:
    """Read a JPEG that carries an EXIF block."""
    return decode_photo(saved(picture(), "JPEG", exif=exif_block(tags, **below)), "a")


@pytest.mark.parametrize(
    ("details", "moment"),
    [
        ({36867: "2024:05:01 10:30:00"}, datetime(2024, 5, 1, 10, 30)),
        (
            {36867: "2024:05:01 10:30:00", 36881: "+05:30"},
            datetime(2024, 5, 1, 10, 30, tzinfo=timezone(timedelta(hours=5, minutes=30))),
        ),
        ({36867: "2024:05:01 10:30:00", 36881: "Z"}, datetime(2024, 5, 1, 10, 30, tzinfo=UTC)),
        ({36867: "2024:05:01 10:30:00", 36881: "+99:00"}, datetime(2024, 5, 1, 10, 30)),
        ({36868: "2031:12:31 23:59:59"}, datetime(2031, 12, 31, 23, 59, 59)),
        ({36867: "2099:01:01 00:00:00"}, datetime(2099, 1, 1)),
        ({36867: "0000:00:00 00:00:00"}, None),
        ({36867: "    :  :     :  :  "}, None),
        ({36867: "2024:02:30 10:00:00"}, None),
        ({36867: "yesterday"}, None),
        ({36867: 20240501}, None),
        ({}, None),
    ],
)
def test_time_of_the_photo(details: dict[int, Any], moment: datetime | None) -> None:
    """As the file says, in the zone it says; what it does not say stays unknown."""
    taken_at = with_exif({306: "2020:01:01 00:00:00"}, details=details).taken_at
    assert taken_at == moment
    if moment is not None:
        assert taken_at is not None
        assert taken_at.utcoffset() == moment.utcoffset()


@pytest.mark.parametrize(
    ("make", "model", "camera"),
    [
        ("Acme", "One", "Acme One"),
        ("ACME", "Acme One", "Acme One"),
        ("Acme \0\0", " One\n\x07 ", "Acme One"),
        ("", "One", "One"),
        ("Acme", "", "Acme"),
        ("", "", None),
    ],
)
def test_camera(make: str, model: str, camera: str | None) -> None:
    """Make and model, cleaned, the make not twice."""
    assert with_exif({271: make, 272: model}).camera == camera


# 12 degrees 34' 56.7" and 98 degrees 7' 6.5", by hand: 12 + 34/60 + 56.7/3600
LATITUDE, LONGITUDE = (12.0, 34.0, 56.7), (98.0, 7.0, 6.5)
UNKNOWN = IFDRational(0, 0)  # as receivers without a fix write it


@pytest.mark.parametrize(
    ("north", "east", "below", "signs"),
    [("N", "E", b"\0", (1, 1, 1)), ("S", "E", b"\1", (-1, 1, -1)), ("N", "W", b"\0", (1, -1, 1))],
)
def test_position(north: str, east: str, below: bytes, signs: tuple[int, int, int]) -> None:
    """Signs from the letters, elevation below the sea negative."""
    gps = {1: north, 2: LATITUDE, 3: east, 4: LONGITUDE, 5: below, 6: 123.5}
    position = with_exif({}, gps=gps).position
    assert position is not None
    assert position.latitude_deg == pytest.approx(signs[0] * 12.5824167, abs=1e-6)
    assert position.longitude_deg == pytest.approx(signs[1] * 98.1184722, abs=1e-6)
    assert position.elevation_m == signs[2] * 123.5


@pytest.mark.parametrize(
    "gps",
    [
        {},
        {1: "N", 2: LATITUDE},
        {1: "N", 2: (91.0, 0.0, 0.0), 3: "E", 4: LONGITUDE},
        {1: "N", 2: LATITUDE, 3: "E", 4: (180.0, 0.0, 1.0)},
        {1: "N", 2: (UNKNOWN, 0.0, 0.0), 3: "E", 4: LONGITUDE},
        {1: "", 2: LATITUDE, 3: "E", 4: LONGITUDE},
        {1: "X", 2: LATITUDE, 3: "E", 4: LONGITUDE},
    ],
)
def test_no_position_is_better_than_a_wrong_one(gps: dict[int, Any]) -> None:
    """Out of range, not a number, without its letter: unknown."""
    assert with_exif({}, gps=gps).position is None


def test_position_without_elevation() -> None:
    """Elevation may be missing or not a number."""
    gps = {1: "N", 2: LATITUDE, 3: "E", 4: LONGITUDE}
    for more in ({}, {6: UNKNOWN}):
        position = with_exif({}, gps={**gps, **more}).position
        assert position is not None
        assert position.elevation_m is None


def test_position_refuses_nonsense() -> None:
    """A wrong one cannot be made."""
    for latitude, longitude, elevation in ((91, 0, 0), (0, 181, 0), (float("nan"), 0, 0)):
        with pytest.raises(ValueError, match="must be"):
            Position(latitude_deg=latitude, longitude_deg=longitude, elevation_m=elevation)
    with pytest.raises(ValueError, match="finite"):
        Position(latitude_deg=0, longitude_deg=0, elevation_m=float("inf"))


def jpeg_with_exif(block: bytes) -> bytes:
    """Put any bytes where EXIF stands."""
    body = b"Exif\0\0" + block
    segment = b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
    return saved(picture(24, 16), "JPEG").replace(b"\xff\xd8", b"\xff\xd8" + segment, 1)


@given(block=st.binary(max_size=300))
@example(block=b"II*\0\x08\0\0\0\xff\xff")
@example(block=b"II*\0\x08\0\0\0\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x63\x00\x00\x00")
def test_garbage_in_exif_is_no_reason_to_refuse(block: bytes) -> None:
    """Any bytes after the EXIF mark: the picture is read all the same."""
    for start in (b"", b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08"):
        photo = decode_photo(jpeg_with_exif(start + block), "a")
        assert photo.width * photo.height == 24 * 16


@given(data=st.data())
@settings(max_examples=300)
def test_changed_exif_bytes_never_escape(data: st.DataObject) -> None:
    """A real block with changed bytes: whatever is still told is sane."""
    block = bytearray(WHOLE_EXIF)
    for _ in range(data.draw(st.integers(1, 10))):
        block[data.draw(st.integers(0, len(block) - 1))] = data.draw(st.integers(0, 255))
    photo = decode_photo(jpeg_with_exif(bytes(block)), "a")
    assert photo.width * photo.height == 24 * 16
    assert photo.camera is None or photo.camera.isprintable()


WHOLE_EXIF = exif_block(
    {271: "Acme", 272: "One", 274: 6},
    details={36867: "2024:05:01 10:30:00", 36881: "+02:00", 40961: 1},
    gps={1: "N", 2: LATITUDE, 3: "E", 4: LONGITUDE, 5: b"\0", 6: 123.5},
).removeprefix(b"Exif\0\0")


def test_an_exif_block_that_multiplies_itself_costs_nothing() -> None:
    """Four thousand tags that each claim the whole block are not copied out."""
    count = 4000
    tags = b"".join(struct.pack("<HHII", 20000 + k, 7, 60000, 0) for k in range(count))
    block = (b"II*\0\x08\0\0\0" + struct.pack("<H", count) + tags).ljust(60000, b"\0")
    assert decode_photo(jpeg_with_exif(block), "a").camera is None


# --- refusals ------------------------------------------------------------------------------------


def noise(width: int = 200, height: int = 160) -> Array:
    """Draw a photo-like picture: no flat place."""
    return np.random.default_rng(1).integers(0, 256, (height, width, 3), dtype=np.uint8)


def entropy_start(jpeg: bytes) -> int:
    """Return where the pixels of a baseline JPEG begin."""
    at = jpeg.rindex(b"\xff\xda")
    return at + 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")


JPEG_FILE = saved(noise(), "JPEG")
PNG_FILE = saved(noise(), "PNG")
TIFF_FILE = saved(noise(), "TIFF")
WEBP_FILE = saved(noise(), "WEBP")
HEIC_FILE = heic(picture(64, 64))
AVIF_FILE = saved(picture(), "AVIF")


def frames(form: str) -> bytes:
    """Encode an animation, or several pages."""
    others = [Image.fromarray(255 - picture())]
    return saved(picture(), form, save_all=True, append_images=others)


def end_marker_inside(jpeg: bytes) -> bytes:
    """Damage a JPEG so that it seems to end half-way."""
    middle = (entropy_start(jpeg) + len(jpeg)) // 2
    return jpeg[:middle] + b"\xff\xd9" + jpeg[middle + 2 :]


def flipped(data: bytes, at: int) -> bytes:
    """Change one byte."""
    return data[:at] + bytes([data[at] ^ 0x55]) + data[at + 1 :]


def many_scans() -> bytes:
    """Build a progressive JPEG whose last scan comes two hundred times."""
    data = saved(picture(), "JPEG", progressive=True)
    last = data[data.rindex(b"\xff\xda") : -2]
    return data[:-2] + 200 * last + b"\xff\xd9"


REFUSED: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "empty"),
    "text": (b"site,value\nA,6.5\n", "no photo of a known kind"),
    "zeros": (bytes(5000), "no photo of a known kind"),
    "GIF": (saved(Image.fromarray(picture()).quantize(8), "GIF"), "no photo of a known kind"),
    "BMP": (saved(picture(), "BMP"), "no photo of a known kind"),
    "video": (b"\0\0\0\x18ftypisom\0\0\2\0isommp41" + bytes(500), "no photo of a known kind"),
    "JPEG cut in half": (JPEG_FILE[: len(JPEG_FILE) // 2], "cut off"),
    "JPEG cut by two bytes": (JPEG_FILE[:-2], "cut off"),
    "JPEG header only": (JPEG_FILE[:300], "cut off"),
    "JPEG cut and closed": (JPEG_FILE[: len(JPEG_FILE) // 2] + b"\xff\xd9", "cut off"),
    "JPEG end in the middle": (end_marker_inside(JPEG_FILE), "damaged"),
    "JPEG wrong marker": (
        JPEG_FILE[:-900] + b"\xff\xc0\0\x02" + JPEG_FILE[-896:],
        "damaged",
    ),
    "JPEG without pixels": (b"\xff\xd8\xff\xd9", "damaged"),
    "JPEG of many scans": (many_scans(), "damaged"),
    "PNG cut in half": (PNG_FILE[: len(PNG_FILE) // 2], "cut off"),
    "PNG without its end": (PNG_FILE[:-12], "cut off"),
    "PNG changed byte": (flipped(PNG_FILE, len(PNG_FILE) // 2), "damaged"),
    "PNG header only": (PNG_FILE[:33], "cut off"),
    "TIFF cut in half": (TIFF_FILE[: len(TIFF_FILE) // 2], "damaged|too small"),
    "TIFF header only": (TIFF_FILE[:8], "too small"),
    "WebP cut in half": (WEBP_FILE[: len(WEBP_FILE) // 2], "cut off"),
    "WebP header only": (WEBP_FILE[:12], "cut off"),
    "HEIC cut": (HEIC_FILE[:-5], "damaged"),
    "HEIC header only": (HEIC_FILE[:60], "damaged"),
    "AVIF cut": (AVIF_FILE[:-5], "damaged"),
    "AVIF header only": (AVIF_FILE[:60], "damaged"),
    "animated PNG": (frames("PNG"), "several pictures"),
    "animated WebP": (frames("WEBP"), "several pictures"),
    "animated AVIF": (frames("AVIF"), "several pictures"),
    "pages of a TIFF": (frames("TIFF"), "several pictures"),
    "CMYK JPEG": (saved(Image.fromarray(picture()).convert("CMYK"), "JPEG"), "inks"),
    "CMYK TIFF": (saved(Image.fromarray(picture()).convert("CMYK"), "TIFF"), "inks"),
    "Lab TIFF": (saved(Image.fromarray(picture()).convert("LAB"), "TIFF"), "unusual"),
    "black and white TIFF": (saved(Image.fromarray(picture()).convert("1"), "TIFF"), "unusual"),
    "float TIFF": (tiff(picture().astype(np.float32), photometric="rgb"), "unusual"),
    "signed TIFF": (tiff(picture().astype(np.int16), photometric="rgb"), "unusual"),
    "32-bit TIFF": (tiff(picture().astype(np.uint32), photometric="rgb"), "unusual"),
    "grey and alpha TIFF": (
        tiff(picture()[..., :2], photometric="minisblack", extrasamples=["unassalpha"]),
        "unusual",
    ),
    "planar 16-bit TIFF": (
        tiff(WIDE.transpose(2, 0, 1).copy(), photometric="rgb", planarconfig="separate"),
        "separate planes",
    ),
    "cut raw": (dng(np.full((64, 64), 4000, np.uint16))[:600], "raw file is damaged"),
    "raw of nothing": (b"FUJIFILMCCD-RAW " + bytes(3000), "raw file is damaged"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_cannot_be_used_is_refused(kind: str, recwarn: pytest.WarningsRecorder) -> None:
    """Each with its name, what happened and what to do."""
    data, words = REFUSED[kind]
    with pytest.raises(PhotoError, match=f"bad: .*({words})") as error:
        decode_photo(data, "bad")
    assert error.value.what_to_do.endswith(".")
    assert not recwarn


QUIET = [kind for kind in REFUSED if "raw" not in kind and kind != "JPEG cut and closed"]


def test_refusals_print_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """The libraries' own lines stay off the terminal (LibRaw's and one of libjpeg's excepted)."""
    for kind in QUIET:
        with pytest.raises(PhotoError):
            decode_photo(REFUSED[kind][0], "bad")
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF", "WEBP", "AVIF"])
def test_tiny_pictures_are_refused(form: str) -> None:
    """1 x 1, and one side too short."""
    for size in ((1, 1), (500, 15), (15, 500)):
        with pytest.raises(PhotoError, match="too small"):
            decode_photo(saved(Image.new("RGB", size, "red"), form), "a")


def png_of_size(width: int, height: int) -> bytes:
    """Pack black rows of a 30000 x 30000 picture into a small file."""
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    packer = zlib.compressobj(9)
    rows = b"".join(packer.compress(bytes(3 * width + 1)) for _ in range(300)) + packer.flush()
    chunks = ((b"IHDR", header), (b"IDAT", rows), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )


def resized(data: bytes, before: bytes, size: bytes) -> bytes:
    """Make a header lie: put another size after some bytes."""
    at = data.index(before) + len(before)
    return data[:at] + size + data[at + len(size) :]


def tiff_of_size(side: int) -> bytes:
    """Let a small TIFF claim a large side (tags 256 and 257 of four bytes)."""
    data = tiff(picture(), photometric="rgb")
    for tag in (256, 257):
        at = data.index(struct.pack("<HH", tag, 4)) if struct.pack("<HH", tag, 4) in data else -1
        at = at if at >= 0 else data.index(struct.pack("<HH", tag, 3))
        data = data[:at] + struct.pack("<HHII", tag, 4, 1, side) + data[at + 12 :]
    return data


def webp_of_size(side: int) -> bytes:
    """Put a large canvas before the pixels of a small WebP."""
    canvas = bytes(4) + 2 * (side - 1).to_bytes(3, "little")
    body = b"WEBPVP8X\x0a\0\0\0" + canvas + WEBP_FILE[12:]
    return b"RIFF" + struct.pack("<I", len(body)) + body


def of_size(kind: str, side: int) -> bytes:
    """Build a small file that claims a large picture."""
    if kind == "PNG":
        return png_of_size(side, side)
    if kind == "TIFF":
        return tiff_of_size(side)
    if kind == "WebP":
        return webp_of_size(side)
    if kind == "JPEG":
        return resized(JPEG_FILE, b"\xff\xc0\0\x11\x08", struct.pack(">HH", side, side))
    file = {"HEIC": HEIC_FILE, "AVIF": AVIF_FILE}[kind]
    return resized(file, b"ispe\0\0\0\0", struct.pack(">II", side, side))


CLAIMERS = ("PNG", "JPEG", "TIFF", "WebP", "HEIC", "AVIF")


@pytest.mark.parametrize("side", [8000, 30000, 60000])
@pytest.mark.parametrize("kind", CLAIMERS)
def test_bombs_are_refused_before_decoding(
    kind: str, side: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The header is enough: no decoder is called."""

    def explode(*args: object, **options: object) -> None:
        raise AssertionError("a decoder was called")

    data = of_size(kind, side)
    assert len(data) < 200_000
    monkeypatch.setattr(cv2, "imdecode", explode)
    monkeypatch.setattr(pillow_heif.HeifImage, "load", explode)
    monkeypatch.setattr(Image.Image, "convert", explode)
    with pytest.raises(PhotoError, match=r"too large|damaged"):
        decode_photo(data, "bomb")


def test_bombs_take_no_memory(tmp_path: Path) -> None:
    """All of them in one fresh process: under 100 MB more than honest photos."""
    import subprocess

    code = """if True:
        import resource, sys
        from pathlib import Path
        from colorcore.errors import PhotoError
        from colorcore.photo import read_photo
        folder = Path(sys.argv[1])
        for honest in folder.glob("honest*"):
            read_photo(honest)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        for bomb in folder.glob("bomb*"):
            try:
                read_photo(bomb)
            except PhotoError:
                continue
            raise SystemExit("a bomb was read")
        print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
    """
    for kind in CLAIMERS:
        for side in (30000, 60000):
            (tmp_path / f"bomb {kind} {side}").write_bytes(of_size(kind, side))
    for name, honest in (("HEIC", HEIC_FILE), ("AVIF", AVIF_FILE), ("PNG", PNG_FILE)):
        (tmp_path / f"honest {name}").write_bytes(honest)
    command = [sys.executable, "-c", code, str(tmp_path)]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    assert int(run.stdout) < 100


def test_pixel_limit_can_be_lowered() -> None:
    """In every reader."""
    for encode, _ in WRITERS.values():
        data = encode(picture(), exif_block({}))
        decode_photo(data, "a", max_pixels=2400)
        with pytest.raises(PhotoError, match=r"too large: 60 x 40 pixels.*0\.002399 million"):
            decode_photo(data, "a", max_pixels=2399)


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "WebP", "HEIC"])
def test_headers_that_lie_a_little(kind: str) -> None:
    """A size within the limit that the pixels do not have."""
    data = png_of_size(300, 301) if kind == "PNG" else of_size(kind, 3000)
    with pytest.raises(PhotoError):
        decode_photo(data, "a")


@pytest.mark.parametrize("tag", [322, 323])
def test_tiles_far_beyond_the_picture_are_refused(
    tag: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A small TIFF that claims tiles of 8192 columns or rows: OpenCV would make room for one."""
    data = tiff(picture(64, 64), photometric="rgb", tile=(32, 32))
    decode_photo(data, "a")
    at = data.index(struct.pack("<HHII", tag, 4, 1, 32))
    data = data[:at] + struct.pack("<HHII", tag, 4, 1, 8192) + data[at + 12 :]
    monkeypatch.delattr(cv2, "imdecode")
    with pytest.raises(PhotoError, match="damaged"):
        decode_photo(data, "a")


def test_small_copies_do_not_count_as_pages() -> None:
    """A TIFF followed by its own thumbnail is one photo."""
    file = io.BytesIO()
    with tifffile.TiffWriter(file) as writer:
        writer.write(picture(), photometric="rgb", metadata=None)
        writer.write(picture(30, 20), photometric="rgb", subfiletype=1, metadata=None)
    np.testing.assert_array_equal(rgb_of(decode_photo(file.getvalue(), "a")), picture())


def test_a_jpeg_may_carry_more_behind_its_end() -> None:
    """Gain maps, second views and films follow the photo in many phones' files."""
    for more in (b"\0" * 100, b"\0\0" + saved(picture(), "JPEG"), b"\0\0\0\x18ftypmp42" * 9):
        assert decode_photo(JPEG_FILE + more, "a").width == 200


def test_a_drawing_on_flat_grey_is_no_damage() -> None:
    """Code 128 at the bottom of a drawn picture is no missing data."""
    rgb = np.full((160, 200, 3), 128, np.uint8)
    rgb[40:80, 40:120] = (200, 30, 60)
    assert decode_photo(saved(rgb, "JPEG"), "a").height == 160
    assert decode_photo(saved(np.full_like(rgb, 128), "JPEG"), "a").height == 160


def test_the_main_picture_of_several_in_a_heic() -> None:
    """HEIC names its main picture; the others are said."""
    file = io.BytesIO()
    heif = pillow_heif.from_pillow(Image.fromarray(picture()))
    heif.add_from_pillow(Image.fromarray(picture(30, 90)))
    heif.save(file, quality=90, primary_index=0)
    photo = decode_photo(file.getvalue(), "a")
    assert (photo.width, photo.height) == (60, 40)
    assert "several_pictures" in note_codes(photo)


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    """Each says what is the matter."""
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "file").write_bytes(b"x")
    for name, words in {
        "missing.jpg": "no such file",
        "dangling": "no such file",
        "file/below.jpg": "no such file",
        "loop": "cannot be opened",
        "x" * 5000: "cannot be opened",
        "nul\0.jpg": "cannot be opened",
        ".": "no file",
        "pipe": "no file",
    }.items():
        with pytest.raises(PhotoError, match=words) as error:
            read_photo(tmp_path / name)
        assert error.value.what_happened.isprintable()


def test_a_file_without_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system refuses (a super-user may read everything, so it is asked to)."""
    (tmp_path / "mine.jpg").write_bytes(JPEG_FILE)

    def refuse(path: Path) -> bytes:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(PhotoError, match=r"mine\.jpg: The file may not be read"):
        read_photo(tmp_path / "mine.jpg")


def test_huge_files_are_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sparse file of 300 MB is refused by its length."""
    with (tmp_path / "huge.jpg").open("wb") as file:
        file.truncate(300_000_000)
    monkeypatch.delattr(Path, "read_bytes")
    with pytest.raises(PhotoError, match="too large: 300 MB"):
        read_photo(tmp_path / "huge.jpg")


@given(rest=st.binary(max_size=400))
def test_any_bytes_after_a_known_start(rest: bytes) -> None:
    """Nothing but a PhotoError comes out of garbage."""
    starts = (
        b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\x40\0\0\0WEBPVP8X", b"II*\0\x08\0\0\0",
        b"MM\0+\0\x08\0\0", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
        b"\0\0\0\x18ftypavif\0\0\0\0mif1avif", b"II*\0\x10\0\0\0CR\2\0", b"IIU\0",
    )  # fmt: skip
    for start in starts:
        with pytest.raises(PhotoError):
            decode_photo(start + rest, "a")


WHOLE_FILES = {
    "JPEG": saved(picture(24, 16), "JPEG", exif=exif_block({274: 6}), icc_profile=icc_of("SRgb")),
    "PNG": saved(picture(24, 16), "PNG", icc_profile=icc_of("SRgb")),
    "TIFF": saved(picture(24, 16), "TIFF", icc_profile=icc_of("SRgb")),
    "WebP": saved(picture(24, 16), "WEBP", exif=exif_block({274: 6})),
    "HEIC": heic(picture(24, 16)),
    "AVIF": saved(picture(24, 16), "AVIF"),
    "raw": dng(np.full((32, 32), 4000, np.uint16)),
}


@pytest.mark.parametrize("kind", WHOLE_FILES)
@given(data=st.data())
@settings(max_examples=80, suppress_health_check=[HealthCheck.too_slow], deadline=None)
def test_changed_files_are_read_or_refused(kind: str, data: st.DataObject) -> None:
    """A few changed bytes anywhere: a photo, or a PhotoError; nothing else."""
    file = bytearray(WHOLE_FILES[kind])
    for _ in range(data.draw(st.integers(1, 4))):
        file[data.draw(st.integers(0, len(file) - 1))] = data.draw(st.integers(0, 255))
    try:
        photo = decode_photo(bytes(file), "a", max_pixels=1_000_000)
    except PhotoError:
        return
    assert np.isfinite(photo.linear()).all()
