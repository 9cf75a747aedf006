"""Lamps and cameras as spectra, and what a camera makes of a spectrum."""

import warnings
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
WAVELENGTHS: FloatArray = np.arange(380.0, 781.0, 5.0)  # nm
_D65 = np.array((0.95047, 1.0, 1.08883))  # ASTM E308, 2 degree observer
LIGHT_CLASSES = ("daylight", "tungsten", "fluorescent", "triphosphor", "LED", "other")


@cache
def colour_science() -> Any:
    """Load colour-science without its warning and without its change to NumPy's printing."""
    with np.printoptions(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    return colour


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lamp:
    """Relative spectral power (81,) of a light with a name and a class of `LIGHT_CLASSES`."""

    name: str
    light_class: str
    power: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """Relative spectral sensitivities (81, 3) of red, green and blue."""

    sensitivity: FloatArray


def bell(peak: float, left: float, right: float | None = None) -> FloatArray:
    """Return a bell of height 1 over the wavelengths with its own width on either side (nm)."""
    off = WAVELENGTHS - peak
    width = np.where(off < 0, left, right if right is not None else left)
    return np.asarray(np.exp(-0.5 * (off / width) ** 2))


def step(edge: float, width: float) -> FloatArray:
    """Return a smooth step from 0 to 1 at a wavelength; `width` in nm."""
    return np.asarray(1 / (1 + np.exp(-(WAVELENGTHS - edge) / width)))


# ------------------------------------------------------------------------------------ lamps
def _cie(name: str) -> FloatArray:
    """Return a CIE illuminant by name on our wavelengths, peak 1 (data of colour-science)."""
    colour = colour_science()
    sd = colour.SDS_ILLUMINANTS[name].copy()
    shape = colour.SpectralShape(380, 780, 5)
    values = np.asarray(sd.align(shape).values, np.float64).clip(0)
    return values / values.max()


_NAMED: dict[str, tuple[str, ...]] = {
    "daylight": ("D50", "D55", "D60", "D65", "D75", "ID50", "ID65"),
    "tungsten": ("A",),
    "fluorescent": (*(f"FL{k}" for k in range(1, 10)), *(f"FL3.{k}" for k in (1, 2, 3, 4, 5, 6))),
    "triphosphor": ("FL10", "FL11", "FL12", *(f"FL3.{k}" for k in (7, 8, 9, 10, 11))),
    "LED": (
        "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
    ),
    "other": ("HP3", "HP4", "HP5", "FL3.12", "FL3.13", "FL3.14", "FL3.15"),
}  # fmt: skip


@cache
def named_lamp(name: str) -> Lamp:
    """Return a CIE illuminant of `colour.SDS_ILLUMINANTS` with its class."""
    kind = next(k for k, names in _NAMED.items() if name in names)
    return Lamp(name=name, light_class=kind, power=_cie(name))


def planck(kelvin: float) -> FloatArray:
    """Return black-body power at a temperature, peak 1 (Planck's law, c2 = 0.014388 m K)."""
    metres = WAVELENGTHS * 1e-9
    power = metres**-5 / np.expm1(0.014388 / (metres * kelvin))
    return np.asarray(power / power.max())


@cache
def _daylight_basis() -> FloatArray:
    colour = colour_science()
    series = colour.colorimetry.SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES
    basis = [series[k] for k in ("S0", "S1", "S2")]
    shape = colour.SpectralShape(380, 780, 5)
    return np.stack([np.asarray(sd.copy().align(shape).values) for sd in basis])


def daylight(kelvin: float) -> FloatArray:
    """Return CIE daylight of a correlated colour temperature, peak 1.

    CIE 15: chromaticity by the two cubic polynomials (4000 to 25000 K, black body below), power
    S0 + M1 S1 + M2 S2.
    """
    if kelvin < 4000:
        return planck(kelvin)
    t = 1000 / kelvin
    if kelvin <= 7000:
        x = -4.6070 * t**3 + 2.9678 * t**2 + 0.09911 * t + 0.244063
    else:
        x = -2.0064 * t**3 + 1.9018 * t**2 + 0.24748 * t + 0.237040
    y = -3.0 * x**2 + 2.870 * x - 0.275
    m = 0.0241 + 0.2562 * x - 0.7341 * y
    m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m
    m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m
    power = np.array((1.0, m1, m2)) @ _daylight_basis()
    return np.asarray(power.clip(0) / power.max())


def white_led(rng: np.random.Generator) -> FloatArray:
    """Return a random white LED: a pump and one or two broad phosphors, peak 1."""
    violet = rng.random() < 0.08
    pump = bell(
        rng.uniform(398, 420) if violet else rng.uniform(440, 468),
        rng.uniform(6, 13),
        rng.uniform(7, 16),
    )
    warm = rng.random()
    phosphor = bell(rng.uniform(535, 570) + 40 * warm, rng.uniform(32, 60), rng.uniform(50, 85))
    if violet:
        phosphor = phosphor + rng.uniform(0.4, 1.2) * bell(rng.uniform(450, 490), 30, 45)
    power = pump * np.exp(rng.uniform(np.log(0.45), np.log(2.6)) - 1.1 * warm) + phosphor
    if rng.random() < 0.35:
        power = power + rng.uniform(0.1, 0.9) * bell(
            rng.uniform(610, 660), rng.uniform(8, 40), rng.uniform(10, 40)
        )
    return np.asarray(power / power.max())


def rgb_led(rng: np.random.Generator) -> FloatArray:
    """Return a mix of three or four narrow LEDs, peak 1."""
    power = np.zeros_like(WAVELENGTHS)
    for peak in (rng.uniform(450, 472), rng.uniform(515, 545), rng.uniform(600, 640)):
        power = power + rng.uniform(0.5, 1.2) * bell(peak, rng.uniform(8, 17))
    if rng.random() < 0.4:
        power = power + rng.uniform(0.3, 1.0) * white_led(rng)
    return np.asarray(power / power.max())


def window_tint(rng: np.random.Generator) -> FloatArray:
    """Return transmittance (81,) of ordinary, coated or tinted window glass."""
    green = 1 - rng.uniform(0, 0.12) * (1 - bell(530, 90, 90))
    if rng.random() < 0.2:
        green = green * (1 - rng.uniform(0, 0.35) * step(rng.uniform(560, 700), 60))
    return np.asarray(green)


def random_lamp(rng: np.random.Generator, light_class: str) -> Lamp:
    """Return a published or a random light of a class."""
    names = _NAMED[light_class]
    if rng.random() < 0.45 or light_class in ("fluorescent", "triphosphor", "other"):
        lamp = named_lamp(str(rng.choice(names)))
        if light_class in ("fluorescent", "triphosphor") and rng.random() < 0.5:
            other = named_lamp(str(rng.choice(names)))  # tubes of one class differ by their mix
            share = rng.uniform(0.1, 0.9)
            power = share * lamp.power + (1 - share) * other.power
            return Lamp(name=f"{lamp.name}+{other.name}", light_class=light_class, power=power)
        return lamp
    if light_class == "daylight":
        kelvin = float(np.exp(rng.uniform(np.log(4000), np.log(12000))))
        power, name = daylight(kelvin) * window_tint(rng), f"daylight {kelvin:.0f} K"
    elif light_class == "tungsten":
        kelvin = rng.uniform(2300, 3400)
        power, name = planck(kelvin), f"filament {kelvin:.0f} K"
    elif rng.random() < 0.1:
        power, name = rgb_led(rng), "LED of three colours"
    else:
        power, name = white_led(rng), "white LED"
    return Lamp(name=name, light_class=light_class, power=power / power.max())


# ---------------------------------------------------------------------------------- cameras
def random_camera(rng: np.random.Generator) -> Camera:
    """Return a camera of random but plausible sensitivities, or now and then a published one.

    Places and widths of the peaks enclose what published measurements of phones and cameras show
    (red 590 to 620 nm, green 520 to 545 nm, blue 445 to 470 nm, cut near 400 and 650 to 690 nm).
    """
    if rng.random() < 0.05:
        return published_camera(int(rng.integers(2)))
    red = bell(rng.uniform(585, 615), rng.uniform(14, 27), rng.uniform(28, 52))
    green = bell(rng.uniform(520, 545), rng.uniform(26, 42), rng.uniform(28, 46))
    blue = bell(rng.uniform(444, 472), rng.uniform(18, 36), rng.uniform(22, 38))
    mixed_red = red + rng.uniform(0, 0.22) * green + rng.uniform(0.0, 0.12) * blue
    mixed_green = green + rng.uniform(0.0, 0.25) * blue + rng.uniform(0.0, 0.25) * red
    mixed_blue = blue + rng.uniform(0.0, 0.16) * green + rng.uniform(0, 0.04) * red
    cut = step(rng.uniform(398, 420), rng.uniform(3, 9))
    cut = cut * (1 - step(rng.uniform(640, 692), rng.uniform(4, 18)))
    all_three = np.stack((mixed_red, mixed_green, mixed_blue), 1) * cut[:, None]
    wobble = np.exp(0.05 * np.interp(WAVELENGTHS, np.linspace(380, 780, 9), rng.normal(size=9)))
    all_three = all_three * wobble[:, None]
    return Camera(sensitivity=all_three / all_three.max())


def published_camera(index: int) -> Camera:
    """Return one of the measured cameras that come with colour-science."""
    colour = colour_science()
    data = list(colour.MSDS_CAMERA_SENSITIVITIES.values())[index].copy()
    data = data.align(colour.SpectralShape(380, 780, 5))
    values = np.nan_to_num(np.asarray(data.values, np.float64)).clip(0)
    outside = (WAVELENGTHS < 400) | (WAVELENGTHS > 700)
    values[outside] *= 0.0
    return Camera(sensitivity=values / values.max())


@cache
def observer() -> FloatArray:
    """Return the CIE 1931 2 degree colour matching functions, (81, 3)."""
    colour = colour_science()
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy()
    return np.asarray(cmfs.align(colour.SpectralShape(380, 780, 5)).values, np.float64)


def camera_rgb(camera: Camera, lamp: Lamp, spectra: FloatArray) -> FloatArray:
    """Return camera RGB (..., 3) of reflected or transmitted shares (..., 81).

    Scaled so that a perfect white has green 1 under this lamp.
    """
    weight = camera.sensitivity * lamp.power[:, None]
    return np.asarray(spectra @ weight / weight[:, 1].sum())


def spectra_xyz(lamp: Lamp, spectra: FloatArray) -> FloatArray:
    """Return XYZ (..., 3) of shares (..., 81) under a lamp, Y of a perfect white 1."""
    weight = observer() * lamp.power[:, None]
    return np.asarray(spectra @ weight / weight[:, 1].sum())


def lab(xyz: FloatArray) -> FloatArray:
    """Return CIELAB (..., 3) under D65 (CIE 15)."""
    t = xyz / _D65
    f = np.where(t > 216 / 24389, np.cbrt(np.maximum(t, 1e-12)), (24389 / 27 * t + 16) / 116)
    return np.stack(
        (116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])), -1
    )


def fit_matrix(
    camera: Camera, lamp: Lamp, samples: FloatArray, goal: Lamp | None = None
) -> FloatArray:
    """Return the 3x3 map from balanced camera RGB under a lamp to XYZ under D65.

    Balanced means that a perfect white is (1, 1, 1). Least squares over `samples` (n, 81); white
    is weighted so that it is met. `goal` is the light whose XYZ is wanted, D65 when None.
    """
    goal = goal or named_lamp("D65")
    white = camera_rgb(camera, lamp, np.ones_like(WAVELENGTHS))
    rgb = camera_rgb(camera, lamp, samples) / white
    xyz = spectra_xyz(goal, samples)
    heavy = 100.0
    rgb = np.vstack((rgb, heavy * np.ones((1, 3))))
    xyz = np.vstack((xyz, heavy * spectra_xyz(goal, np.ones((1, 81)))))
    found = np.linalg.lstsq(rgb, xyz, rcond=None)[0]
    return np.asarray(found.T)
