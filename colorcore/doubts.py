"""What speaks against a photo, a card or a tube, put in words.

Each limit was chosen on drawn photos with and without the fault, so that the two that it weighs
against each other, faults let through and good photos doubted, are few (DEVELOPERS.md has the
numbers). Where one sign is weak, two are asked for.
"""

import numpy as np
from numpy.typing import NDArray

from colorcore.grey_card import CardPatch
from colorcore.illumination import Backdrop, around, light_gap, shade, shade_beside
from colorcore.liquid import Region
from colorcore.liquid_state import LiquidState
from colorcore.photo import Photo
from colorcore.reasons import PERHAPS_EMPTY, PERHAPS_OTHER_LIGHT, Reason
from colorcore.sharpness import edge_width
from colorcore.tube import Tube
from colorcore.white_balance import CAMERA_CHANNELS

FloatArray = NDArray[np.float64]

BLURRED = 0.0053  # width of the card's edges as a share of the photo's long side
OTHER_TINT = (0.15, 0.04)  # log ratio of channels, backgrounds of card and tube: alone, and with
MIXED_TINT = 0.03  # the same from end to end of the card, where two lights meet
SHADED = 0.20  # natural log of the light that a shadow takes from a tube or a card
SHADOW_BESIDE = 0.30  # the same of the ground right beside the card, above and below
UNEVEN_HUE = (0.04, 0.025)  # log ratio of channels along a liquid: alone, and with uneven light
UNEVEN_LIGHT = 0.10  # natural log of light along a liquid
SPECKLED = (0.17, 0.10)  # spread of single pixels, natural log: alone, and with uneven light
CLOUDY = 0.12  # the same from which on an uneven liquid looks cloudy rather than unmixed
DENSER = (0.25, 1.0)  # change of the depth of color that mixing would even out: usual, certain
TROUBLED = 0.36  # probability from which a liquid is doubted
COLORLESS = (0.02, 0.1)  # log ratio of channels, and natural log of light, against the background
HARDLY_LIQUID = 0.80  # sureness below which a colorless liquid may be an empty tube
UNSURE = 0.70  # the same where only the light differs from the background
CLAIMED = 0.85  # the same from which a liquid is claimed where nobody said that there is one
NEARLY_COLORLESS = 0.06  # log ratio of channels against the background, in both cases
SHORT = 0.25  # of its vessel's height: a colorless liquid that is shorter may be glass over soil,
SHORT_LIGHT = 0.4  # where its light differs from the background by less, natural log,
SHORT_SURE = 0.98  # and the finder is not surer
BURNT = (0.9, 0.97)  # of a liquid's pixels, and the light that two of its channels reach, 1 = white
DIM = 0.20  # code of the card as a share of the highest from which on the photo is underexposed


def photo_reasons(photo: Photo, card: CardPatch | None, backdrop: Backdrop) -> tuple[Reason, ...]:
    """Say what speaks against a photo as a whole."""
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
    if all(reason.code != "card_shadow" for reason in reasons):
        reasons += _shade_of_card(backdrop, card)
    if card.level < DIM:
        reasons.append(
            Reason(
                code="underexposed",
                text=f"The photo is too dark: the card has {100 * card.level:.0f} % of full code.",
                what_to_do="Take the photo in more light, or expose longer.",
                weight="refused",
            )
        )
    burnt_out = any(reason.code == "card_clipped" for reason in reasons)
    width = None if burnt_out else edge_width(photo, card)  # gloss has no edges of its own
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


