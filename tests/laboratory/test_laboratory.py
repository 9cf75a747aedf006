"""The renderer itself: it repeats, its labels and outlines agree, its light obeys the laws."""

import numpy as np
import pytest

from colorcore._cv import cv2
from tests.laboratory.chemistry import Solution
from tests.laboratory.layout import ScenePlan, TubePlan
from tests.laboratory.light import (
    WAVELENGTHS,
    Camera,
    bell,
    camera_rgb,
    daylight,
    fit_matrix,
    lab,
    named_lamp,
    random_camera,
    random_lamp,
)
from tests.laboratory.scene import CARD, LIQUID, DrawnScene, draw_scene, random_palette
from tests.laboratory.spectral import random_card, random_materials, seen_liquid, spectral_palette
from tests.laboratory.truth import general_samples, share_of_label

SIZE = (384, 288)


def scene_of(seed: int, plan: ScenePlan | None = None) -> DrawnScene:
    """Draw a random scene."""
    rng = np.random.default_rng(seed)
    return draw_scene(rng, size=SIZE, palette=random_palette(rng), plan=plan)


def test_the_same_seed_gives_the_same_scene() -> None:
    """Two drawings of one seed agree in every pixel."""
    a, b = scene_of(11), scene_of(11)
    assert np.array_equal(a.image, b.image)
    assert np.array_equal(a.labels, b.labels)


@pytest.mark.parametrize("seed", range(12))
def test_labels_lie_where_the_outlines_say(seed: int) -> None:
    """In a tidy scene the clear liquid and the card are labelled as such inside their outlines."""
    plan = ScenePlan(
        tubes=(TubePlan(sediment=False), TubePlan(sediment=True)), tidy=True, support="stand",
        card="plain", clutter=1,
    )  # fmt: skip
    scene = scene_of(seed, plan)
    assert scene.card is not None
    assert share_of_label(scene, scene.card.grey, CARD) > 0.9
    for tube in scene.tubes:
        assert tube.clear is not None
        assert share_of_label(scene, tube.clear, LIQUID) > 0.75  # stickers may lie on the liquid
        mask = np.zeros(scene.labels.shape, np.uint8)
        cv2.fillConvexPoly(mask, np.rint(tube.outline).astype(np.int32), 1)
        others = [t for t in scene.tubes if t is not tube]
        for other in others:
            cv2.fillConvexPoly(mask, np.rint(other.outline).astype(np.int32), 1)
        mask = cv2.dilate(mask, np.ones((7, 7), np.uint8))
        assert np.count_nonzero((scene.labels == LIQUID) & (mask == 0)) == 0


def test_twice_the_path_is_twice_the_absorbance() -> None:
    """Beer-Lambert holds for a light of one wavelength."""
    narrow = Camera(sensitivity=np.stack([bell(550, 0.1)] * 3, 1))
    solution = Solution(absorbs=0.7 * bell(540, 40), scatters=np.zeros(81), tone=np.ones(81))
    liquid = seen_liquid(solution, narrow, named_lamp("D65"), np.full(81, 0.8))
    once, twice = -np.log(liquid.transmit(np.array([0.5, 1.0], np.float32)))[:, 1]
    assert twice == pytest.approx(2 * once, rel=1e-5)


def test_a_broad_band_absorbs_less_than_twice() -> None:
    """With real sensitivities the second half of the path absorbs less than the first."""
    camera = random_camera(np.random.default_rng(3))
    solution = Solution(absorbs=3.0 * bell(600, 30), scatters=np.zeros(81), tone=np.ones(81))
    liquid = seen_liquid(solution, camera, named_lamp("D65"), np.full(81, 0.8))
    once, twice = -np.log(liquid.transmit(np.array([0.5, 1.0], np.float32)))[:, 0]
    assert once < twice < 2 * once


def test_daylight_agrees_with_the_published_illuminant() -> None:
    """Our daylight at 6504 K is CIE D65 as colour-science carries it."""
    assert np.abs(daylight(6504) - named_lamp("D65").power).max() < 5e-4


@pytest.mark.parametrize("light_class", ["daylight", "tungsten", "fluorescent", "LED"])
def test_a_flat_card_is_neutral_once_balanced(light_class: str) -> None:
    """A grey of flat reflectance balanced on the card has no chroma under any light."""
    rng = np.random.default_rng(5)
    camera, lamp = random_camera(rng), random_lamp(rng, light_class)
    matrix = fit_matrix(camera, lamp, general_samples())
    white = camera_rgb(camera, lamp, np.ones(81))
    grey = camera_rgb(camera, lamp, np.full(81, 0.18)) / white
    lightness, a, b = lab(matrix @ grey)
    assert lightness == pytest.approx(49.5, abs=0.3)  # CIE: Y = 18 is L* = 49.5
    assert np.hypot(a, b) < 0.5


def test_a_card_in_a_scene_is_neutral_too() -> None:
    """All over the card only the brightness of the light changes, not its colour."""
    rng = np.random.default_rng(8)
    camera, lamp = random_camera(rng), random_lamp(rng, "LED")
    materials = random_materials(rng, np.full(WAVELENGTHS.size, 0.18))
    palette = spectral_palette(camera, lamp, materials, (), materials("wall", 0))
    plan = ScenePlan(tubes=(), tidy=True, card="plain", clutter=0)
    scene = draw_scene(rng, size=SIZE, palette=palette, plan=plan)
    own = np.median(scene.image[scene.labels == CARD] / palette.surface("card", 0), axis=0)
    assert own.std() / own.mean() < 1e-3


def test_random_cards_stay_grey() -> None:
    """A card differs from flat by a few per cent at most."""
    for seed in range(20):
        card = random_card(np.random.default_rng(seed), 0.18)
        middle = (WAVELENGTHS > 420) & (WAVELENGTHS < 680)
        assert np.abs(card[middle] / 0.18 - 1).max() < 0.15


@pytest.mark.parametrize("seed", range(4))
def test_empty_glass_holds_no_liquid(seed: int) -> None:
    """Whatever glass, foam and reflections look like, an empty vessel has no label of liquid."""
    tubes = tuple(TubePlan(fault="empty_tube") for _ in range(3))
    scene = scene_of(seed, ScenePlan(tubes=tubes, support="stand", card="none"))
    assert not np.isin(scene.labels, (LIQUID, CARD)).any()
    assert all(tube.clear is None for tube in scene.tubes)


@pytest.mark.parametrize("seed", range(6))
def test_of_a_wedge_of_greys_only_the_card_is_labelled(seed: int) -> None:
    """The light that the label covers is that of the card's own material."""
    rng = np.random.default_rng(seed)
    palette = random_palette(rng)
    plan = ScenePlan(tubes=(), tidy=True, card="wedge", clutter=0)
    scene = draw_scene(rng, size=SIZE, palette=palette, plan=plan)
    seen = scene.image[scene.labels == CARD]
    tint = seen.mean(axis=0) / palette.surface("card", 0)
    assert tint.max() / tint.min() < 1.1
    assert scene.card is not None
    whole = scene.card.whole
    grey = cv2.contourArea(scene.card.grey.astype(np.float32))
    assert 0.15 < grey / cv2.contourArea(whole.astype(np.float32)) < 0.45
