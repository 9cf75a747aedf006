"""Find what is in a photo, and measure regions that the user marked."""

from collections.abc import Sequence
from pathlib import Path

from app.errors import OrderError
from calibration.sheets import Region
from colorcore.color_spaces import lab_under, rgb_to_lab
from colorcore.geometry import Box, Quad, box_of
from colorcore.grey_card import measure_card
from colorcore.liquid import average_quad
from colorcore.measurement import Triple
from colorcore.photo import Photo, read_photo
from colorcore.reasons import PERHAPS_EMPTY, Reason, worst
from colorcore.scene import SeenTube, look
from colorcore.white_balance import PICTURE_CONTRAST, balance, balance_gains, scene_light

FINISHED = ("JPEG", "HEIC")  # kinds in which cameras write pictures made for looking at


def _numbers(box: Box | None) -> list[float] | None:
    return None if box is None else [round(float(v), 1) for v in box]


def _corners(quad: Quad | None) -> list[list[float]] | None:
    return None if quad is None else [[round(x, 1), round(y, 1)] for x, y in quad]


def find_things(path: Path) -> dict[str, object]:
    """Boxes and outlines of card, tubes and liquid in a photo, pixels of the upright picture.

    `liquid` is the whole column of liquid, `box` the part of it that would be read. `contents` is
    "unsure", and no liquid is claimed, where what may be one may as well be empty glass.
    """
    photo = read_photo(path)
    scene = look(photo)
    return {
        "width": photo.width,
        "height": photo.height,
        "card": None if scene.card is None else _numbers(scene.card.box),
        "card_outline": None if scene.card is None else _corners(scene.card.outline_px),
        "tubes": [_tube(number, seen) for number, seen in enumerate(scene.tubes, start=1)],
        "reasons": _reasons(scene.reasons),
    }


def _tube(number: int, seen: SeenTube) -> dict[str, object]:
    tube = seen.tube
    unsure = tube.contents == "liquid" and any(
        r.code in ("empty", PERHAPS_EMPTY) for r in seen.reasons
    )
    liquid = None if unsure else tube.liquid_px
    return {
        "tube": number,
        "box": None if unsure else _numbers(tube.window),
        "vessel": _numbers(tube.box),
        "vessel_outline": _corners(tube.outline_px),
        "liquid": None if liquid is None else _numbers(box_of(liquid)),
        "liquid_outline": _corners(liquid),
        "contents": "unsure" if unsure else tube.contents,
        "sureness": round(tube.sureness, 3),
        "reasons": _reasons(seen.reasons),
    }


def _reasons(reasons: Sequence[Reason]) -> list[dict[str, str]]:
    return [{"code": r.code, "text": r.text, "what_to_do": r.what_to_do} for r in reasons]


def _inside(photo: Photo, box: Box) -> bool:
    return (
        box.x >= 0 and box.y >= 0 and box.x + box.w <= photo.width and box.y + box.h <= photo.height
    )


def measure_regions(
    path: Path, card: Box, regions: Sequence[Region], reflectance: Triple
) -> list[dict[str, object]]:
    """CIELAB (D65 and D50) of marked regions, balanced on a marked grey card.

    The contrast that cameras give to finished pictures is taken out of JPEG and HEIC files first,
    and a note says so; all other kinds are taken as their profile says.

    Raises
    ------
    OrderError
        If card or region lie outside the photo, or the card cannot be used.
    """
    photo = read_photo(path, detail="full")
    for what, box in (("card", card), *((f"region {r.name}", box_of(r.quad)) for r in regions)):
        if not _inside(photo, box):
            raise OrderError(
                f"The {what} lies outside the photo ({photo.width} x {photo.height} pixels).",
                what_to_do="Give pixels of the upright photo.",
            )
    x, y, w, h = card
    patch = measure_card(photo, ((x, y), (x + w, y), (x + w, y + h), (x, y + h)))
    if worst(patch.reasons) == "refused":
        said = [r for r in patch.reasons if r.weight == "refused"]
        raise OrderError(said[0].text, what_to_do=said[0].what_to_do)
    finished = photo.file_format in FINISHED
    gains = balance_gains(scene_light(patch.mean_rgb) if finished else patch.mean_rgb, reflectance)
    reasons = (*patch.reasons, *((_contrast_note(),) if finished else ()))
    measured: list[dict[str, object]] = []
    for region in regions:
        seen = average_quad(photo, region.quad)
        lab = rgb_to_lab(balance(scene_light(seen.mean) if finished else seen.mean, gains))
        measured.append(
            {
                "name": region.name,
                "lab_d65": [round(float(v), 3) for v in lab],
                "lab_d50": [round(float(v), 3) for v in lab_under(lab, "D65", "D50")],
                "n_pixels": seen.n_pixels,
                "clipped_share": round(seen.clipped_share, 4),
                "reasons": _reasons(reasons),
            }
        )
    return measured


def _contrast_note() -> Reason:
    return Reason(
        code="camera_contrast",
        text=f"The contrast of {PICTURE_CONTRAST} that cameras usually add was taken out.",
        what_to_do="To measure the colors exactly as the file holds them, save it as PNG or TIFF.",
        weight="note",
    )
