"""Write campaigns of labelled photos: python -m tests.laboratory.campaign --out FOLDER.

A campaign is one indicator with its chart, one user's camera and card, photos of standards and
photos of unknown tubes, in the layout campaign.json, standards.csv, standards/, photos/,
truth.csv and, with tubes of known value in the frame, in_frame.csv.
"""

import argparse
import csv
import json
import shutil
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from colorcore._cv import cv2
from tests.laboratory.chemistry import (
    Indicator,
    Solution,
    clay,
    random_indicator,
    soil_water,
    strange_solution,
)
from tests.laboratory.device import Device, develop, random_device, save_photo
from tests.laboratory.layout import ScenePlan, TubePlan
from tests.laboratory.light import FloatArray, Lamp, named_lamp, random_camera, random_lamp
from tests.laboratory.scene import CARD, LIQUID, DrawnScene, draw_scene
from tests.laboratory.spectral import random_card, random_materials, spectral_palette
from tests.laboratory.truth import COLUMNS, Judge, general_samples, share_of_label, truth_rows
from tests.laboratory.vessel import VesselStyle, random_style, under_new_light

PHOTO_FAULTS = (
    "card_clipped", "card_shadow", "no_card", "second_lamp", "motion_blur", "defocus",
    "underexposed", "overexposed", "no_tube",
)  # fmt: skip
TUBE_FAULTS = ("tube_shadow", "unmixed", "unsettled", "dry_soil", "empty_tube", "off_chart")
DEVICE_FAULTS = ("motion_blur", "defocus", "underexposed", "overexposed")


class NoRoomError(Exception):
    """What a photo was to show does not fit into it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Campaign:
    """What stays the same over one user's photos."""

    name: str
    indicator: Indicator
    devices: tuple[Device, ...]
    card_level: float
    card: FloatArray
    card_style: str
    style: VesselStyle
    supports: tuple[str, ...]
    soil: bool
    spread: tuple[float, float]  # of dose and of path, as standard deviations of the logarithm
    brown: float  # usual strength of soil water and clay in the unknowns
    clay: float
    known_in_frame: bool
    owner: int  # seed of what belongs to the user: caps, the card's border


def random_campaign(rng: np.random.Generator, name: str) -> Campaign:
    """Return a random campaign."""
    indicator = random_indicator(rng)
    samples = general_samples()
    devices = [
        random_device(rng, random_camera(rng), samples, f"Camera {k + 1}")
        for k in range(2 if rng.random() < 0.15 else 1)
    ]
    level = 0.18 if rng.random() < 0.5 else round(rng.uniform(0.12, 0.22), 2)
    kind = str(
        rng.choice(
            ("round", "flat", "vial", "shell", "cuvette", "bottle"),
            p=(0.4, 0.2, 0.18, 0.1, 0.06, 0.06),
        )
    )
    style = random_style(rng, kind)
    style = replace(
        style,
        lens=float(np.clip(style.lens, -1.2, 1.0)),
        wall=min(style.wall, 0.07),
        glow=0.0 if indicator.dark_ground else min(style.glow, 0.15),
        haze=min(style.haze, 0.03),
        view=min(style.view, 0.15),
        sticker=min(style.sticker, 0.3),
    )
    if kind in ("round",):
        supports = ("rail", "fingers", "block", "sheet", "clamp")
    elif kind == "flat":
        supports = ("stand", "block", "rail", "fingers")
    else:
        supports = ("stand", "stand", "sheet", "block")
    chosen = tuple(str(s) for s in rng.choice(supports, 2))
    soil = not indicator.dark_ground and rng.random() < 0.5
    return Campaign(
        name=name,
        indicator=indicator,
        devices=tuple(devices),
        card_level=level,
        card=random_card(rng, level),
        card_style=str(
            rng.choice(
                ("plain", "white border", "black border", "beside patches", "colored border"),
                p=(0.4, 0.35, 0.08, 0.12, 0.05),
            )
        ),
        style=style,
        supports=chosen,
        soil=soil,
        spread=(rng.uniform(0.01, 0.08), rng.uniform(0.003, 0.02)),
        brown=rng.uniform(0.0, 0.12) if soil else rng.uniform(0, 0.01),
        clay=rng.uniform(0.0, 0.15) if soil else rng.uniform(0, 0.015),
        known_in_frame=rng.random() < 0.4,
        owner=int(rng.integers(2**31)),
    )


