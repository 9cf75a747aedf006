"""Looks at a whole photo: card, tubes, and what makes either untrustworthy."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore.geometry import Quad, box_of
from colorcore.grey_card import CardPatch, find_card, measure_card, sample
from colorcore.hand_outlines import HandOutlines, HandTube
from colorcore.illumination import LightGap, backdrop_of, light_gap
from colorcore.liquid import (
    Region,
    average_quad,
    average_region,
    background_beside,
    measure_liquid,
    triple,
)
from colorcore.measurement import Measurement, Triple
from colorcore.parts import Parts, find_parts
from colorcore.photo import Photo
from colorcore.reasons import Reason
from colorcore.tube import Tube, find_tubes

FloatArray = NDArray[np.float64]

BLURRED = 0.0055  # width of the card's edges as a share of the photo's long side
OTHER_TINT = 0.10  # log ratio of channels between the backgrounds of card and tube
SHADED = 0.30  # log ratio of their light
MIXED = 4.0  # CIELAB units from the upper to the lower third
CLOUDY = (2.4, 0.06)  # the same, and spread of single pixels (natural log), both together
DIM = 0.15  # code of the card as a share of the highest from which on the photo is underexposed


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenTube:
    """One tube with what is doubtful about it and the background beside it.

    `found` is its place among the tubes that were found without help, from 1.
    """

    tube: Tube
    region: Region | None
    background: tuple[float, float, float] | None
    reasons: tuple[Reason, ...]
    found: int | None = None
    by_hand: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What was found in a photo.

    Parameters
    ----------
    card : CardPatch or None
        The grey card.
    tubes : tuple of SeenTube
        The vessels, from the left.
    reasons : tuple of Reason
        What is doubtful about the photo as a whole.
    """

    card: CardPatch | None
    tubes: tuple[SeenTube, ...]
    reasons: tuple[Reason, ...]


def edge_width(photo: Photo, card: CardPatch) -> float | None:
    """Width of the card's blurriest edge, as a share of the photo's long side.

    Along each side of the card, brightness is followed across the edge; the width is the distance
    in which it goes from 20 to 80 % of its largest change. None where no edge is clear.
    """
    long_side = max(photo.width, photo.height)
    reach = 0.03 * long_side
    offsets = np.linspace(-reach, reach, 121)
    corners = np.array(card.outline_px)
    middle = corners.mean(axis=0)
    widths = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        along = b - a
        length = float(np.hypot(*along))
        if length < 4:
            continue
        normal = np.array([along[1], -along[0]]) / length
        if normal @ (a - middle) < 0:
            normal = -normal
        starts = a + np.linspace(0.2, 0.8, 11)[:, None] * along
        places = starts[:, None, :] + offsets[None, :, None] * normal
        inside = (places >= 0) & (places < (photo.width, photo.height))
        rows = inside.all(axis=(1, 2))
        if rows.sum() < 4:
            continue
        rgb = sample(photo, places[rows])
        light = np.cbrt(np.maximum(rgb.mean(axis=2), 0))
        found = [_rise(profile) for profile in light]
        clear = [width for width in found if width is not None]
        if len(clear) >= 4:
            widths.append(float(np.median(clear)) * float(offsets[1] - offsets[0]) / long_side)
    return max(widths) if widths else None


def _rise(profile: NDArray[np.float32]) -> float | None:
    """Return the samples between 20 and 80 % of the largest step, None where there is none."""
    smooth = np.convolve(profile, np.ones(3) / 3, mode="valid")
    steep = np.abs(np.diff(smooth))
    at = int(np.argmax(steep))
    if steep[at] < 0.004:
        return None
    sign = np.sign(smooth[at + 1] - smooth[at])
    low = at
    while low > 0 and sign * (smooth[low] - smooth[low - 1]) > 0.08 * steep[at]:
        low -= 1
    high = at + 1
    while high < len(smooth) - 1 and sign * (smooth[high + 1] - smooth[high]) > 0.08 * steep[at]:
        high += 1
    height = abs(float(smooth[high] - smooth[low]))
    if height < 0.03:
        return None
    share = np.abs(smooth[low : high + 1] - smooth[low]) / height
    return float(
        np.interp(0.8, share, np.arange(len(share))) - np.interp(0.2, share, np.arange(len(share)))
    )


def _photo_reasons(photo: Photo, card: CardPatch | None) -> tuple[Reason, ...]:
    if card is None:
        return (
            Reason(
                code="no_card",
                text="No grey card was found.",
                what_to_do="Lay the grey card flat beside the tubes, all of it in the picture.",
                weight="refused",
            ),
        )
    reasons = list(card.reasons)
    if card.level < DIM:
        reasons.append(
            Reason(
                code="underexposed",
                text=f"The photo is too dark: the card has {100 * card.level:.0f} % of full code.",
                what_to_do="Take the photo in more light, or expose longer.",
                weight="refused",
            )
        )
    width = edge_width(photo, card)
    if width is not None and width > BLURRED:
        reasons.append(
            Reason(
                code="blurred",
                text="The photo is blurred: edges are "
                f"{width * max(photo.width, photo.height):.0f} pixels wide.",
                what_to_do="Rest the phone on something, wait for the focus, photograph again.",
                weight="refused",
            )
        )
    return tuple(reasons)


