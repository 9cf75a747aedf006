"""Profiles beside published values, beside colour-science and beside Little CMS."""

import io
import struct

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageCms
from PySide6.QtGui import QColorSpace

from colorcore.color_profile import (
    ADOBE_RGB,
    DISPLAY_P3,
    LINEAR_SRGB,
    SRGB,
    ColorProfile,
    ToneCurve,
    needs_tables,
    profile_of_icc,
    profile_of_signal,
)
from colorcore.errors import PhotoError

# Linear light of sRGB codes: IEC 61966-2-1 computed at seven digits.
SRGB_LIGHT = {
    0: 0.0,
    1: 0.0003035,
    10: 0.0030353,
    11: 0.0033465,
    50: 0.0318960,
    64: 0.0512695,
    100: 0.1274377,
    117: 0.1778884,
    118: 0.1811642,
    119: 0.1844750,
    127: 0.2122308,
    128: 0.2158605,
    188: 0.5028865,
    200: 0.5775804,
    254: 0.9911021,
    255: 1.0,
}

# The same profile as Qt writes it (ICC version 4) and as our three constants hold it.
KNOWN = {"SRgb": SRGB, "DisplayP3": DISPLAY_P3, "AdobeRgb": ADOBE_RGB, "SRgbLinear": LINEAR_SRGB}

codes_rgb = st.tuples(*3 * [st.integers(0, 255)])


def icc_of(space: str) -> bytes:
    """Write a complete ICC profile with Qt."""
    return bytes(QColorSpace(getattr(QColorSpace.NamedColorSpace, space)).iccProfile().data())


def fixed(*numbers: float) -> bytes:
    """Numbers as s15Fixed16 of ICC.1."""
    return struct.pack(f">{len(numbers)}i", *(round(number * 65536) for number in numbers))


def made_icc(tags: dict[bytes, bytes], space: bytes = b"RGB ", pcs: bytes = b"XYZ ") -> bytes:
    """Write an ICC profile (version 2) of the given tags."""
    at = 132 + 12 * len(tags)
    table, bodies = b"", b""
    for signature, body in tags.items():
        table += struct.pack(">4sII", signature, at + len(bodies), len(body))
        bodies += body + b"\0" * (-len(body) % 4)
    date = struct.pack(">6H", 2024, 1, 1, 0, 0, 0)
    size = struct.pack(">I", at + len(bodies))
    header = size + b"none" + bytes.fromhex("02400000") + b"mntr" + space + pcs + date + b"acsp"
    header = header.ljust(68, b"\0") + fixed(0.9642, 1.0, 0.8249)
    return header.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + bodies


def matrix_icc(curves: list[bytes], colorants: NDArray[np.float64]) -> bytes:
    """Write a profile of three curves and of D50 colorants, one a column."""
    tags = {b"wtpt": b"XYZ \0\0\0\0" + fixed(0.9642, 1.0, 0.8249)}
    for k, letter in enumerate((b"r", b"g", b"b")):
        tags[letter + b"XYZ"] = b"XYZ \0\0\0\0" + fixed(*colorants[:, k])
        tags[letter + b"TRC"] = curves[k]
    return made_icc(tags)


def gamma_curve(gamma: float) -> bytes:
    """Write a curve of one gamma, u8Fixed8."""
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256))


def sampled_curve(samples: list[int]) -> bytes:
    """Write a curve of 16-bit samples."""
    return b"curv\0\0\0\0" + struct.pack(f">I{len(samples)}H", len(samples), *samples)


def parametric_curve(kind: int, *numbers: float) -> bytes:
    """Write a parametric curve of one of the five types."""
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + fixed(*numbers)


def bgr(*colors: tuple[int, ...], dtype: type = np.uint8) -> NDArray[np.uint8]:
    """One row of BGR codes from RGB colors."""
    return np.array([colors], dtype=dtype)[..., ::-1].copy()


SRGB_COLORANTS = np.array(  # sRGB carried to D50 by Bradford, as every sRGB profile prints it
    [[0.43607, 0.38515, 0.14307], [0.22249, 0.71687, 0.06061], [0.01392, 0.09708, 0.71410]]
)


