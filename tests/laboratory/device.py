"""A phone or camera: how it balances, tones, sharpens and writes its photos."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from colorcore._cv import cv2
from tests.laboratory.camera import motion_blur, srgb_code
from tests.laboratory.light import Camera, FloatArray, Lamp, camera_rgb, fit_matrix, named_lamp
from tests.laboratory.palette import FloatArray as Float32Array

# Linear light to XYZ under D65: sRGB (IEC 61966-2-1) and Display P3 primaries, seven digits.
SRGB_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
P3_TO_XYZ = np.array(
    [
        [0.4865709, 0.2656677, 0.1982173],
        [0.2289746, 0.6917385, 0.0792869],
        [0.0000000, 0.0451134, 1.0439444],
    ]
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Device:
    """One camera with its habits."""

    name: str
    camera: Camera
    day_matrix: FloatArray  # balanced camera RGB to XYZ under D65
    lamp_matrix: FloatArray | None  # the same fitted under tungsten; the camera goes between
    adaptation: float  # 1: the light's tint is taken out wholly
    shoulder: float  # 0: highlights are cut off sharply
    contrast: float  # 0: straight tone curve
    saturation: float
    noise: float
    sharpen: float
    blur: float  # of the lens, in pixels of 2000
    vignette: float
    p3: bool
    tagged: bool
    file_types: tuple[str, ...]
    quality: tuple[int, int]


def random_device(
    rng: np.random.Generator, camera: Camera, samples: FloatArray, name: str
) -> Device:
    """Return random habits for a camera; `samples` (n, 81) serve to fit its matrices."""
    day = fit_matrix(camera, named_lamp("D65"), samples)
    two = rng.random() < 0.4
    mostly = ("jpg",) * 14  # HEIC takes seconds to write
    file_types = (("jpg",), ("jpg",), (*mostly, "heic"), (*mostly, "png"), (*mostly, "heic", "png"))
    return Device(
        name=name,
        camera=camera,
        day_matrix=day,
        lamp_matrix=fit_matrix(camera, named_lamp("A"), samples) if two else None,
        adaptation=rng.uniform(0.5, 1.0),
        shoulder=0.0 if rng.random() < 0.5 else rng.uniform(0.1, 1.2),
        contrast=0.0 if rng.random() < 0.55 else rng.uniform(0.03, 0.35),
        saturation=1.0 if rng.random() < 0.5 else rng.uniform(0.95, 1.2),
        noise=float(np.exp(rng.uniform(np.log(0.3), np.log(3.0)))),
        sharpen=rng.uniform(0.0, 0.7),
        blur=rng.uniform(0.4, 1.3),
        vignette=rng.uniform(0.0, 0.35),
        p3=rng.random() < 0.35,
        tagged=rng.random() < 0.6,
        file_types=file_types[int(rng.integers(len(file_types)))],
        quality=(int(rng.integers(75, 90)), int(rng.integers(90, 98))),
    )


def develop(
    rng: np.random.Generator, device: Device, linear: Float32Array, lamp: Lamp, *,
    exposure: float, fault: str | None = None,
) -> NDArray[np.uint8]:  # fmt: skip
    """Return the photo (H, W, 3) uint8 that a device makes of camera-linear light.

    `exposure` is the code-linear level a perfect white in the scene's light would get;
    `fault` may be motion_blur, defocus, underexposed or overexposed.
    """
    x = linear * np.float32(exposure) * np.exp(rng.normal(0, 0.06))
    if fault == "underexposed":
        x = x * np.float32(rng.uniform(0.02, 0.09))
    elif fault == "overexposed":
        x = x * np.float32(rng.uniform(3.5, 9))
    scale = x.shape[1] / 2000
    x = cv2.GaussianBlur(x, (0, 0), max(0.3, device.blur * scale))
    if fault == "motion_blur":
        x = motion_blur(x, scale * rng.uniform(35, 110), rng.uniform(0, 180))
    elif fault == "defocus":
        x = cv2.GaussianBlur(x, (0, 0), scale * rng.uniform(9, 24))
    x = x * vignette(x.shape[:2], device.vignette)
    x = np.minimum(x, 1.6)  # the sensor's wells are full
    grain = rng.standard_normal(x.shape, dtype=np.float32)
    if rng.random() < 0.5:  # noise reduction leaves lumps
        grain = cv2.GaussianBlur(grain, (0, 0), 0.9) * 2.0
    level = device.noise * float(np.exp(rng.normal(0, 0.3)))
    dark = 4.0 if fault == "underexposed" else 1.0
    x = x + grain * np.sqrt(
        np.maximum(x, 0) * (0.006 * level) ** 2 + (0.0012 * level * dark) ** 2
    ).astype(np.float32)
    x = _balance(rng, device, x, lamp)
    x = _tone(device, np.maximum(x, 0))
    code = srgb_code(x)
    if device.contrast:
        code = code + device.contrast * np.sin(2 * np.pi * (code - 0.5)) / 6.0
    if device.sharpen:
        soft = cv2.GaussianBlur(code, (0, 0), 1.2)
        code = code + device.sharpen * (code - soft)
    return (np.clip(code, 0, 1) * 255 + 0.5).astype(np.uint8)


def vignette(shape: tuple[int, ...], strength: float) -> Float32Array:
    """Return the fall of light towards the corners, (H, W, 1)."""
    y = (np.arange(shape[0], dtype=np.float32) / shape[0] - 0.5)[:, None]
    x = (np.arange(shape[1], dtype=np.float32) / shape[1] - 0.5)[None, :]
    return (1 - np.float32(strength) * 2 * (x * x + y * y))[..., None]


def _balance(rng: np.random.Generator, device: Device, x: Float32Array, lamp: Lamp) -> Float32Array:
    """White balance as the device guesses it, then its colour matrix, to its own RGB."""
    white = camera_rgb(device.camera, lamp, np.ones(81))
    day = camera_rgb(device.camera, named_lamp("D65"), np.ones(81))
    guess = day * (white / day) ** device.adaptation * np.exp(rng.normal(0, (0.03, 0.0, 0.04)))
    matrix = device.day_matrix
    if device.lamp_matrix is not None:  # goes by the ratio of red to blue, from D65 to A
        a = camera_rgb(device.camera, named_lamp("A"), np.ones(81))
        far = np.log(a[0] / a[2]) - np.log(day[0] / day[2])
        share = np.clip((np.log(guess[0] / guess[2]) - np.log(day[0] / day[2])) / far, 0, 1)
        matrix = matrix + share * (device.lamp_matrix - matrix)
    own = np.linalg.inv(P3_TO_XYZ if device.p3 else SRGB_TO_XYZ) @ matrix
    grey = np.full((3, 3), 1 / 3)
    own = (device.saturation * np.eye(3) + (1 - device.saturation) * grey) @ own
    clipped = np.minimum(x / guess.astype(np.float32), 1.0)
    return np.asarray(clipped @ own.T.astype(np.float32), np.float32)


def _tone(device: Device, x: Float32Array) -> Float32Array:
    """Roll the highlights off, keeping black and white."""
    k = np.float32(device.shoulder)
    return np.asarray(x * (1 + k) / (1 + k * x), np.float32) if k else x


@cache
def profile(p3: bool) -> bytes:
    """Return an ICC profile of sRGB or Display P3."""
    if not p3:
        return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    from PySide6.QtGui import QColorSpace

    return bytes(QColorSpace(QColorSpace.NamedColorSpace.DisplayP3).iccProfile().data())


# EXIF orientation and how the upright picture is turned before it is stored with it
_STORED = {1: 0, 3: 2, 6: 1, 8: -1}


def save_photo(
    rng: np.random.Generator, device: Device, picture: NDArray[np.uint8], folder: Path, stem: str,
    taken: str, *, large: bool = False,
) -> str:  # fmt: skip
    """Write an upright picture as the device would and return the file's name."""
    kind = str(rng.choice(device.file_types))
    if kind == "heic" and large:
        kind = "jpg"
    if kind == "png":
        picture = np.asarray(
            cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        )
    orientation = 1
    if kind == "jpg" and rng.random() < 0.4:
        orientation = int(rng.choice((3, 6, 8)))
    stored = np.rot90(picture, _STORED[orientation]) if orientation != 1 else picture
    image = Image.fromarray(np.ascontiguousarray(stored))
    exif = Image.Exif()
    exif[271], exif[272], exif[306], exif[274] = "Generic", device.name, taken, orientation
    icc = profile(device.p3) if device.tagged or device.p3 else None
    name = f"{stem}.{kind}"
    low, high = device.quality
    if kind == "jpg":
        image.save(
            folder / name, quality=int(rng.integers(low, high)), exif=exif, icc_profile=icc,
            subsampling=int(rng.choice((0, 2, 2))),
        )  # fmt: skip
    elif kind == "png":
        image.save(folder / name, icc_profile=icc, exif=exif, compress_level=1)
    else:
        import pillow_heif

        pillow_heif.from_pillow(image).save(
            folder / name,
            quality=int(rng.integers(low, high)),
            exif=exif.tobytes(),
            icc_profile=icc,
        )
    return name
