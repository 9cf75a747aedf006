"""The main job against published optics and chemistry, from the picture through the command line.

Nothing here uses the program that makes the sample photos. What a camera sees of a two-form dye in
a tube before a flat grey card is computed from

- camera: Nikon D5100 spectral sensitivities measured at the National Physical Laboratory (Darrodi,
  Finlayson, Goodman & Mackiewicz 2015, J. Opt. Soc. Am. A 32, 381), as colour-science ships them;
- lamps: CIE illuminants D65, D50, FL2 and A (CIE 15), as colour-science ships them;
- dye: bromothymol blue, pKa 7.1, maxima of the acid and the base form at 427 and 602 nm
  (encyclopedia values); widths of the bands 40 and 42 nm (from memory);
- pH values: equimolal and physiological phosphate buffers at several temperatures (IUPAC
  Recommendations 2002, Pure Appl. Chem. 74, 2169), read from the product's table, whose numbers
  are checked elsewhere.

The chart is made under D65; other pH values are read under every lamp.
"""

import csv
import json
from pathlib import Path

import colour
import numpy as np
import pytest

from app.command_line import run
from calibration.standards import certified_value
from colorcore._cv import cv2

SHAPE = colour.SpectralShape(400, 700, 5)
WAVELENGTHS = SHAPE.wavelengths
CAMERA = colour.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"].copy().align(SHAPE).values
SIZE = (1200, 1600)
STANDARDS = [(name, t) for name in ("phosphate", "physiological") for t in (50, 25, 10, 0)]
UNKNOWN = [("phosphate", 35), ("phosphate", 5), ("physiological", 40), ("physiological", 15)]
CARD = (250, 640, 420, 300)  # x, y, w, h
TUBES = (820, 1020, 1220)  # middle of each tube


def lamp(name: str) -> np.ndarray:
    """Relative power of a CIE illuminant, shape (61,)."""
    return np.asarray(colour.SDS_ILLUMINANTS[name].copy().align(SHAPE).values)


def bell(peak: float, width: float) -> np.ndarray:
    """Return a Gaussian band."""
    return np.asarray(np.exp(-0.5 * ((WAVELENGTHS - peak) / width) ** 2))


def absorbance(ph: float) -> np.ndarray:
    """Decadic absorbance across the tube, by Henderson-Hasselbalch and Beer-Lambert."""
    base = 1 / (1 + 10 ** (7.1 - ph))
    return np.asarray(0.55 * ((1 - base) * 0.45 * bell(427, 40) + base * bell(602, 42)))


def camera_matrix() -> np.ndarray:
    """Balanced camera RGB to linear sRGB, least squares over the 24 patches under D65."""
    patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()
    spectra = np.array([patch.copy().align(SHAPE).values for patch in patches])
    light = lamp("D65")
    seen = (spectra * light) @ CAMERA / (light @ CAMERA)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(SHAPE).values
    xyz = (spectra * light) @ cmfs / (light @ cmfs[:, 1])
    wanted = xyz @ np.linalg.inv(colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ).T
    matrix = np.linalg.lstsq(seen, wanted, rcond=None)[0].T
    return np.asarray(matrix / matrix.sum(axis=1, keepdims=True))


MATRIX = camera_matrix()


def seen(spectrum: np.ndarray, light: np.ndarray) -> np.ndarray:
    """Linear sRGB of spectra (..., 61) under a light that the camera has balanced by half."""
    white = light @ CAMERA
    day = lamp("D65") @ CAMERA
    awb = np.sqrt(white / white[1] * day / day[1]) * white[1]
    return np.asarray((spectrum * light) @ CAMERA / awb @ MATRIX.T)


