"""Make the sample photos: python -m tests.laboratory.make_samples [--out FOLDER].

An invented gardener calibrates a pH chart and a phosphorus chart and tests six invented plots.
Everything is drawn and computed; nothing shows a real place, person or product. The same program
gives the same photos, and writes beside them the sheets that a user would write and `answers.csv`,
the truth about each tube.
"""

import argparse
import csv
import struct
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from colorcore._cv import cv2
from tests.laboratory.chemistry import DYES, Solution, clay, soil_water
from tests.laboratory.device import Device, develop, profile, random_device
from tests.laboratory.layout import ScenePlan, TubePlan
from tests.laboratory.light import WAVELENGTHS, FloatArray, bell, named_lamp, random_camera
from tests.laboratory.scene import CARD, LIQUID, DrawnScene, draw_scene
from tests.laboratory.spectral import random_card, random_materials, spectral_palette
from tests.laboratory.truth import general_samples, share_of_label
from tests.laboratory.vessel import VesselStyle, random_style, under_new_light

CARD_REFLECTANCE = 0.18
QUALITY = 92  # of JPEG and HEIC
OWNER = 5  # seed of the gardener's card, caps and wall
VESSEL = 3  # seed of the gardener's tubes
CAMERAS = (11, 12)  # seeds
UNITS = {"ph": "pH", "phosphorus": "mg/L"}
ORIGIN, LICENCE = "rendered by tests/laboratory/make_samples.py", "MIT"

PH_STANDARDS = (4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0)
PHOSPHORUS_STANDARDS = (0.0, 5.0, 10.0, 20.0, 40.0, 60.0)