def contents_reasons(
    tube: Tube,
    region: Region | None,
    background: FloatArray | None,
    usual: FloatArray | None = None,
    state: LiquidState | None = None,
) -> tuple[Reason, ...]:
    """Say what speaks against the contents of a tube.

    `background` is the linear RGB of what is beside it, `usual` the log channels of all background
    in the photo, which stand in for a note where nothing is to be seen beside the tube, `state`
    what the liquid looks like; each may be unknown. Without a state, as for a region that was drawn
    by hand, the region itself tells whether it is even.
    """
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
    depth = None if background is None else _depth(region.mean, background)
    if depth is not None and _may_be_empty(tube, depth):
        return (
            Reason(
                code="empty",
                text="The tube may be empty: what is in it has no color of its own.",
                what_to_do="If it holds a colorless liquid, photograph it nearer and sharper.",
                weight="doubtful",
            ),
        )
    if region.clipped_share > BURNT[0] and np.sort(region.mean)[1] > BURNT[1]:
        return (
            Reason(
                code="liquid_clipped",
                text=f"The liquid is burnt out ({100 * region.clipped_share:.0f} % of it).",
                what_to_do="Expose less, or turn the tube out of the glare, and photograph again.",
                weight="doubtful",
            ),
        )
    uneven = _evenness_reasons(region, depth) if state is None else _state_reasons(state, region)
    if depth is None and usual is not None:
        depth = _log_channels(region.mean) - usual
    return uneven + _perhaps_glass(tube.sureness, depth)


def _perhaps_glass(sureness: float, depth: FloatArray | None) -> tuple[Reason, ...]:
    """Note that a colorless liquid is not sure enough to be claimed."""
    if depth is None or sureness >= CLAIMED or _tint(depth) >= NEARLY_COLORLESS:
        return ()
    return (
        Reason(
            code=PERHAPS_EMPTY,
            text="What is in the tube has hardly a color of its own: it may be empty glass.",
            what_to_do="Nothing, if there is liquid in the tube.",
            weight="note",
        ),
    )


def _state_reasons(state: LiquidState, region: Region) -> tuple[Reason, ...]:
    """Doubt a liquid that does not look sound, or has specks too fine for the small picture."""
    if state.trouble < TROUBLED:
        return (_unsettled(),) if region.roughness > SPECKLED[0] else ()
    if state.likeliest == "unmixed":
        return (_unmixed("The color does not look the same all over the liquid."),)
    if state.likeliest == "unsettled":
        return (_unsettled(),)
    return (_in_shadow("tube_shadow", "The tube looks as if it stood in a shadow."),)


def _log_channels(rgb: FloatArray) -> FloatArray:
    """Natural log of the camera channels of linear RGB, shape (3,)."""
    return np.asarray(np.log(np.maximum(CAMERA_CHANNELS @ rgb, 1e-4)))


def _depth(liquid: FloatArray, background: FloatArray) -> FloatArray:
    """Natural log of the camera channels of a liquid over its background, shape (3,)."""
    return _log_channels(liquid) - _log_channels(background)


def _tint(depth: FloatArray) -> float:
    return float(np.abs(depth[::2] - depth[1]).max())


def _may_be_empty(tube: Tube, depth: FloatArray) -> bool:
    """Whether what was found may be glass: it looks like the background, or only its light differs.

    Reflections and shadows in empty glass change the light, hardly its color; then the finder
    itself must be unsure. Of what is as short as the glass between a label and dry soil it must be
    all but certain.
    """
    tint, light = _tint(depth), abs(float(depth.mean()))
    hardly = tube.sureness < HARDLY_LIQUID and tint < COLORLESS[0] and light < COLORLESS[1]
    short = tube.sureness < SHORT_SURE and light < SHORT_LIGHT and _filled(tube) < SHORT
    return hardly or (tint < NEARLY_COLORLESS and (tube.sureness < UNSURE or short))


def _filled(tube: Tube) -> float:
    """Share of a vessel's height that its clear liquid takes; 1 where that is unknown."""
    if tube.liquid_px is None:
        return 1.0
    liquid, glass = (
        float(np.linalg.norm(np.add(*outline[:2]) - np.add(*outline[2:])))
        for outline in (np.array(tube.liquid_px), np.array(tube.outline_px))
    )
    return liquid / glass