def picture(values: tuple[float, ...], light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Draw a bench photo: wall, table, card and one tube for each pH, BGR codes."""
    height, width = SIZE
    flat = np.ones_like(WAVELENGTHS)
    image = np.empty((height, width, 3))
    image[:] = seen(0.72 * flat, light)
    image[900:] = seen(0.45 * flat, light)
    image *= np.linspace(1.03, 0.97, width)[None, :, None]
    x, y, w, h = CARD
    image[y - 12 : y + h + 12, x - 12 : x + w + 12] = seen(0.88 * flat, light)
    image[y : y + h, x : x + w] = seen(0.18 * flat, light)
    for middle, ph in zip(TUBES, values, strict=False):
        half, top, surface, bottom = 46, 430, 560, 900
        across = (np.arange(-half, half + 1) + 0.0) / half
        glass = image[top:bottom, middle - half : middle + half + 1]
        edge = np.abs(across) > 0.9
        glass *= np.where(edge, 0.55, 0.93)[None, :, None]
        path = np.sqrt(np.clip(1 - (across / 0.9) ** 2, 0, 1))
        through = seen(0.72 * 10 ** (-absorbance(ph)[None, :] * path[:, None]), light)
        through = np.where(edge[:, None], through * 0.55, through * 0.95)
        image[surface:bottom, middle - half : middle + half + 1] = through
        image[surface - 5 : surface + 3, middle - half : middle + half + 1] *= 0.7
        image[top + 20 : bottom - 20, middle - 30 : middle - 25] = 1.0
        image[top : top + 4, middle - half : middle + half + 1] *= 0.6
    image = cv2.GaussianBlur(image * 1.05, (0, 0), 1.2)
    image = np.clip(image + rng.normal(0, 0.004, image.shape), 0, 1)
    codes = np.where(image <= 0.0031308, 12.92 * image, 1.055 * image ** (1 / 2.4) - 0.055)
    return np.ascontiguousarray((255 * codes + 0.5).astype(np.uint8)[..., ::-1])


def save(path: Path, values: tuple[float, ...], light: str, rng: np.random.Generator) -> None:
    """Write one photo as JPEG."""
    drawn = picture(values, lamp(light), rng)
    assert cv2.imwrite(str(path), drawn, [cv2.IMWRITE_JPEG_QUALITY, 92])


@pytest.fixture(scope="module")
def chart(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a chart from photos of the buffers under D65."""
    folder = tmp_path_factory.mktemp("outside")
    rng = np.random.default_rng(11)
    rows = [("photo", "tube", "buffer", "temperature", "unit")]
    for turn in range(2):
        for part in range(0, len(STANDARDS), 2):
            group = STANDARDS[part : part + 2]
            name = f"standard-{turn}{part}.jpg"
            save(folder / name, tuple(certified_value(*s).value for s in group), "D65", rng)
            rows += [(name, str(i), b, str(t), "pH") for i, (b, t) in enumerate(group, start=1)]
    with (folder / "standards.csv").open("w", newline="") as sheet:
        csv.writer(sheet).writerows(rows)
    target = folder / "chart.json"
    words = ["calibrate", str(folder / "standards.csv"), "-o", str(target)]
    assert run([*words, "--card-reflectance", "0.18"]) == 0
    return target


@pytest.mark.parametrize(
    ("light", "worst"), [("D65", 0.12), ("D50", 0.15), ("FL2", 0.3), ("A", 0.3)]
)
def test_other_values_are_read_under_every_lamp(
    chart: Path, light: str, worst: float, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each reading lies near its value, and inside or near its interval."""
    rng = np.random.default_rng(5)
    truths, photos = [], []
    for i in range(0, len(UNKNOWN), 2):
        values = tuple(certified_value(*u).value for u in UNKNOWN[i : i + 2])
        path = chart.parent / f"{light}-{i}.jpg"
        save(path, values, light, rng)
        truths += values
        photos.append(str(path))
    capsys.readouterr()
    run(["read", *photos, "--chart", str(chart), "--format", "jsonl"])
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert len(lines) == len(truths)
    assert all(line["status"] != "refused" for line in lines)
    errors = [line["value"] - truth for line, truth in zip(lines, truths, strict=True)]
    assert float(np.sqrt(np.mean(np.square(errors)))) < worst
    covered = [
        line["low"] - 1e-6 <= truth <= line["high"] + 1e-6
        for line, truth in zip(lines, truths, strict=True)
    ]
    assert sum(covered) >= 3


def test_printed_chart_makes_doubtful_readings(
    chart: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Patches on paper become a chart; a tube read on it has a number and stays doubtful."""
    folder, rng = chart.parent, np.random.default_rng(8)
    drawn = picture((), lamp("D65"), rng)
    values = (6.8, 7.0, 7.2, 7.4, 7.6)
    rows = ["name,x1,y1,x2,y2,x3,y3,x4,y4,value,unit"]
    for i, value in enumerate(values):
        x, y = 760 + 140 * i, 300
        ink = np.clip(seen(0.72 * 10 ** -absorbance(value), lamp("D65")) * 1.05, 0, 1)
        codes = np.where(ink <= 0.0031308, 12.92 * ink, 1.055 * ink ** (1 / 2.4) - 0.055)
        drawn[y : y + 120, x : x + 110] = (255 * codes + 0.5).astype(np.uint8)[::-1]
        corners = (x + 10, y + 10, x + 100, y + 10, x + 100, y + 110, x + 10, y + 110)
        rows.append(",".join(map(str, (f"p{i}", *corners, value, "pH"))))
    assert cv2.imwrite(str(folder / "printed.png"), drawn)
    (folder / "patches.csv").write_text("\n".join(rows) + "\n")
    target = folder / "printed.json"
    words = ["calibrate", "--printed", str(folder / "printed.png")]
    words += ["--patches", str(folder / "patches.csv"), "-o", str(target)]
    assert run([*words, "--card-reflectance", "0.18", "--quantity", "ph"]) == 0
    save(folder / "tube.jpg", (7.3,), "D65", rng)
    capsys.readouterr()
    run(["read", str(folder / "tube.jpg"), "--chart", str(target), "--format", "jsonl"])
    (line,) = (json.loads(text) for text in capsys.readouterr().out.splitlines())
    assert line["status"] in ("doubtful", "refused")
    assert {"printed_chart", "off_curve"} & {r["code"] for r in line["reasons"]}