ANSWERS = (
    "photo", "tube", "sample", "quantity", "value", "unit", "fault", "card", "vessel", "liquid",
    "light", "origin", "licence",
)  # fmt: skip
ABOUT_ANSWERS = (
    "The survey is invented: plots, values and photos show no real place, person or product.",
    f"Every photo is {ORIGIN}.",
    "Outlines of the grey area of the card, of the vessel and of its clear liquid: corners x,y in",
    "pixels of the upright photo, from the top left one clockwise.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """One tube: the test carried out in it and its true value."""

    quantity: str
    value: float
    sample: str = ""
    replicate: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One photo; `name` from the folder of the sample photos."""

    name: str
    tubes: tuple[Filled, ...]
    seed: int
    taken: str
    light: str = "D55"
    support: str = "stand"
    card: str = "white border"
    camera: int = 0
    fault: str | None = None  # no_card, card_clipped or motion_blur
    size: tuple[int, int] = (1600, 1200)
    clutter: int = 0
    orientation: int = 1  # EXIF
    p3: bool = False


# ------------------------------------------------------------------------------- what is in them
def wide_indicator(ph: float) -> Solution:
    """Return a wide pH indicator of two two-form dyes, methyl red and bromothymol blue."""
    absorbs = np.zeros_like(WAVELENGTHS)
    for name, dose in (("methyl red", 1.5), ("bromothymol blue", 2.1)):
        pka, acid, base = DYES[name]
        share = 1 / (1 + 10 ** (pka - ph))  # of the base form (Henderson-Hasselbalch)
        for part, (peak, left, right, height) in ((1 - share, acid), (share, base)):
            absorbs = absorbs + dose * part * height * bell(peak, left, right)
    return Solution(absorbs=absorbs, scatters=0 * absorbs, tone=0.8 + 0 * absorbs)


def molybdenum_blue(mg_per_l: float) -> Solution:
    """Return molybdenum blue: broad bands near 720 and 880 nm that grow with the phosphorus.

    The places of the bands are common knowledge; strength and slight bend are of a usual size.
    """
    band = bell(720, 110, 90) + 0.45 * bell(880, 120)
    share = mg_per_l / PHOSPHORUS_STANDARDS[-1]
    absorbs = 1.9 * share * 1.25 / (1 + 0.25 * share) * band + 0.03 * bell(400, 40, 60)
    return Solution(absorbs=absorbs, scatters=0 * absorbs, tone=0.8 + 0 * absorbs)


def fill(rng: np.random.Generator, tube: Filled) -> Solution:
    """Return what is in a tube; samples scatter in dose and carry a little soil water and clay."""
    of_value = {"ph": wide_indicator, "phosphorus": molybdenum_blue}[tube.quantity]
    dose, path = np.exp(rng.normal(0, (0.04, 0.008) if tube.sample else (0.015, 0.008)))
    made = of_value(tube.value).thinned(float(dose), float(path))
    if not tube.sample:
        return made
    return made.with_more(
        absorbs=soil_water(0.03 * rng.exponential()), scatters=clay(0.01 * rng.exponential())
    )


# ------------------------------------------------------------------------------------- the photos
def _standards(
    quantity: str, order: Sequence[Sequence[float]], photos: Sequence[dict[str, object]]
) -> tuple[Shot, ...]:
    """Return the photos of a calibration set: the values from the left, and how each was taken."""
    return tuple(
        Shot(
            name=f"{quantity}/{quantity}-{number}.jpg",
            tubes=tuple(Filled(quantity=quantity, value=value) for value in values),
            **how,  # type: ignore[arg-type]
        )
        for number, (values, how) in enumerate(zip(order, photos, strict=True), start=1)
    )


def _ph(sample: str, value: float, replicate: str = "1") -> Filled:
    return Filled(quantity="ph", value=value, sample=sample, replicate=replicate)


def _phosphorus(sample: str, value: float, replicate: str = "1") -> Filled:
    return Filled(quantity="phosphorus", value=value, sample=sample, replicate=replicate)


SHOTS = (
    *_standards(
        "ph",
        ((4.0, 7.0), (6.5, 5.0, 8.0), (7.5, 4.5), (5.5, 6.0), (8.0, 4.0, 5.5), (6.5, 7.5),
         (5.0, 6.0), (4.5, 7.0)),
        (
            {"seed": 105, "taken": "2025:04:12 10:02:10", "light": "D65"},
            {"seed": 107, "taken": "2025:04:12 10:05:41", "light": "D65", "support": "block"},
            {"seed": 101, "taken": "2025:04:12 10:09:03", "light": "D55"},
            {"seed": 106, "taken": "2025:04:12 10:12:37", "light": "D55", "size": (1200, 1600)},
            {"seed": 113, "taken": "2025:04:12 10:16:20", "light": "ID65", "support": "rail"},
            {"seed": 116, "taken": "2025:04:12 15:40:52", "light": "D50"},
            {"seed": 115, "taken": "2025:04:12 15:44:18", "light": "D75", "support": "block"},
            {"seed": 114, "taken": "2025:04:12 19:31:06", "light": "LED-B3", "clutter": 1},
        ),
    ),
    *_standards(
        "phosphorus",
        ((0.0, 20.0, 60.0), (10.0, 40.0), (5.0, 60.0), (40.0, 0.0, 5.0), (20.0, 10.0)),
        (
            {"seed": 122, "taken": "2025:04:12 11:02:44", "light": "D65"},
            {"seed": 127, "taken": "2025:04:12 11:06:15", "light": "D55", "support": "block"},
            {"seed": 124, "taken": "2025:04:12 11:09:50", "light": "D50"},
            {"seed": 125, "taken": "2025:04:12 16:01:29", "light": "ID65", "support": "rail"},
            {"seed": 129, "taken": "2025:04:12 19:42:33", "light": "LED-B3"},
        ),
    ),
    Shot(
        name="survey/plot-a-morning.jpg",
        tubes=(_ph("Quince Corner", 6.3), _ph("Quince Corner", 6.3, "2"),
               _phosphorus("Quince Corner", 24)),
        seed=135, taken="2025:04:13 09:12:05", light="D65", clutter=2,
    ),
    Shot(
        name="survey/plot-a-afternoon.jpg",
        tubes=(_phosphorus("Quince Corner", 24, "2"), _ph("Quince Corner", 6.3, "3")),
        seed=135, taken="2025:04:13 16:48:31", light="D50", support="block", camera=1,
        size=(1200, 1600),
    ),
    Shot(
        name="survey/plot-b-kitchen.jpg",
        tubes=(_ph("Kettle Patch", 5.2), _phosphorus("Kettle Patch", 8)),
        seed=134, taken="2025:04:13 18:20:44", light="LED-B4", clutter=3,
    ),
    Shot(
        name="survey/plot-c-evening.heic",
        tubes=(_ph("Damson Row", 7.2), _phosphorus("Damson Row", 46)),
        seed=162, taken="2025:04:13 20:05:12", light="A", support="rail",
    ),
    Shot(
        name="survey/plot-d-in-hand.jpg",
        tubes=(_ph("Nettle End", 4.7), _phosphorus("Nettle End", 3)),
        seed=190, taken="2025:04:14 08:55:20", light="D75", support="fingers", camera=1,
    ),
    Shot(
        name="survey/plot-e-workshop.jpg",
        tubes=(_phosphorus("Heron Bed", 15), _ph("Heron Bed", 6.8), _ph("Heron Bed", 6.8, "2")),
        seed=168, taken="2025:04:14 10:31:58", light="FL2", support="block", orientation=6,
        size=(1200, 1600), clutter=1,
    ),
    Shot(
        name="survey/plot-f-flat-on-paper.jpg",
        tubes=(_ph("Long Border", 7.7), _phosphorus("Long Border", 34)),
        seed=169, taken="2025:04:14 11:07:40", light="D55", support="sheet", camera=1, p3=True,
    ),
    Shot(
        name="survey/plot-b-without-card.jpg",
        tubes=(_ph("Kettle Patch", 5.2, "2"), _phosphorus("Kettle Patch", 8, "2")),
        seed=161, taken="2025:04:13 18:24:02", light="LED-B4", card="none", fault="no_card",
        clutter=2,
    ),
    Shot(
        name="survey/plot-d-sun-on-card.jpg",
        tubes=(_ph("Nettle End", 4.7, "2"), _phosphorus("Nettle End", 3, "2")),
        seed=156, taken="2025:04:14 08:58:47", light="D55", support="rail", fault="card_clipped",
    ),
    Shot(
        name="survey/plot-e-shaken.jpg",
        tubes=(_phosphorus("Heron Bed", 15, "2"), _ph("Heron Bed", 6.8, "3")),
        seed=152, taken="2025:04:14 10:33:30", light="FL2", fault="motion_blur",
    ),
)  # fmt: skip


# ------------------------------------------------------------------------------------ how they come
def gardener_tube() -> VesselStyle:
    """Return the gardener's tubes: flat-bottomed, of plain glass."""
    style = random_style(np.random.default_rng(VESSEL), "flat")
    return replace(
        style, slender=5.0, wall=0.05, lens=0.8, view=0.06, haze=0.0, glow=0.05, sticker=0.0,
        droplets=0.0, closure="none", closure_size=(1.0, 0.15),
    )  # fmt: skip


def cameras() -> tuple[Device, ...]:
    """Return the two cameras; the second rolls its highlights off a little."""
    made = []
    for number, seed in enumerate(CAMERAS, start=1):
        rng = np.random.default_rng(seed)
        device = random_device(rng, random_camera(rng), general_samples(), f"Camera {number}")
        made.append(
            replace(device, noise=min(device.noise, 0.8), blur=0.7, shoulder=0.25 * (number - 1))
        )
    return tuple(made)


def draw(shot: Shot, device: Device, size: tuple[int, int]) -> DrawnScene:
    """Draw the scene of a photo in linear light."""
    rng = np.random.default_rng(shot.seed)
    owner = np.random.default_rng(OWNER)
    materials = random_materials(rng, random_card(owner, CARD_REFLECTANCE), OWNER)
    solutions = tuple(fill(rng, tube) for tube in shot.tubes)
    lying = shot.support in ("sheet", "fingers")
    ground = "paper" if lying else "wall"
    palette = spectral_palette(
        device.camera, named_lamp(shot.light), materials, solutions, materials(ground, 0)
    )
    plan = ScenePlan(
        tubes=tuple(
            TubePlan(value=t.value, sediment=bool(t.sample) and rng.random() < 0.3)
            for t in shot.tubes
        ),
        support=shot.support,
        backdrop="sheet" if lying else "room",
        ground=ground,
        card=shot.card,
        faults=(shot.fault,) if shot.fault else (),
        tidy=True,
        clutter=shot.clutter,
        style=under_new_light(rng, gardener_tube()),
    )
    return draw_scene(rng, size=size, palette=palette, plan=plan)


def is_whole(scene: DrawnScene) -> bool:
    """Whether card and tubes are all in the picture, and card and clear liquids unhidden."""
    high, wide = scene.labels.shape
    places = [tube.outline for tube in scene.tubes]
    if scene.card is not None:
        places.append(scene.card.whole)
        if share_of_label(scene, scene.card.grey, CARD) < 0.97:
            return False
    inside = all((p >= 0).all() and (p <= (wide, high)).all() for p in places)
    return inside and all(
        tube.clear is not None and share_of_label(scene, tube.clear, LIQUID) > 0.9
        for tube in scene.tubes
    )


def photograph(shot: Shot, device: Device, scene: DrawnScene) -> NDArray[np.uint8]:
    """Return the upright picture (H, W, 3) that the camera makes of a scene, exposed for the room.

    What the sun does to the card does not count for the exposure.
    """
    green = scene.image[..., 1]
    exposure = 0.62 / float(np.percentile(green[scene.labels != CARD][::64], 95))
    blur = "motion_blur" if shot.fault == "motion_blur" else None
    rng = np.random.default_rng((shot.seed, 1))
    device = replace(device, p3=shot.p3)
    return develop(rng, device, scene.image, named_lamp(shot.light), exposure=exposure, fault=blur)


def save(shot: Shot, device: Device, picture: NDArray[np.uint8], path: Path) -> None:
    """Write the picture as the camera does, with its profile, its time and its orientation."""
    quarter_turns = {1: 0, 3: 2, 6: 1, 8: -1}[shot.orientation]
    image = Image.fromarray(np.ascontiguousarray(np.rot90(picture, quarter_turns)))
    exif = Image.Exif()
    exif[272], exif[306], exif[274] = device.name, shot.taken, shot.orientation
    exif.get_ifd(0x8769)[0x9003] = shot.taken
    icc = profile(shot.p3)
    icc = icc[:24] + struct.pack(">6H", 2025, 1, 1, 0, 0, 0) + icc[36:]  # the date in its header
    if path.suffix == ".heic":
        import pillow_heif

        heif = pillow_heif.from_pillow(image)
        heif.save(path, quality=QUALITY, exif=exif.tobytes(), icc_profile=icc)
    else:
        image.save(path, quality=QUALITY, exif=exif, icc_profile=icc, subsampling=2)


# -------------------------------------------------------------------------------------- the sheets
def _corners(quad: FloatArray | None) -> str:
    return "" if quad is None else " ".join(f"{x:.1f},{y:.1f}" for x, y in quad)


def answers(shot: Shot, scene: DrawnScene) -> list[dict[str, str]]:
    """Return the truth about each tube of a photo, from the left."""
    rows = []
    for number, (drawn, tube) in enumerate(zip(scene.tubes, shot.tubes, strict=True), start=1):
        rows.append(
            {
                "photo": shot.name, "tube": str(number), "sample": tube.sample,
                "quantity": tube.quantity, "value": f"{tube.value:g}",
                "unit": UNITS[tube.quantity], "fault": shot.fault or "",
                "card": _corners(None if scene.card is None else scene.card.grey),
                "vessel": _corners(drawn.outline), "liquid": _corners(drawn.clear),
                "light": shot.light, "origin": ORIGIN, "licence": LICENCE,
            }
        )  # fmt: skip
    return rows


def write_sheet(
    path: Path, columns: Sequence[str], rows: Iterable[dict[str, str]], about: Sequence[str] = ()
) -> None:
    """Write a sheet, with `about` in comment lines on top."""
    with path.open("w", newline="", encoding="utf-8") as file:
        file.writelines(f"# {line}\n" for line in about)
        writer = csv.DictWriter(file, columns, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def write_sheets(out: Path, truth: Sequence[dict[str, str]]) -> None:
    """Write the answers, and the sheets of standards and of tubes as the gardener would."""
    write_sheet(out / "answers.csv", ANSWERS, truth, ABOUT_ANSWERS)
    for quantity in UNITS:
        rows = [
            {**row, "photo": Path(row["photo"]).name}
            for row in truth
            if row["photo"].startswith(f"{quantity}/")
        ]
        write_sheet(out / quantity / "standards.csv", ("photo", "tube", "value", "unit"), rows)
    tubes = [
        {
            "photo": shot.name, "tube": str(number), "sample": tube.sample,
            "replicate": tube.replicate, "chart": tube.quantity, "role": "sample",
        }
        for shot in SHOTS
        for number, tube in enumerate(shot.tubes, start=1)
        if tube.sample
    ]  # fmt: skip
    columns = ("photo", "tube", "sample", "replicate", "chart", "role")
    write_sheet(out / "tubes.csv", columns, tubes)


def main() -> None:
    """Write photos and sheets."""
    parser = argparse.ArgumentParser(description=__doc__)
    root = Path(__file__).parents[2]
    parser.add_argument("--out", type=Path, default=root / "sample_images")
    out = parser.parse_args().out
    devices = cameras()
    truth: list[dict[str, str]] = []
    for shot in SHOTS:
        device = devices[shot.camera]
        scene = draw(shot, device, shot.size)
        if not is_whole(scene):
            raise SystemExit(f"{shot.name}: something is cut off or hidden, choose another seed")
        path = out / shot.name
        path.parent.mkdir(parents=True, exist_ok=True)
        save(shot, device, photograph(shot, device, scene), path)
        truth += answers(shot, scene)
        print(f"{shot.name}: {path.stat().st_size / 1000:.0f} kB", flush=True)
    write_sheets(out, truth)


if __name__ == "__main__":
    cv2.setNumThreads(1)
    main()