def tube_solution(rng: np.random.Generator, campaign: Campaign, tube: TubePlan) -> Solution:
    """Return what fills a tube: its value with the scatter of dose, path, soil water and clay."""
    if tube.fault == "off_chart":
        return strange_solution(rng)
    if tube.value is None:
        return campaign.indicator.solution(campaign.indicator.swatches[0])
    dose, path = np.exp(rng.normal(0, campaign.spread))
    if tube.role != "sample":
        dose = dose**0.5
    made = campaign.indicator.solution(tube.value).thinned(float(dose), float(path))
    if tube.role != "sample":
        return made
    return made.with_more(
        absorbs=soil_water(campaign.brown * rng.exponential(0.7)),
        scatters=clay(campaign.clay * rng.exponential(0.7)),
    )


def _photo_lamps(rng: np.random.Generator, standard: bool, apart: bool) -> tuple[Lamp, Lamp | None]:
    """Return the light of a photo and now and then a second one."""
    weights = (
        (0.85, 0.02, 0.03, 0.02, 0.08, 0.0) if standard else (0.32, 0.11, 0.1, 0.1, 0.34, 0.03)
    )
    classes = ("daylight", "tungsten", "fluorescent", "triphosphor", "LED", "other")
    first = random_lamp(rng, str(rng.choice(classes, p=weights)))
    if not apart and (standard or rng.random() > 0.15):
        return first, None
    second = first
    while _tint_gap(first, second) < (0.25 if apart else 0.0) or second is first:
        second = random_lamp(rng, str(rng.choice(classes)))
    return first, second


def _tint_gap(a: Lamp, b: Lamp) -> float:
    """Return how differently two lights look, as the log of their ratio of red to blue."""

    def ratio(lamp: Lamp) -> float:
        return float(np.log(lamp.power[40:52].sum() / lamp.power[10:22].sum()))

    return abs(ratio(a) - ratio(b))


def draw_photo(
    rng: np.random.Generator, campaign: Campaign, tubes: tuple[TubePlan, ...], fault: str | None,
    standard: bool, size: tuple[int, int],
) -> tuple[DrawnScene, Lamp, Lamp | None, Device]:  # fmt: skip
    """Draw one photo's scene in linear light."""
    dark = campaign.indicator.dark_ground
    support = campaign.supports[int(rng.integers(len(campaign.supports)))]
    lying = support in ("sheet", "fingers", "rail", "clamp") and rng.random() < 0.5
    ground = "dark" if dark else "paper" if lying else "wall"
    plan = ScenePlan(
        tubes=tubes,
        support=support,
        backdrop="sheet" if lying else "room",
        ground=ground,
        card="none" if fault == "no_card" else campaign.card_style,
        faults=(fault,) if fault else (),
        tidy=True,
        clutter=int(rng.choice((0, 1, 2, 3, 4), p=(0.3, 0.25, 0.2, 0.15, 0.1)))
        if not standard
        else int(rng.random() < 0.3),
        style=under_new_light(rng, campaign.style),
    )
    device = campaign.devices[0 if standard else int(rng.integers(len(campaign.devices)))]
    first, second = _photo_lamps(rng, standard, fault == "second_lamp")
    materials = random_materials(rng, campaign.card, campaign.owner)
    solutions = tuple(tube_solution(rng, campaign, t) for t in tubes)
    behind = materials(ground, 0)
    palettes = [
        spectral_palette(device.camera, lamp, materials, solutions, behind)
        for lamp in (first, second)
        if lamp is not None
    ]
    scene = draw_scene(
        rng,
        size=size,
        palette=palettes[0],
        plan=plan,
        second=palettes[1] if second is not None else None,
    )
    return scene, first, second, device


def _shared_light(first: Lamp, second: Lamp | None, share: float, device: Device) -> Lamp:
    """Return the mix of two lights, each scaled as the pictures are (white has green 1)."""
    if second is None:
        return first
    green = device.camera.sensitivity[:, 1]
    power = (
        first.power / (first.power @ green) * (1 - share)
        + second.power / (second.power @ green) * share
    )
    return Lamp(name=first.name, light_class=first.light_class, power=power)


