"""What the codes of a picture mean: tone curves and primaries, from ICC profiles and short tags.

A profile turns stored codes into linear light in the primaries of BT.709 (those of sRGB), 1 =
the white code. Nothing is clipped: colors outside sRGB have channels below 0 or above 1.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.color_spaces import XYZ_TO_RGB
from colorcore.errors import PhotoError

Codes = NDArray[np.uint8] | NDArray[np.uint16]
FloatArray = NDArray[np.float64]
Triple = tuple[float, float, float]
Matrix = tuple[Triple, Triple, Triple]

# Two profiles closer than this, in linear light with white = 1, are one and the same: files
# round their numbers to 2^-16 and differ in how they rounded the white.
_SAME = 5e-4

# Cone response matrix of Lam 1985, as ICC.1:2022 Annex E prints it.
_BRADFORD: FloatArray = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneCurve:
    """Code (0 to 1) into light (0 to 1): a power with a straight foot, or a list of samples.

    y = (a x + b)^gamma + e where x >= d, else y = c x + f; where `samples` are given they are
    interpolated linearly instead, evenly spaced from code 0 to code 1.

    References
    ----------
    ICC.1:2022, 10.6 curveType and 10.18 parametricCurveType (function type 4).
    """

    gamma: float = 1.0
    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 0.0
    e: float = 0.0
    f: float = 0.0
    samples: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        with np.errstate(all="ignore"):
            light = self.light(np.linspace(0.0, 1.0, 256))
        if not np.isfinite(light).all() or (np.diff(light) < -1e-4).any():
            raise ValueError("a tone curve must be finite and never fall")
        if not 0.5 < light[-1] < 1.5 or not -0.5 < light[0] < 0.5:
            raise ValueError(f"a tone curve must end near 0 and 1, got {light[0]} and {light[-1]}")

    def light(self, code: FloatArray) -> FloatArray:
        """Light of each code, same shape.

        Examples
        --------
        >>> round(float(SRGB.curves[0].light(np.array(128 / 255))), 7)
        0.2158605
        """
        if self.samples:
            return np.interp(code, np.linspace(0.0, 1.0, len(self.samples)), self.samples)
        power = np.maximum(self.a * code + self.b, 0.0) ** self.gamma + self.e
        return np.where(code >= self.d, power, self.c * code + self.f)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColorProfile:
    """How stored codes become linear light.

    Parameters
    ----------
    name : str
        "sRGB", "Display P3", "Adobe RGB" or "linear sRGB" by content, else where it came from.
    curves : three ToneCurve
        For red, green and blue.
    matrix : 3x3 tuple
        Linear RGB of the profile's primaries into linear RGB of BT.709.
    """

    name: str
    curves: tuple[ToneCurve, ToneCurve, ToneCurve]
    matrix: Matrix

    def __post_init__(self) -> None:
        matrix = np.array(self.matrix)
        if not np.isfinite(matrix).all() or abs(np.linalg.det(matrix)) < 1e-3:
            raise ValueError(f"the matrix of a profile must be finite and invertible, got {matrix}")

    def to_linear(self, codes_bgr: Codes) -> NDArray[np.float32]:
        """Linear RGB (BT.709 primaries, unclipped) of BGR codes, shape (H, W, 3) both."""
        if codes_bgr.dtype == np.uint8:
            rgb = cv2.cvtColor(codes_bgr, cv2.COLOR_BGR2RGB)
            light = np.asarray(cv2.LUT(rgb, _light_of_codes(self.curves, 256)), np.float32)
        else:
            table = _light_of_codes(self.curves, 65536)
            channels = [table[0, codes_bgr[..., 2 - k], k % table.shape[2]] for k in range(3)]
            light = np.stack(channels, axis=-1)
        if self.matrix == _IDENTITY:
            return light
        return np.asarray(cv2.transform(light, np.array(self.matrix)), np.float32)


@lru_cache(maxsize=16)
def _light_of_codes(curves: tuple[ToneCurve, ...], levels: int) -> NDArray[np.float32]:
    """Light of every code, shape (1, levels, 3), or (1, levels, 1) where the curves agree."""
    wanted = curves[:1] if len(set(curves)) == 1 else curves
    codes = np.arange(levels) / (levels - 1)
    table = np.stack([curve.light(codes) for curve in wanted], axis=-1)[None].astype(np.float32)
    table.setflags(write=False)
    return table


def _triples(matrix: NDArray[np.floating]) -> Matrix:
    rows = [(float(r), float(g), float(b)) for r, g, b in matrix]
    return rows[0], rows[1], rows[2]


_IDENTITY = _triples(np.eye(3))
_BT709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))


def _primaries_to_xyz(primaries: tuple[tuple[float, float], ...]) -> FloatArray:
    """Linear RGB of some primaries (CIE x, y) to XYZ, all under the white x 0.3127, y 0.3290.

    References
    ----------
    SMPTE RP 177-1993, section 3.
    """
    columns = np.array([(x / y, 1.0, (1 - x - y) / y) for x, y in (*primaries, (0.3127, 0.3290))]).T
    return np.asarray(columns[:, :3] * np.linalg.solve(columns[:, :3], columns[:, 3]))


def _to_bt709(primaries: tuple[tuple[float, float], ...]) -> Matrix:
    return _triples(np.linalg.solve(_primaries_to_xyz(_BT709), _primaries_to_xyz(primaries)))


_SRGB_CURVE = ToneCurve(gamma=2.4, a=1 / 1.055, b=0.055 / 1.055, c=1 / 12.92, d=0.04045)
_BT709_CURVE = ToneCurve(gamma=1 / 0.45, a=1 / 1.099, b=0.099 / 1.099, c=1 / 4.5, d=0.081)
_P3_MATRIX = _to_bt709(((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)))
_BT2020_MATRIX = _to_bt709(((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)))


def _made(name: str, curve: ToneCurve, matrix: Matrix) -> ColorProfile:
    return ColorProfile(name=name, curves=(curve, curve, curve), matrix=matrix)


# IEC 61966-2-1; SMPTE EG 432-1 primaries under D65 with the sRGB curve; Adobe RGB (1998) 4.3.
SRGB = _made("sRGB", _SRGB_CURVE, _IDENTITY)
DISPLAY_P3 = _made("Display P3", _SRGB_CURVE, _P3_MATRIX)
ADOBE_RGB = _made(
    "Adobe RGB",
    ToneCurve(gamma=563 / 256),
    _to_bt709(((0.64, 0.33), (0.21, 0.71), (0.15, 0.06))),
)
LINEAR_SRGB = _made("linear sRGB", ToneCurve(), _IDENTITY)


def profile_of_signal(primaries: int, transfer: int) -> ColorProfile | None:
    """Profile of the two numbers that HEIC, AVIF and PNG may carry; None where they say nothing.

    Raises
    ------
    PhotoError
        If the light is stored for bright screens (PQ or HLG): its white is not the scene's.

    References
    ----------
    ITU-T H.273, tables 2 (primaries) and 3 (transfer characteristics).

    Examples
    --------
    >>> profile_of_signal(12, 13).name, profile_of_signal(2, 2)
    ('Display P3', None)
    """
    if transfer in (16, 18):
        raise PhotoError(
            "The photo is stored for HDR screens (PQ or HLG).",
            what_to_do="Switch HDR off in the camera, or save the photo as JPEG.",
        )
    matrices = {1: _IDENTITY, 9: _BT2020_MATRIX, 11: _P3_MATRIX, 12: _P3_MATRIX}
    curves = {
        1: _BT709_CURVE,
        4: ToneCurve(gamma=2.2),
        6: _BT709_CURVE,
        8: ToneCurve(),
        13: _SRGB_CURVE,
        14: _BT709_CURVE,
        15: _BT709_CURVE,
    }
    if primaries not in matrices or transfer not in curves:
        return None
    name = f"primaries {primaries}, curve {transfer} of H.273"
    return _named(_made(name, curves[transfer], matrices[primaries]))


def needs_tables(icc: bytes) -> bool:
    """Whether an ICC profile describes its colors by look-up tables (AToB0) alone or first."""
    return icc[16:20] == b"RGB " and any(tag == b"A2B0" for tag, _ in _tags(icc))


def profile_of_icc(icc: bytes) -> ColorProfile:
    """Read an embedded ICC profile of RGB curves and colorants, or of one grey curve.

    The colorants are relative to D50; their sum is the white they were adapted to, and that white
    is carried to D65 by Bradford, so that equal codes stay neutral:
    M = XYZ_to_RGB . A(sum -> D65) . colorants.

    Raises
    ------
    PhotoError
        If the profile is damaged or of another kind.

    References
    ----------
    ICC.1:2022, 8.3 (three-component matrix-based), 8.2 (monochrome) and Annex E.
    """
    tags = dict(_tags(icc))
    try:
        if icc[16:20] == b"GRAY":
            return _named(_made("grey profile", _curve(tags[b"kTRC"]), _IDENTITY))
        if icc[16:20] != b"RGB " or icc[20:24] != b"XYZ ":
            raise ValueError("neither RGB with XYZ nor grey")
        red, green, blue = (_curve(tags[tag]) for tag in (b"rTRC", b"gTRC", b"bTRC"))
        colorants = np.array([_xyz(tags[tag]) for tag in (b"rXYZ", b"gXYZ", b"bXYZ")]).T
        return _named(
            ColorProfile(
                name="its own profile",
                curves=(red, green, blue),
                matrix=_triples(XYZ_TO_RGB @ _to_d65(colorants.sum(axis=1)) @ colorants),
            )
        )
    except (KeyError, ValueError, struct.error) as error:
        raise PhotoError(
            "The color profile inside the photo is damaged or of an unknown kind.",
            what_to_do="Take the photo from the camera again, or save it with an sRGB profile.",
        ) from error


def _to_d65(white: FloatArray) -> FloatArray:
    """Bradford adaptation of XYZ from one white to the white of equal BT.709 channels."""
    if not 0.5 < white[1] < 1.5 or not (white > 0.2).all():
        raise ValueError(f"the colorants must add up to a white, got {white}")
    target = np.linalg.solve(XYZ_TO_RGB, np.ones(3))
    gains = (_BRADFORD @ target) / (_BRADFORD @ white)
    return np.asarray(np.linalg.solve(_BRADFORD, gains[:, None] * _BRADFORD))


def _tags(icc: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield the tags of an ICC profile, signature and data; a tag that lies outside is left out."""
    if len(icc) < 132 or icc[36:40] != b"acsp":
        return
    count = min(int.from_bytes(icc[128:132], "big"), (len(icc) - 132) // 12)
    for k in range(min(count, 200)):
        signature, start, size = struct.unpack_from(">4sII", icc, 132 + 12 * k)
        if start + size <= len(icc):
            yield signature, icc[start : start + size]


def _xyz(tag: bytes) -> FloatArray:
    kind, *numbers = struct.unpack_from(">4s4x3i", tag)
    if kind != b"XYZ ":
        raise ValueError(f"a colorant must be XYZ, got {kind!r}")
    return np.array(numbers) / 65536


def _curve(tag: bytes) -> ToneCurve:
    """Read curveType or parametricCurveType."""
    if tag[:4] == b"curv":
        (count,) = struct.unpack_from(">8xI", tag)
        if count > 65536:
            raise ValueError(f"a curve has at most 65536 samples, got {count}")
        samples = struct.unpack_from(f">12x{count}H", tag)
        if count < 2:
            return ToneCurve(gamma=samples[0] / 256 if samples else 1.0)
        return ToneCurve(samples=tuple(sample / 65535 for sample in samples))
    if tag[:4] != b"para":
        raise ValueError(f"a curve must be curv or para, got {tag[:4]!r}")
    (kind,) = struct.unpack_from(">8xH", tag)
    if kind > 4:
        raise ValueError(f"parametric curves are of type 0 to 4, got {kind}")
    count = (1, 3, 4, 5, 7)[kind]
    numbers = [number / 65536 for number in struct.unpack_from(f">12x{count}i", tag)]
    if kind in (0, 3, 4):
        return ToneCurve(
            **dict(zip(("gamma", "a", "b", "c", "d", "e", "f"), numbers, strict=False))
        )
    gamma, a, b, *offset = numbers  # the foot is flat: 0, or the offset of the third type
    foot = offset[0] if offset else 0.0
    return ToneCurve(gamma=gamma, a=a, b=b, d=-b / a if a else 0.0, e=foot, f=foot)


def _named(profile: ColorProfile) -> ColorProfile:
    """Return the well-known profile with the same content, or the profile itself."""
    codes = np.linspace(0.0, 1.0, 64)
    for known in (SRGB, DISPLAY_P3, ADOBE_RGB, LINEAR_SRGB):
        curves = zip(profile.curves, known.curves, strict=True)
        apart = max(float(np.abs(a.light(codes) - b.light(codes)).max()) for a, b in curves)
        if max(apart, float(np.abs(np.subtract(profile.matrix, known.matrix)).max())) < _SAME:
            return known
    return profile
