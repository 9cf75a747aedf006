"""From the light of a scene to a photo file: exposure, colour, tone, blur, noise, file format."""

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.palette import FloatArray


def srgb_code(linear: FloatArray) -> FloatArray:
    """Return sRGB code values in [0, 1] of linear light (IEC 61966-2-1)."""
    x = np.clip(linear, 0, 1)
    return np.where(
        x <= 0.0031308, 12.92 * x, 1.055 * np.power(np.maximum(x, 1e-9), 1 / 2.4) - 0.055
    ).astype(np.float32)


_STEPS = 4096
_CODES = srgb_code(np.linspace(0, 1, _STEPS, dtype=np.float32))


def fast_srgb_code(linear: FloatArray) -> FloatArray:
    """Return sRGB code values by table; good to about 0.003 near black, for training only."""
    # the square root spreads the table's steps evenly over what the eye sees
    index = (np.sqrt(np.clip(linear, 0, 1)) * (_STEPS - 1)).astype(np.int32)
    return _ROOT_CODES[index]


_ROOT_CODES = srgb_code((np.linspace(0, 1, _STEPS, dtype=np.float32) ** 2).astype(np.float32))


def develop_roughly(rng: np.random.Generator, linear: FloatArray) -> NDArray[np.uint8]:
    """Make a uint8 RGB picture of random quality from a training scene; about 10 ms at 512x384."""
    x = linear
    bright = float(np.percentile(x[::8, ::8], rng.uniform(75, 99)))
    x = x * np.float32(np.exp(rng.normal(-0.25, 0.35)) / max(bright, 1e-3))
    if rng.random() < 0.5:
        gain = np.exp(rng.normal(0, (0.08, 0.02, 0.1))).astype(np.float32)
        x = x * gain
    if rng.random() < 0.4:
        x = x @ _random_matrix(rng).T
    if rng.random() < 0.5:
        x = x * _vignette(x.shape[:2], rng.uniform(0, 0.5))
    x = _blur(rng, x)
    shot, read = np.exp(rng.uniform(-7.5, -3.5)), np.exp(rng.uniform(-8, -4.5))
    grain = rng.standard_normal(x.shape, dtype=np.float32)
    if rng.random() < 0.3:
        grain = cv2.GaussianBlur(grain, (0, 0), 0.8) * 2
    x = x + grain * np.sqrt(np.maximum(x, 0) * shot**1.5 + read**2).astype(np.float32)
    if rng.random() < 0.5:  # a shoulder that keeps the highlights
        k = rng.uniform(0.1, 1.5)
        x = x * (1 + k) / (1 + k * np.maximum(x, 0))
    code = fast_srgb_code(x)
    if rng.random() < 0.4:
        code = code + rng.uniform(-0.3, 0.4) * (code - 0.5) * (1 - np.abs(2 * code - 1))
    if rng.random() < 0.4:
        soft = cv2.GaussianBlur(code, (0, 0), rng.uniform(0.7, 2))
        code = code + rng.uniform(0.2, 1.0) * (code - soft)
    picture = (np.clip(code, 0, 1) * 255 + 0.5).astype(np.uint8)
    size = (picture.shape[1], picture.shape[0])
    small = rng.random() < 0.12  # a picture that was made smaller and is shown enlarged
    if small:
        picture = cv2.resize(picture, None, fx=(k := rng.uniform(0.4, 0.9)), fy=k,
                             interpolation=cv2.INTER_AREA)  # fmt: skip
    if rng.random() < 0.5:
        quality = int(rng.integers(35, 96))
        _, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
        picture = np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR), np.uint8)
    return cv2.resize(picture, size, interpolation=cv2.INTER_LINEAR) if small else picture


def _random_matrix(rng: np.random.Generator) -> FloatArray:
    """Return a colour matrix near one that leaves grey grey."""
    m = np.eye(3) + rng.normal(0, 0.12, (3, 3))
    return (m / m.sum(1, keepdims=True)).astype(np.float32)


def _vignette(shape: tuple[int, int], strength: float) -> FloatArray:
    """Return the fall of light towards the corners, (H, W, 1)."""
    y = (np.arange(shape[0], dtype=np.float32) / shape[0] - 0.5)[:, None]
    x = (np.arange(shape[1], dtype=np.float32) / shape[1] - 0.5)[None, :]
    return (1 - np.float32(strength) * 2 * (x * x + y * y))[..., None]


def _blur(rng: np.random.Generator, x: FloatArray) -> FloatArray:
    kind = rng.random()
    scale = x.shape[1] / 512
    if kind < 0.35:
        return np.asarray(cv2.GaussianBlur(x, (0, 0), scale * rng.uniform(0.3, 1.3)), np.float32)
    if kind < 0.42:
        return np.asarray(cv2.GaussianBlur(x, (0, 0), scale * rng.uniform(1.3, 5)), np.float32)
    if kind < 0.48:
        return motion_blur(x, scale * rng.uniform(3, 18), rng.uniform(0, 180))
    return x


def motion_blur(x: FloatArray, length: float, degrees: float) -> FloatArray:
    """Return the picture smeared along a straight line of `length` pixels."""
    n = int(length) | 1
    kernel = np.zeros((n, n), np.float32)
    c, s = np.cos(np.radians(degrees)) * n / 2, np.sin(np.radians(degrees)) * n / 2
    a, b = (int(n / 2 - c), int(n / 2 - s)), (int(n / 2 + c), int(n / 2 + s))
    cv2.line(kernel, a, b, 1.0, 1, cv2.LINE_AA)
    return np.asarray(cv2.filter2D(x, -1, kernel / max(float(kernel.sum()), 1e-6)), np.float32)