def _evenness_reasons(region: Region, depth: FloatArray | None) -> tuple[Reason, ...]:
    """Say whether a liquid is one from top to bottom: by its color, or by two other signs.

    What mixing would even out changes the depth of one color; a cloud makes single pixels differ.
    """
    hue, light = region.hue_change, abs(region.light_change)
    alone, together = UNEVEN_HUE
    rough_alone, rough_together = SPECKLED
    uneven = (
        hue > alone
        or region.roughness > rough_alone
        or (light > UNEVEN_LIGHT and (hue > together or region.roughness > rough_together))
    )
    if not uneven:
        return ()
    denser = 0.0 if depth is None else hue / max(_tint(depth), 0.05)
    if denser > DENSER[1] or (denser > DENSER[0] and region.roughness < CLOUDY):
        return (_unmixed(f"The color changes by {100 * hue:.0f} % from top to bottom."),)
    return (_unsettled(),)


def _unmixed(text: str) -> Reason:
    return Reason(
        code="unmixed",
        text=text,
        what_to_do="Stopper the tube, turn it over until the color is even, read again.",
        weight="doubtful",
    )


def _unsettled() -> Reason:
    return Reason(
        code="unsettled",
        text="The liquid looks cloudy, or not yet settled.",
        what_to_do="Let it settle until it is clear, or filter it, and read again.",
        weight="doubtful",
    )


def light_reasons(
    backdrop: Backdrop, tube: Tube, card: CardPatch, by_card: NDArray[np.float32] | None
) -> tuple[Reason, ...]:
    """Say whether tube and card stand in one light; `by_card` is the background round the card."""
    if tube.window is None or tube.liquid_px is None:
        return ()
    gap = light_gap(around(backdrop, tube.window), by_card)
    alone, together = OTHER_TINT
    if gap is not None and gap > together:
        percent = f"{100 * gap:.0f} % in color"
        if gap > alone or card.tint_change > MIXED_TINT:
            return (
                Reason(
                    code="card_other_light",
                    text=f"Card and tube stand in different light ({percent}).",
                    what_to_do="Put the card right beside the tube, under the same lamp.",
                    weight="doubtful",
                ),
            )
        return (
            Reason(
                code=PERHAPS_OTHER_LIGHT,
                text=f"Card and tube may stand in different light ({percent}).",
                what_to_do="Nothing, if a single lamp lights both: the background may have two "
                "colors.",
                weight="note",
            ),
        )
    return ()


def shadow_reasons(backdrop: Backdrop, tube: Tube) -> tuple[Reason, ...]:
    """Say whether a shadow falls on a tube whose region was drawn by hand."""
    shaded = shade(backdrop, tube.outline_px)
    if shaded is None or shaded >= -SHADED:
        return ()
    return (_shadow("tube_shadow", "The tube", "what is beside it", shaded),)


def _shade_of_card(backdrop: Backdrop, card: CardPatch) -> tuple[Reason, ...]:
    """Say whether the whole card lies in a shadow, which has then no edge on it.

    Or whether a shadow passes right beside what was taken for the card: a dark stripe of a card
    looks like another thing.
    """
    shaded = shade(backdrop, card.outline_px)
    if shaded is not None and shaded < -SHADED:
        return (_shadow("card_shadow", "The grey card", "what is beside it", shaded),)
    beside = shade_beside(backdrop, card.outline_px)
    if beside > SHADOW_BESIDE:
        return (_shadow("card_shadow", "Part of the grey card, perhaps,", "the rest", beside),)
    return ()


def _shadow(code: str, what: str, other: str, log_change: float) -> Reason:
    percent = 100 * (1 - np.exp(-abs(log_change)))
    return _in_shadow(code, f"{what} stands in shadow ({percent:.0f} % darker than {other}).")


def _in_shadow(code: str, text: str) -> Reason:
    return Reason(
        code=code,
        text=text,
        what_to_do="Move hand, phone and rack so that no shadow falls on tube or card.",
        weight="doubtful",
    )