def test_srgb_codes_give_the_printed_light() -> None:
    """Agrees to the last printed decimal (float32 keeps seven)."""
    light = SRGB.to_linear(bgr(*((code,) * 3 for code in SRGB_LIGHT)))
    assert light.dtype == np.float32
    np.testing.assert_allclose(light[0, :, 0], list(SRGB_LIGHT.values()), atol=0.6e-7)


def test_16_bit_codes_mean_the_same_as_8_bit_codes() -> None:
    """Code 257 n of 65535 is code n of 255."""
    colors = [(0, 128, 255), (1, 50, 200), (64, 100, 11)]
    wide = bgr(*colors, dtype=np.uint16) * np.uint16(257)
    for profile in (SRGB, DISPLAY_P3):
        np.testing.assert_allclose(
            profile.to_linear(wide), profile.to_linear(bgr(*colors)), atol=1e-6
        )


def test_display_p3_matrix() -> None:
    """P3 to sRGB of SMPTE EG 432-1 under D65; the reference rounds its white to four digits."""
    printed = [
        [1.2248021, -0.2249113, 0.0],
        [-0.0419281, 1.0420299, 0.0],
        [-0.0196088, -0.0786321, 1.0983154],
    ]
    np.testing.assert_allclose(DISPLAY_P3.matrix, printed, atol=2e-4)


@pytest.mark.parametrize("profile", [SRGB, DISPLAY_P3, ADOBE_RGB, LINEAR_SRGB])
def test_equal_codes_stay_neutral(profile: ColorProfile) -> None:
    """Grey is grey and white is 1 in every profile."""
    light = profile.to_linear(bgr(*((code,) * 3 for code in range(256))))
    np.testing.assert_allclose(light, light[..., :1].repeat(3, axis=2), atol=2e-7)
    np.testing.assert_allclose(light[0, -1], 1.0, atol=2e-7)


@pytest.mark.parametrize(
    ("name", "profile"), [("Display P3", DISPLAY_P3), ("Adobe RGB (1998)", ADOBE_RGB)]
)
@given(color=codes_rgb)
def test_known_profiles_against_colour_science(
    name: str, profile: ColorProfile, color: tuple[int, ...]
) -> None:
    """Within 2.5e-4 of white: the library's matrices are rounded to four to seven digits."""
    space = colour.RGB_COLOURSPACES[name]
    xyz = space.matrix_RGB_to_XYZ @ space.cctf_decoding(np.array(color) / 255)
    wanted = np.linalg.solve(colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ, xyz)
    np.testing.assert_allclose(profile.to_linear(bgr(color))[0, 0], wanted, atol=2.5e-4)


@pytest.mark.parametrize("space", KNOWN)
def test_qt_profiles_are_known_by_content(space: str) -> None:
    """Profiles of another writer are recognised, so their pictures read like untagged ones."""
    assert profile_of_icc(icc_of(space)) is KNOWN[space]


def test_little_cms_srgb_is_known_by_content() -> None:
    """Little CMS writes sRGB with another rounding."""
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert profile_of_icc(icc) is SRGB


