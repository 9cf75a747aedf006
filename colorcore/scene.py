"""Looks at a whole photo: card, tubes, and what makes either untrustworthy."""

from dataclasses import dataclass

import numpy as np

from colorcore.doubts import contents_reasons, light_reasons, photo_reasons, shadow_reasons
from colorcore.geometry import Quad, box_of
from colorcore.grey_card import CardPatch, find_card, measure_card
from colorcore.hand_outlines import CARD_BY_HAND, HandOutlines, HandTube
from colorcore.illumination import around, backdrop_of, usual_background
from colorcore.liquid import (
    Region,
    average_quad,
    average_region,
    background_beside,
    measure_liquid,
    triple,
)
from colorcore.liquid_state import liquid_state
from colorcore.measurement import Measurement, Triple
from colorcore.parts import Parts, find_parts
from colorcore.photo import Photo
from colorcore.reasons import Reason
from colorcore.tube import Tube, find_tubes


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
    hand : HandOutlines or None
        What the user drew; None where all stands as it was found.
    """

    card: CardPatch | None
    tubes: tuple[SeenTube, ...]
    reasons: tuple[Reason, ...]
    hand: HandOutlines | None = None


def look(photo: Photo, hand: HandOutlines | None = None) -> Scene:
    """Find card and tubes in a photo and say what is doubtful about them.

    What the user drew takes the place of what was found.
    """
    return judge_scene(photo, find_parts(photo), hand)


def judge_scene(photo: Photo, parts: Parts, hand: HandOutlines | None = None) -> Scene:
    """Do what `look` does with the parts of the photo already told apart."""
    nothing = HandOutlines()
    hand = hand or nothing
    card = find_card(photo, parts) if hand.card is None else measure_card(photo, hand.card)
    backdrop = backdrop_of(photo, parts)
    by_card = None if card is None else around(backdrop, card.box)
    usual = usual_background(backdrop)
    tubes = []
    for number, tube, drawn in _placed(find_tubes(photo, parts), hand.tubes):
        if drawn is not None:
            region: Region | None = average_quad(photo, drawn)
        else:
            region = None if tube.window is None else average_region(photo, tube.window)
        beside = background_beside(photo, parts, tube)
        state = None
        if card is not None and drawn is None and tube.liquid_px is not None:
            state = liquid_state(photo, parts, tube.liquid_px, card.mean_rgb)
        reasons = contents_reasons(tube, region, beside, usual, state)
        if card is not None:
            reasons += light_reasons(backdrop, tube, card, by_card)
            if drawn is not None:
                reasons += shadow_reasons(backdrop, tube)
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
    reasons = photo_reasons(photo, card, backdrop)
    return Scene(
        card=card,
        tubes=tuple(tubes),
        reasons=reasons if hand.card is None else (*reasons, CARD_BY_HAND),
        hand=None if hand == nothing else hand,
    )


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