def _whole(scene: DrawnScene) -> bool:
    """Whether all that was planned is in the picture and nothing lies over card and liquids."""
    high, wide = scene.labels.shape
    places = [t.outline for t in scene.tubes] + ([scene.card.whole] if scene.card else [])
    if any(p.min() < 0 or p[:, 0].max() > wide or p[:, 1].max() > high for p in places):
        return False
    if scene.card is None:
        return scene.plan.card == "none"
    if share_of_label(scene, scene.card.grey, CARD) < 0.97:
        return False
    for tube in scene.tubes:
        if tube.clear is None:
            if tube.plan.fault not in ("dry_soil", "empty_tube"):
                return False
        elif share_of_label(scene, tube.clear, LIQUID) < 0.85:
            return False
    return True


def metered_exposure(rng: np.random.Generator, scene: DrawnScene) -> float:
    """Return how a camera exposes a scene: a burnt-out card is one that it did not expose for."""
    metered = scene.image[..., 1][scene.labels != CARD][::97]
    return float(np.exp(rng.normal(-0.35, 0.22))) / float(np.percentile(metered, 97)) * 0.9


def write_photo(
    rng: np.random.Generator, campaign: Campaign, folder: Path, stem: str,
    tubes: tuple[TubePlan, ...], fault: str | None, standard: bool,
) -> list[dict[str, str]]:  # fmt: skip
    """Draw, develop and save one photo and return its rows of truth."""
    long = int(rng.choice((1280, 1600, 2016), p=(0.2, 0.2, 0.6)))
    size = (long, long * 3 // 4) if rng.random() < 0.5 else (long * 3 // 4, long)
    for _ in range(60):
        seed = rng.integers(2**62)
        draft = (size[0] // 4, size[1] // 4)
        if not _whole(
            draw_photo(np.random.default_rng(seed), campaign, tubes, fault, standard, draft)[0]
        ):
            continue
        scene, first, second, device = draw_photo(
            np.random.default_rng(seed), campaign, tubes, fault, standard, size
        )
        if _whole(scene):
            break
    else:
        raise NoRoomError(f"no room for {len(tubes)} tubes and the card")
    judge = Judge(camera=device.camera, matrix=device.day_matrix, level=campaign.card_level)
    at_card, at_tubes = scene.second_shares or (0.0, 0.0)
    seen = _shared_light(first, second, at_card, device)
    linear, zoom = scene.image, 1.0
    if rng.random() < 0.05 and long == 2016:
        linear, zoom = (
            np.asarray(cv2.resize(linear, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR)),
            2.0,
        )
    exposure = min(metered_exposure(rng, scene), 1.6)
    picture = develop(
        rng,
        device,
        linear,
        seen,
        exposure=exposure,
        fault=fault if fault in DEVICE_FAULTS else None,
    )
    month, day, hour = rng.integers(3, 10), rng.integers(1, 28), rng.integers(8, 18)
    taken = f"2025:{month:02d}:{day:02d} {hour:02d}:{rng.integers(60):02d}:{rng.integers(60):02d}"
    name = save_photo(rng, device, picture, folder, stem, taken, large=zoom > 1)
    if name.endswith("png"):
        zoom *= 0.5
    lights = dict(first=first, second=second, share=max(at_card, at_tubes), seen=seen)
    return truth_rows(judge, scene, f"{folder.name}/{name}", fault, standard, zoom, **lights)


def _standard_photos(rng: np.random.Generator, campaign: Campaign) -> list[tuple[TubePlan, ...]]:
    """Return three tubes of every swatch, dealt out over 10 to 14 photos."""
    values = rng.permutation(np.repeat(campaign.indicator.swatches, 3))
    photos = int(np.clip(rng.integers(10, 15), -(-values.size // 4), values.size))
    cuts = np.sort(rng.choice(np.arange(1, values.size), photos - 1, replace=False))
    groups = np.split(values, cuts)
    groups = [part for g in groups for part in np.split(g, range(4, g.size, 4))]
    return [
        tuple(TubePlan(value=float(v), role="standard", sediment=False) for v in g) for g in groups
    ]


def unknown_photo(
    rng: np.random.Generator, campaign: Campaign, fault_share: float
) -> tuple[tuple[TubePlan, ...], str | None]:
    """Return the tubes of one unknown photo and the photo's fault."""
    swatches = np.asarray(campaign.indicator.swatches)
    count = int(rng.choice((1, 2, 3, 4), p=(0.45, 0.3, 0.15, 0.1)))
    if campaign.known_in_frame:
        count = min(count, 3)
    fault, tube_fault = None, None
    if rng.random() < fault_share:
        possible = [f for f in (*PHOTO_FAULTS, *TUBE_FAULTS) if campaign.soil or f != "dry_soil"]
        pick = str(rng.choice(possible))
        fault, tube_fault = (pick, None) if pick in PHOTO_FAULTS else (None, pick)
    if fault == "no_tube":
        return (), fault
    tubes = []
    for k in range(count):
        place = rng.uniform(0, swatches.size - 1)
        value = round(float(np.interp(place, np.arange(swatches.size), swatches)), 2)
        own = tube_fault if k == 0 else None
        tubes.append(
            TubePlan(value=value, fault=own, sediment=campaign.soil and rng.random() < 0.9)
        )
    if campaign.known_in_frame:
        n = int(rng.choice((2, 3)))
        grid = np.linspace(0, swatches.size - 1, n)
        for place in grid:
            near = int(np.clip(round(place + rng.normal(0, 0.5)), 0, swatches.size - 1))
            tubes.append(TubePlan(value=float(swatches[near]), role="in_frame", sediment=False))
    return tuple(tubes[i] for i in rng.permutation(len(tubes))), fault


def write_campaign(
    rng: np.random.Generator, out: Path, name: str, photos: int, fault_share: float
) -> None:
    """Write one campaign folder."""
    campaign = random_campaign(rng, name)
    root = out / name
    for sub in ("standards", "photos"):
        (root / sub).mkdir(parents=True, exist_ok=True)
    rows: list[dict[str, str]] = []
    for k, tubes in enumerate(_standard_photos(rng, campaign)):
        rows += write_photo(rng, campaign, root / "standards", f"s{k + 1:03d}", tubes, None, True)
    for k in range(photos):
        tubes, fault = unknown_photo(rng, campaign, fault_share)
        rows += write_photo(rng, campaign, root / "photos", f"p{k + 1:03d}", tubes, fault, False)
    unit = campaign.indicator.unit
    _write_csv(root / "truth.csv", COLUMNS, rows)
    for file, role in (("standards.csv", "standard"), ("in_frame.csv", "in_frame")):
        found = [dict(r, unit=unit) for r in rows if r["role"] == role]
        if found:
            _write_csv(root / file, ("photo", "tube", "value", "unit"), found)
    about = {
        "name": name,
        "quantity": campaign.indicator.quantity,
        "unit": unit,
        "card_reflectance": campaign.card_level,
        "swatches": list(campaign.indicator.swatches),
        "soil": campaign.soil,
        "indicator": campaign.indicator.name,
    }
    (root / "campaign.json").write_text(json.dumps(about, indent=1), encoding="utf-8")


def _write_csv(path: Path, columns: tuple[str, ...], rows: list[dict[str, str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)


def main() -> None:
    """Write the campaigns."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--campaigns", type=int, default=6)
    parser.add_argument("--first", type=int, default=0, help="number of the first campaign")
    parser.add_argument("--photos", type=int, default=30, help="photos of unknowns in each")
    parser.add_argument("--faults", type=float, default=0.13, help="share of photos with a fault")
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args()
    named_lamp("D65")
    for k in range(given.first, given.first + given.campaigns):
        start = time.perf_counter()
        name = f"c{given.seed}_{k:03d}"
        try:
            rng = np.random.default_rng((given.seed, k))
            write_campaign(rng, given.out, name, given.photos, given.faults)
        except NoRoomError as problem:  # the next user has smaller tubes
            shutil.rmtree(given.out / name)
            print(f"{name}: left out, {problem}", flush=True)
            continue
        print(f"{name}: {time.perf_counter() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