def _tube_reasons(tube: Tube, region: Region | None) -> tuple[Reason, ...]:
    if tube.contents == "solid":
        return (
            Reason(
                code="dry_soil",
                text="The tube holds soil but no clear liquid.",
                what_to_do="Add water, shake, let it settle and draw the clear liquid.",
                weight="refused",
            ),
        )
    if tube.contents == "nothing" or region is None:
        return (
            Reason(
                code="empty",
                text="No liquid was found in the tube.",
                what_to_do="Fill the tube to the mark; read the liquid against a light background.",
                weight="refused",
            ),
        )
    reasons = []
    if region.trend > MIXED:
        reasons.append(
            Reason(
                code="unmixed",
                text=f"The color changes from top to bottom ({region.trend:.0f} CIELAB units).",
                what_to_do="Stopper the tube, turn it over until the color is even, read again.",
                weight="doubtful",
            )
        )
    elif region.trend > CLOUDY[0] and region.roughness > CLOUDY[1]:
        reasons.append(
            Reason(
                code="unsettled",
                text="The liquid is cloudy: it is uneven and grows denser downwards.",
                what_to_do="Let it settle until it is clear, or filter it, and read again.",
                weight="doubtful",
            )
        )
    return tuple(reasons)


def _light_reasons(gap: LightGap) -> tuple[Reason, ...]:
    """Say whether tube and card stand in one light."""
    if gap.tint is not None and gap.tint > OTHER_TINT:
        return (
            Reason(
                code="card_other_light",
                text=f"Card and tube stand in different light ({100 * gap.tint:.0f} % in color).",
                what_to_do="Put the card right beside the tube, under the same lamp.",
                weight="doubtful",
            ),
        )
    if gap.level is not None and abs(gap.level) > SHADED:
        darker = "tube" if gap.level < 0 else "card"
        return (
            Reason(
                code="tube_shadow" if gap.level < 0 else "card_other_light",
                text=f"The {darker} stands in shadow "
                f"({100 * (1 - np.exp(-abs(gap.level))):.0f} % darker than the other).",
                what_to_do="Move hand, phone and rack so that no shadow falls on tube or card.",
                weight="doubtful",
            ),
        )
    return ()


def look(photo: Photo, hand: HandOutlines | None = None) -> Scene:
    """Find card and tubes in a photo and say what is doubtful about them.

    What the user drew takes the place of what was found.
    """
    return judge_scene(photo, find_parts(photo), hand)


def judge_scene(photo: Photo, parts: Parts, hand: HandOutlines | None = None) -> Scene:
    """Do what `look` does with the parts of the photo already told apart."""
    hand = hand or HandOutlines()
    card = find_card(photo, parts) if hand.card is None else measure_card(photo, hand.card)
    backdrop = backdrop_of(photo, parts)
    tubes = []
    for number, tube, drawn in _placed(find_tubes(photo, parts), hand.tubes):
        if drawn is not None:
            region: Region | None = average_quad(photo, drawn)
        else:
            region = None if tube.window is None else average_region(photo, tube.window)
        reasons = _tube_reasons(tube, region)
        if card is not None and tube.window is not None:
            reasons += _light_reasons(light_gap(backdrop, tube.window, card.box))
        beside = background_beside(photo, parts, tube)
        background = None if beside is None else triple(beside)
        tubes.append(
            SeenTube(
                tube=tube,
                region=region,
                background=background,
                reasons=reasons,
                found=number,
                by_hand=drawn is not None,
            )
        )
    return Scene(card=card, tubes=tuple(tubes), reasons=_photo_reasons(photo, card))


def _placed(
    found: tuple[Tube, ...], placed: tuple[HandTube, ...] | None
) -> list[tuple[int | None, Tube, Quad | None]]:
    """Return the tubes that count, from the left, each with its region where that was drawn."""
    if placed is None:
        return [(number, tube, None) for number, tube in enumerate(found, start=1)]
    tubes: list[tuple[int | None, Tube, Quad | None]] = []
    for place in placed:
        tube = None
        if place.found is not None and place.found <= len(found):
            tube = found[place.found - 1]
        if place.region is not None:
            tubes.append((place.found, _drawn(tube, place.region), place.region))
        elif tube is not None:
            tubes.append((place.found, tube, None))
    return sorted(tubes, key=lambda item: item[1].box.center[0])


def _drawn(tube: Tube | None, region: Quad) -> Tube:
    """Return a tube that is read where the user drew; its glass where none was found."""
    outline = region if tube is None else tube.outline_px
    return Tube(
        outline_px=outline,
        liquid_px=region,
        window=box_of(region),
        contents="liquid",
        sureness=1.0,
    )


def measure_tube(
    photo: Photo, scene: Scene, seen: SeenTube, reflectance: Triple
) -> Measurement | None:
    """Measure the liquid of one tube; None where there is no card or no liquid."""
    if scene.card is None or seen.tube.window is None or seen.region is None:
        return None
    return measure_liquid(
        photo,
        seen.tube.window,
        seen.region,
        scene.card,
        reflectance,
        background=None if seen.background is None else np.array(seen.background),
        outline="by_hand" if seen.by_hand else "found",
        reasons=(*scene.reasons, *seen.reasons),
    )