def by_little_cms(icc: bytes, color: tuple[int, ...], mode: str = "RGB") -> NDArray[np.float64]:
    """One color in 8-bit sRGB codes, relative colorimetric."""
    picture = Image.new(mode, (1, 1), color if mode == "RGB" else color[0])
    out = ImageCms.profileToProfile(
        picture,
        ImageCms.ImageCmsProfile(io.BytesIO(icc)),
        ImageCms.createProfile("sRGB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
    )
    return np.asarray(out, dtype=np.float64)[0, 0]


def srgb_code(light: NDArray[np.float32]) -> NDArray[np.float64]:
    """IEC 61966-2-1 encoding, clipped as an 8-bit picture must be, not rounded."""
    clipped = np.clip(light, 0, 1).astype(np.float64)
    return 255 * np.where(
        clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055
    )


def check_against_little_cms(icc: bytes, color: tuple[int, ...]) -> None:
    """Within one code: half from its rounding to 8 bits, half from its fixed-point arithmetic."""
    ours = srgb_code(profile_of_icc(icc).to_linear(bgr(color))[0, 0])
    np.testing.assert_allclose(ours, by_little_cms(icc, color), atol=1.0)


@pytest.mark.parametrize("space", ["DisplayP3", "AdobeRgb", "ProPhotoRgb", "Bt2020"])
@given(color=codes_rgb)
@settings(max_examples=60)
def test_qt_profiles_against_little_cms(space: str, color: tuple[int, ...]) -> None:
    """Random colors through real profiles with wide primaries."""
    check_against_little_cms(icc_of(space), color)


@given(
    color=codes_rgb,
    gamma=st.floats(1.0, 2.6),
    mix=st.lists(st.floats(0.0, 0.15), min_size=6, max_size=6),
)
def test_made_profiles_against_little_cms(
    color: tuple[int, ...], gamma: float, mix: list[float]
) -> None:
    """Random gammas and primaries inside sRGB, their sum kept at D50."""
    share = np.zeros((3, 3))
    share[~np.eye(3, dtype=bool)] = mix
    share += np.diag(1 - share.sum(axis=1))
    icc = matrix_icc([gamma_curve(gamma)] * 3, SRGB_COLORANTS @ share)
    check_against_little_cms(icc, color)


CURVES = {
    "identity": (b"curv\0\0\0\0\0\0\0\0", lambda x: x),
    "gamma": (gamma_curve(1.8), lambda x: x ** (461 / 256)),
    "samples": (sampled_curve([0, 6554, 65535]), lambda x: np.interp(x, [0, 0.5, 1], [0, 0.1, 1])),
    "type 0": (parametric_curve(0, 2.2), lambda x: x**2.2),
    "type 1": (
        parametric_curve(1, 2.0, 1.25, -0.25),
        lambda x: np.where(x >= 0.2, (1.25 * x - 0.25) ** 2, 0),
    ),
    "type 2": (
        parametric_curve(2, 2.0, 1.25, -0.25, 0.125),
        lambda x: np.where(x >= 0.2, (1.25 * x - 0.25) ** 2, 0) + 0.125,
    ),
    "type 3": (
        parametric_curve(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045),
        lambda x: np.where(x >= 0.04045, ((x + 0.055) / 1.055) ** 2.4, x / 12.92),
    ),
    "type 4": (
        parametric_curve(4, 2.0, 0.75, 0.0, 0.5, 0.25, 0.25, 0.0),
        lambda x: np.where(x >= 0.25, (0.75 * x) ** 2 + 0.25, 0.5 * x),
    ),
}


@pytest.mark.parametrize("kind", CURVES)
def test_every_kind_of_curve(kind: str) -> None:
    """Formulas of ICC.1:2022, 10.6 and table 68, to the rounding of s15Fixed16."""
    tag, formula = CURVES[kind]
    profile = profile_of_icc(matrix_icc([tag] * 3, SRGB_COLORANTS))
    code = np.linspace(0, 1, 256)
    np.testing.assert_allclose(profile.curves[0].light(code), formula(code), atol=1e-4)


def test_three_different_curves_keep_their_channels() -> None:
    """Red has gamma 1, green 2, blue 3, in 8 and 16 bits."""
    icc = matrix_icc([gamma_curve(1.0), gamma_curve(2.0), gamma_curve(3.0)], SRGB_COLORANTS)
    profile = profile_of_icc(icc)
    wanted = [0.4, 0.4**2, 0.4**3]
    np.testing.assert_allclose(profile.to_linear(bgr((102,) * 3))[0, 0], wanted, atol=1e-3)
    wide = bgr((26214,) * 3, dtype=np.uint16)
    np.testing.assert_allclose(profile.to_linear(wide)[0, 0], wanted, atol=1e-3)


def test_grey_profile() -> None:
    """One curve for all channels."""
    icc = made_icc({b"kTRC": gamma_curve(2.0)}, space=b"GRAY")
    light = profile_of_icc(icc).to_linear(bgr((102, 102, 102)))
    np.testing.assert_allclose(light[0, 0], 0.16, atol=1e-6)


def test_colors_outside_srgb_are_not_clipped() -> None:
    """Pure P3 green has negative sRGB red; pure P3 red is above 1."""
    green, red = DISPLAY_P3.to_linear(bgr((0, 255, 0), (255, 0, 0)))[0]
    assert green[0] < -0.2
    assert red[0] > 1.2


WHOLE = icc_of("DisplayP3")
SICK = {
    "empty": b"",
    "no ICC": b"hello" * 100,
    "cut": WHOLE[:200],
    "inks": made_icc({}, space=b"CMYK"),
    "Lab": made_icc({}, pcs=b"Lab "),
    "no tags": made_icc({}),
    "falling curve": matrix_icc([sampled_curve([65535, 0])] * 3, SRGB_COLORANTS),
    "flat curve": matrix_icc([sampled_curve([0, 0, 0])] * 3, SRGB_COLORANTS),
    "long curve": matrix_icc([b"curv\0\0\0\0\x7f\xff\xff\xff"] * 3, SRGB_COLORANTS),
    "unknown type": matrix_icc([parametric_curve(9, 2.2)] * 3, SRGB_COLORANTS),
    "cut curve": matrix_icc([parametric_curve(3, 2.2)] * 3, SRGB_COLORANTS),
    "infinite gamma": matrix_icc([parametric_curve(0, -3.0)] * 3, SRGB_COLORANTS),
    "black primaries": matrix_icc([gamma_curve(2.2)] * 3, np.zeros((3, 3))),
    "one primary": matrix_icc([gamma_curve(2.2)] * 3, np.full((3, 3), 0.32)),
    "text as colorant": WHOLE.replace(b"XYZ \0", b"text\0"),
}


@pytest.mark.parametrize("kind", SICK)
def test_sick_profiles_are_refused(kind: str) -> None:
    """With a sentence, never with a traceback."""
    with pytest.raises(PhotoError, match="profile inside the photo is damaged or of an unknown"):
        profile_of_icc(SICK[kind])


@given(data=st.data())
@settings(max_examples=300)
def test_changed_bytes_never_escape(data: st.DataObject) -> None:
    """A changed profile is read or refused, and what is read gives finite light."""
    icc = bytearray(WHOLE)
    for _ in range(data.draw(st.integers(1, 8))):
        icc[data.draw(st.integers(0, len(icc) - 1))] = data.draw(st.integers(0, 255))
    try:
        profile = profile_of_icc(bytes(icc))
    except PhotoError:
        return
    assert np.isfinite(profile.to_linear(bgr((0, 128, 255), (255, 1, 77)))).all()


def test_tables_are_noticed() -> None:
    """Only RGB profiles with a look-up table ask for one."""
    assert needs_tables(made_icc({b"A2B0": b"mft1"}))
    assert not needs_tables(WHOLE)
    assert not needs_tables(b"")


@pytest.mark.parametrize(
    ("primaries", "transfer", "profile"),
    [(1, 13, SRGB), (12, 13, DISPLAY_P3), (1, 8, LINEAR_SRGB), (2, 2, None), (1, 99, None)],
)
def test_signal_numbers(primaries: int, transfer: int, profile: ColorProfile | None) -> None:
    """Numbers of ITU-T H.273, tables 2 and 3."""
    assert profile_of_signal(primaries, transfer) is profile


def test_bt2020_signal_against_colour_science() -> None:
    """Rec. 2020 primaries with the sRGB curve."""
    profile = profile_of_signal(9, 13)
    assert profile is not None
    wanted = colour.matrix_RGB_to_RGB("ITU-R BT.2020", "sRGB", chromatic_adaptation_transform=None)
    np.testing.assert_allclose(profile.matrix, wanted, atol=2.5e-4)


def test_bt709_curve_meets_itself() -> None:
    """ITU-R BT.709-6 item 1.2 read backwards: 0.081 is 0.018, and the ends are 0 and 1."""
    profile = profile_of_signal(1, 1)
    assert profile is not None
    light = profile.curves[0].light(np.array([0.0, 0.0809999, 0.0810001, 1.0]))
    np.testing.assert_allclose(light, [0.0, 0.018, 0.018, 1.0], atol=1e-4)


@pytest.mark.parametrize("transfer", [16, 18])
def test_hdr_signals_are_refused(transfer: int) -> None:
    """PQ and HLG pictures say what to do."""
    with pytest.raises(PhotoError, match="HDR"):
        profile_of_signal(9, transfer)


def test_nonsense_is_not_born() -> None:
    """Curves and profiles refuse what no picture can mean."""
    with pytest.raises(ValueError, match="finite"):
        ToneCurve(samples=(0.0, float("nan"), 1.0))
    with pytest.raises(ValueError, match="matrix"):
        ColorProfile(name="flat", curves=SRGB.curves, matrix=3 * ((1.0, 1.0, 1.0),))
