"""Every reason to doubt a photo, a card or a tube, on pictures painted for it.

The parts are painted together with the picture, so that what is tested is the judgement and not
the network that tells parts apart.
"""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from colorcore._cv import cv2
from colorcore.color_profile import SRGB
from colorcore.doubts import contents_reasons
from colorcore.geometry import Quad
from colorcore.grey_card import measure_card
from colorcore.hand_outlines import HandOutlines, HandTube
from colorcore.liquid import Region
from colorcore.parts import CARD, LIQUID, SOLID, STRIDE, VESSEL, Parts
from colorcore.photo import Photo
from colorcore.scene import Scene, judge_scene, measure_tube
from colorcore.sharpness import edge_width
from colorcore.tube import Tube
from colorcore.white_balance import CAMERA_CHANNELS

HEIGHT, WIDTH = 768, 1024
GREY = (0.18, 0.18, 0.18)


@dataclass
class Bench:
    """A painted bench: linear RGB and what stands where."""

    light: np.ndarray = field(default_factory=lambda: np.full((HEIGHT, WIDTH, 3), 0.7))
    label: np.ndarray = field(default_factory=lambda: np.zeros((HEIGHT, WIDTH), np.uint8))
    core: np.ndarray = field(default_factory=lambda: np.zeros((HEIGHT, WIDTH), np.uint8))

    def card(self, rgb: tuple[float, ...] = GREY) -> "Bench":
        """Lay a grey card with a white border on the left."""
        self.light[430:650, 120:420] = 0.85
        self.light[440:640, 130:410] = rgb
        self.label[440:640, 130:410] = CARD
        return self

    def tube(
        self, rgb: tuple[float, ...] | None = (0.45, 0.3, 0.1), x: int = 640, solid: bool = False
    ) -> "Bench":
        """Stand a tube of liquid on the right; None leaves it empty."""
        self.label[180:640, x - 40 : x + 40] = VESSEL
        self.core[180:640, x - 20 : x + 20] = 1
        self.light[180:640, x - 40 : x - 36] *= 0.6
        self.light[180:640, x + 36 : x + 40] *= 0.6
        if rgb is not None:
            self.light[300:630, x - 36 : x + 36] = rgb
            self.label[300:630, x - 36 : x + 36] = LIQUID
        if solid:
            self.light[500:630, x - 36 : x + 36] = (0.08, 0.05, 0.03)
            self.label[500:630, x - 36 : x + 36] = SOLID
        return self

    def look(
        self,
        *,
        blur: float = 0.8,
        exposure: float = 1.0,
        grain: float = 0.002,
        hand: HandOutlines | None = None,
    ) -> tuple[Photo, Scene]:
        """Photograph the bench and judge it."""
        image = cv2.GaussianBlur(self.light * exposure, (0, 0), blur)
        noise = np.random.default_rng(0).normal(0, grain, image.shape)
        image = np.clip(np.asarray(image) + noise, 0, 1)
        codes = np.where(image <= 0.0031308, 12.92 * image, 1.055 * image ** (1 / 2.4) - 0.055)
        photo = Photo(
            pixels=np.ascontiguousarray((255 * codes + 0.5).astype(np.uint8)[..., ::-1]),
            reduction=1,
            width=WIDTH,
            height=HEIGHT,
            profile=SRGB,
            taken_at=None,
            camera=None,
            position=None,
            sha256="0" * 64,
            file_format="PNG",
            name="bench.png",
        )
        cell = 4
        label = self.label[::cell, ::cell]
        small = cv2.resize(photo.pixels, (WIDTH * STRIDE // cell, HEIGHT * STRIDE // cell))
        parts = Parts(
            picture=np.asarray(small, dtype=np.uint8),
            probability=np.stack([(label == k).astype(np.float32) for k in range(5)]),
            core=self.core[::cell, ::cell].astype(np.float32),
            scale=float(cell),
        )
        return photo, judge_scene(photo, parts, hand)


def codes(scene: Scene) -> set[str]:
    """Return every code of a scene with one tube or none."""
    return {r.code for r in (*scene.reasons, *(r for s in scene.tubes for r in s.reasons))}


def test_clean_bench_has_nothing_to_doubt() -> None:
    """Card and tube are where they were painted and the color is that of the liquid."""
    photo, scene = Bench().card().tube().look()
    assert codes(scene) == set()
    assert scene.card is not None
    assert scene.card.box.x == pytest.approx(130, abs=6)
    assert scene.card.box.w == pytest.approx(280, abs=12)
    window = scene.tubes[0].tube.window
    assert window is not None
    assert window.x > 604
    assert window.x + window.w < 676
    assert window.y > 300
    assert window.y + window.h < 630
    assert window.w * window.h > 0.2 * 72 * 330
    measured = measure_tube(photo, scene, scene.tubes[0], (0.18, 0.18, 0.18))
    assert measured is not None
    assert measured.rgb == pytest.approx((0.45, 0.3, 0.1), rel=0.02)
    assert measured.background_rgb == pytest.approx((0.7, 0.7, 0.7), rel=0.02)


def test_exposure_does_not_matter() -> None:
    """A darker photo of the same bench gives the same balanced color."""
    photo, scene = Bench().card().tube().look(exposure=0.6)
    measured = measure_tube(photo, scene, scene.tubes[0], (0.18, 0.18, 0.18))
    assert measured is not None
    assert measured.rgb == pytest.approx((0.45, 0.3, 0.1), rel=0.03)


def test_no_card() -> None:
    """Without a card nothing is balanced."""
    _, scene = Bench().tube().look()
    assert codes(scene) == {"no_card"}


def test_card_clipped() -> None:
    """Gloss that burns out a third of the card."""
    bench = Bench().card().tube()
    bench.light[440:640, 130:230] = 1.2
    assert "card_clipped" in codes(bench.look()[1])


def test_card_dark_and_underexposed() -> None:
    """A photo in which the card is nearly black."""
    found = codes(Bench().card().tube().look(exposure=0.02)[1])
    assert {"card_dark", "underexposed"} <= found


def test_card_shadow() -> None:
    """A hard shadow over half of the card, and over what lies above and below it."""
    bench = Bench().card().tube()
    bench.light[380:700, 280:420] *= 0.55
    assert "card_shadow" in codes(bench.look()[1])


@pytest.mark.parametrize(("left", "right", "light"), [(280, 420, 0.9), (240, 300, 0.7)])
def test_a_faint_shadow_or_a_stripe_of_one_on_the_card(left: int, right: int, light: float) -> None:
    """An edge is not taken back across the card; a stripe is, on every row."""
    bench = Bench().card().tube()
    bench.light[380:700, left:right] *= light
    assert "card_shadow" in codes(bench.look()[1])


def test_print_on_the_card_is_no_shadow() -> None:
    """Words over half of the card's width, on a sixth of its height."""
    bench = Bench().card().tube()
    bench.light[520:556, 210:340] = 0.6
    assert codes(bench.look()[1]) == set()


def test_grain_under_a_yellow_lamp_is_no_shadow() -> None:
    """Where hardly any blue light falls the blue channel is all noise."""
    bench = Bench().card().tube()
    bench.light *= np.array([1.0, 0.8, 0.03])
    assert "card_shadow" not in codes(bench.look(grain=0.02)[1])


def test_card_uneven() -> None:
    """Light that falls off across the card without an edge."""
    bench = Bench().card().tube()
    bench.light[440:640, 130:410] *= np.linspace(1.3, 0.75, 280)[None, :, None]
    assert "card_uneven" in codes(bench.look()[1])


def test_card_in_another_light() -> None:
    """A lamp of another color falls on the card's side of the wall."""
    bench = Bench().card().tube()
    bench.light[:, :512] *= np.array([1.35, 1.0, 0.7])
    assert "card_other_light" in codes(bench.look()[1])


@pytest.mark.parametrize(
    ("tint", "on_card", "code"),
    [(0.02, 0.0, None), (0.08, 0.0, "perhaps_other_light"), (0.08, 0.05, "card_other_light")],
)
def test_a_little_of_another_light_needs_a_second_sign(
    tint: float, on_card: float, code: str | None
) -> None:
    """Two walls of nearly one color look the same; two colors on the card as well do not."""
    bench = Bench().card().tube()
    bench.light[:, 512:] *= np.exp([tint, 0.0, -tint])
    across = np.linspace(-0.5, 0.5, 280)[:, None] * on_card * np.array([1.0, 0.0, -1.0])
    bench.light[440:640, 130:410] *= np.exp(across)
    (tube,) = bench.look()[1].tubes
    assert {reason.code for reason in tube.reasons} == ({code} if code else set())


def test_a_shadow_goes_beyond_what_it_falls_on() -> None:
    """Nothing on card or tube shows that all of it is shaded; the wall above and below does."""
    bench = Bench().card().tube()
    bench.light[:, 590:690] *= 0.65
    assert codes(bench.look()[1]) == {"tube_shadow"}
    bench = Bench().card().tube()
    bench.light[:, 100:440] *= 0.65
    assert "card_shadow" in codes(bench.look()[1])


@pytest.mark.parametrize(("dark", "found"), [(0.6, True), (0.25, False)])
def test_a_shadow_beside_the_card_may_hide_a_part_of_it(dark: float, found: bool) -> None:
    """What is darker than a shadow in a room is a thing of its own."""
    bench = Bench().card().tube()
    bench.light[:, 425:560] *= dark
    bench.light[:, :70] *= dark
    assert ("card_shadow" in codes(bench.look()[1])) == found


def test_paper_behind_a_tube_is_no_shadow() -> None:
    """A darker strip of another color is another material."""
    bench = Bench().tube(None)
    bench.light[:180, 590:690] = (0.45, 0.35, 0.25)
    bench.light[640:, 590:690] = (0.45, 0.35, 0.25)
    bench.card().tube()
    assert "tube_shadow" not in codes(bench.look()[1])


def test_water_or_nothing() -> None:
    """What looks like the background is believed to be liquid only where glass and liquid are."""
    region = Region(
        mean=np.full(3, 0.69),
        covariance=np.eye(3),
        n_pixels=1,
        kept_share=1.0,
        clipped_share=0.0,
        hue_change=0.0,
        light_change=0.0,
        roughness=0.01,
    )
    corners = ((0.0, 0.0), (9.0, 0.0), (9.0, 90.0), (0.0, 90.0))
    doubt, note = {("empty", "doubtful")}, {("perhaps_empty", "note")}
    for sureness, expected in ((0.75, doubt), (0.82, note), (0.97, set())):
        tube = Tube(
            outline_px=corners,
            liquid_px=corners,
            window=None,
            contents="liquid",
            sureness=sureness,
        )
        found = contents_reasons(tube, region, np.full(3, 0.7))
        assert {(r.code, r.weight) for r in found} == expected
        usual = np.log(CAMERA_CHANNELS @ np.full(3, 0.3))  # of the photo, where none is beside it
        found = contents_reasons(tube, region, None, usual=usual)
        assert {(r.code, r.weight) for r in found} == (note if expected else set())
        assert contents_reasons(tube, region, None) == ()
    foot = ((0.0, 70.0), (9.0, 70.0), (9.0, 90.0), (0.0, 90.0))
    for sureness, expected in ((0.97, doubt), (0.99, set())):  # glass over soil looks like a drop
        short = Tube(
            outline_px=corners, liquid_px=foot, window=None, contents="liquid", sureness=sureness
        )
        found = contents_reasons(short, region, np.full(3, 0.7))
        assert {(r.code, r.weight) for r in found} == expected


def test_no_tube_is_found_where_none_stands() -> None:
    """A bench with a card alone."""
    assert Bench().card().look()[1].tubes == ()


def test_empty_tube() -> None:
    """Glass without liquid."""
    assert "empty" in codes(Bench().card().tube(None).look()[1])


def test_a_shadow_on_an_empty_tube_is_no_doubt_of_its_own() -> None:
    """There is nothing in it whose color a shadow could change."""
    bench = Bench().card().tube(None)
    bench.light[:, 590:690] *= 0.65
    assert "tube_shadow" not in codes(bench.look()[1])


def test_dry_soil() -> None:
    """Soil in the tube and nothing above it."""
    assert "dry_soil" in codes(Bench().card().tube(None, solid=True).look()[1])


def test_sediment_is_left_out() -> None:
    """The window ends above the soil that has settled."""
    _, scene = Bench().card().tube(solid=True).look()
    window = scene.tubes[0].tube.window
    assert window is not None
    assert window.y + window.h < 500
    assert codes(scene) == set()


def test_unmixed() -> None:
    """Dye that has not been shaken in: deep below, pale above."""
    bench = Bench().card().tube()
    fade = np.linspace(0, 1, 330)[:, None, None]
    bench.light[300:630, 604:676] = (1 - fade) * np.array([0.6, 0.6, 0.5]) + fade * np.array(
        [0.5, 0.2, 0.05]
    )
    assert "unmixed" in codes(bench.look()[1])


def test_a_region_drawn_by_hand_is_judged_by_itself() -> None:
    """What the user drew need not be a whole liquid; it must be even, and in the light."""
    drawn: Quad = ((610.0, 320.0), (670.0, 320.0), (670.0, 610.0), (610.0, 610.0))
    hand = HandOutlines(tubes=(HandTube(found=1, region=drawn),))
    assert codes(Bench().card().tube().look(hand=hand)[1]) == set()
    bench = Bench().card().tube()
    bench.light[300:630, 604:676] *= np.linspace(1, (1.0, 0.6, 0.5), 330)[:, None, :]
    assert codes(bench.look(hand=hand)[1]) == {"unmixed"}
    bench = Bench().card().tube()
    bench.light[:, 590:690] *= 0.65
    assert "tube_shadow" in codes(bench.look(hand=hand)[1])


def test_unsettled() -> None:
    """A cloud of soil that is still sinking: lumpy, and denser below."""
    bench = Bench().card().tube()
    lumps = np.random.default_rng(4).normal(0, 1, (66, 15)).astype(np.float32)
    lumps = np.asarray(cv2.resize(lumps, (72, 330), interpolation=cv2.INTER_CUBIC))
    density = np.exp(0.14 * lumps - np.linspace(0, 0.30, 330)[:, None])[..., None]
    bench.light[300:630, 604:676] = np.array([0.30, 0.2, 0.11]) * density
    assert "unsettled" in codes(bench.look()[1])


def test_flakes_without_a_trend_are_unsettled() -> None:
    """As light above as below, but speckled all over."""
    bench = Bench().card().tube()
    flakes = np.random.default_rng(3).normal(0, 0.6, (110, 24, 1))
    flakes = cv2.resize(flakes, (72, 330), interpolation=cv2.INTER_CUBIC)[..., None]
    bench.light[300:630, 604:676] *= np.exp(flakes)
    assert "unsettled" in codes(bench.look()[1])


def test_a_burnt_out_liquid_is_doubted_a_highlight_is_not() -> None:
    """Two channels at their highest codes leave one to tell a color by; two left are enough."""
    assert codes(Bench().card().tube((1.2, 1.2, 0.3)).look()[1]) == {"liquid_clipped"}
    assert codes(Bench().card().tube((1.2, 0.5, 0.3)).look()[1]) == set()
    bench = Bench().card().tube()
    bench.light[330:600, 650:658] = 1.5
    assert codes(bench.look()[1]) == set()


def test_blurred() -> None:
    """A shaken photo has wide edges."""
    assert "blurred" in codes(Bench().card().tube().look(blur=9.0)[1])


def test_each_side_of_the_card_tells_of_its_blur() -> None:
    """One sharp side, as of a bar drawn over a blurred photo, does not make the others sharp."""
    photo, _ = Bench().card().tube().look(blur=20.0, grain=0.015)
    pixels = photo.pixels.copy()
    pixels[400:680, 412:480] = 20
    blurred = replace(photo, pixels=pixels)
    card = measure_card(blurred, ((130, 440), (410, 440), (410, 640), (130, 640)))
    assert (edge_width(blurred, card) or 0) > 0.01


def test_a_burnt_out_card_says_nothing_of_blur() -> None:
    """The edges of gloss are soft in a sharp photo, too."""
    bench = Bench().card().tube()
    gloss = np.zeros((HEIGHT, WIDTH))
    gloss[440:640, 130:410] = 1
    bench.light = 0.4 + 2 * cv2.GaussianBlur(gloss, (0, 0), 20.0)[..., None] * np.ones(3)
    found = codes(bench.look()[1])
    assert "card_clipped" in found
    assert "blurred" not in found


def test_a_strong_blur_is_seen_through_grain() -> None:
    """Grain is steeper than what a strong blur leaves of an edge."""
    assert "blurred" in codes(Bench().card().tube().look(blur=20.0, grain=0.015)[1])
    assert "blurred" not in codes(Bench().card().tube().look(grain=0.015)[1])


def test_tubes_are_counted_from_the_left() -> None:
    """Three tubes, one of them empty, keep their places."""
    bench = Bench().card().tube(x=900).tube(None, x=760).tube((0.2, 0.5, 0.2), x=620)
    _, scene = bench.look()
    assert [seen.tube.contents for seen in scene.tubes] == ["liquid", "nothing", "liquid"]
    assert [round(seen.tube.box.center[0], -1) for seen in scene.tubes] == [620, 760, 900]


def test_highlight_is_left_out() -> None:
    """A burnt-out streak on the glass does not move the color."""
    bench = Bench().card().tube()
    bench.light[310:620, 632:640] = 1.5
    photo, scene = bench.look()
    measured = measure_tube(photo, scene, scene.tubes[0], (0.18, 0.18, 0.18))
    assert measured is not None
    assert measured.rgb == pytest.approx((0.45, 0.3, 0.1), rel=0.03)


def test_card_cut_off() -> None:
    """A card that leaves the picture may be anything grey."""
    bench = Bench().tube()
    bench.light[440:640, 0:260] = GREY
    bench.label[440:640, 0:260] = CARD
    assert "card_cut_off" in codes(bench.look()[1])


def test_a_tip_at_the_edge_leaves_the_card_whole() -> None:
    """Only a side at the edge of the picture says that a part of the card is missing."""
    bench = Bench().tube()
    corners = np.array([(2, 500), (170, 380), (290, 548), (122, 668)], np.int32)
    cv2.fillConvexPoly(bench.light, corners, GREY)
    cv2.fillConvexPoly(bench.label, corners, CARD)
    scene = bench.look()[1]
    assert scene.card is not None
    assert "card_cut_off" not in codes(scene)


def test_border_taken_for_card_is_left_out() -> None:
    """An outline that took in the white border is drawn in to the grey area."""
    bench = Bench().card().tube()
    bench.label[430:650, 120:420] = CARD
    bench.light[400:680, 90:450] = 0.85
    bench.light[440:640, 130:410] = GREY
    bench.label[400:680, 90:450] = CARD
    _, scene = bench.look()
    assert scene.card is not None
    assert scene.card.box.x > 110
    assert scene.card.mean_rgb == pytest.approx(GREY, rel=0.02)
    assert codes(scene) == set()
