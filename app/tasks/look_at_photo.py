"""Look at one photo as the window shows it: outlines, what was measured, and the readings."""

import logging
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from app.errors import OrderError
from app.tasks.drawn_outlines import check_drawn
from app.tasks.read_photo import ReadOrder, failed, read_scene, unreadable
from app.tasks.sample_labels import entries_of, find_codes, labels_of, parse_clock
from app.tube_reading import PhotoLook, TubeOutline
from colorcore.errors import PhotoError, TintwellError
from colorcore.geometry import Box, Quad
from colorcore.hand_outlines import HandOutlines
from colorcore.measurement import Triple
from colorcore.photo import Photo, read_photo
from colorcore.reasons import Reason
from colorcore.scene import Scene, SeenTube, look, measure_tube

log = logging.getLogger(__name__)


def look_at_photo(
    path: Path, order: ReadOrder, hand: HandOutlines | None, reflectance: Triple
) -> PhotoLook:
    """Look at a photo and read it where the order holds a chart.

    Parameters
    ----------
    path : Path
        The photo.
    order : ReadOrder
        Charts, which may be none, and what the user said.
    hand : HandOutlines or None
        What the user drew.
    reflectance : tuple
        Of the card, for the colors that are shown without any chart.
    """
    try:
        photo = read_photo(path)
        if hand is not None:
            check_drawn(photo, path.name, hand)
    except (PhotoError, OrderError) as error:
        return _unusable(path, order, error)
    scene = look(photo, hand)
    codes = find_codes(photo)
    order = _with_labels(path, scene, codes, order)
    lines = read_scene(photo, str(path), scene, order) if order.charts else ()
    clocks = [time for time in (parse_clock(text) for text, _ in codes) if time is not None]
    return PhotoLook(
        width=photo.width,
        height=photo.height,
        card=None if scene.card is None else scene.card.outline_px,
        tubes=tuple(_outline(seen) for seen in scene.tubes),
        measurements=tuple(measure_tube(photo, scene, seen, reflectance) for seen in scene.tubes),
        lines=lines,
        reasons=_reasons(photo, scene),
        taken_at=photo.taken_at,
        camera=photo.camera,
        sha256=photo.sha256,
        clock_shown=clocks[0] if clocks else None,
    )


def _with_labels(
    path: Path, scene: Scene, codes: Sequence[tuple[str, float]], order: ReadOrder
) -> ReadOrder:
    """Let printed labels name the tubes that the user has not named."""
    labels = labels_of(codes)
    if not labels:
        return order
    key = str(path.resolve())
    said = entries_of(labels, [seen.tube.box for seen in scene.tubes])
    by_label = {(key, number): entry for number, entry in enumerate(said, start=1)}
    return replace(order, entries={**by_label, **order.entries})


def guarded_look(
    path: Path, order: ReadOrder, hand: HandOutlines | None, reflectance: Triple
) -> PhotoLook:
    """Look at one photo of many; whatever goes wrong with it is logged and becomes a refusal."""
    try:
        return look_at_photo(path, order, hand, reflectance)
    except Exception as error:
        log.exception("%s could not be looked at", path)
        reason = Reason(
            code="unreadable",
            text=f"Looking at this photo failed ({type(error).__name__}: {error}).",
            what_to_do="Try another photo of the tube, and report this one.",
            weight="refused",
        )
        lines = failed(str(path), order, error) if order.charts else ()
        return PhotoLook(
            width=0, height=0, card=None, tubes=(), measurements=(), lines=lines,
            reasons=(reason,), taken_at=None, camera=None, sha256=None,
        )  # fmt: skip


def _unusable(path: Path, order: ReadOrder, error: TintwellError) -> PhotoLook:
    lines = (unreadable(str(path), order, error),) if order.charts else ()
    reason = Reason(
        code="unreadable",
        text=error.what_happened,
        what_to_do=error.what_to_do,
        weight="refused",
    )
    return PhotoLook(
        width=0, height=0, card=None, tubes=(), measurements=(), lines=lines,
        reasons=(reason,), taken_at=None, camera=None, sha256=None,
    )  # fmt: skip


def _reasons(photo: Photo, scene: Scene) -> tuple[Reason, ...]:
    said = (*photo.notes, *_saved_again(photo), *scene.reasons)
    if scene.tubes:
        return said
    nothing = Reason(
        code="no_tube",
        text="No tube was found.",
        what_to_do="Stand the tube upright beside the card, or draw its region by hand.",
        weight="refused",
    )
    return (*said, nothing)


def _saved_again(photo: Photo) -> tuple[Reason, ...]:
    """Note a photo that lost what its camera wrote; its colors may be as good as before."""
    camera_wrote = photo.camera is not None or photo.taken_at is not None
    if photo.file_format not in ("JPEG", "WebP") or camera_wrote:
        return ()
    return (
        Reason(
            code="photo_saved_again",
            text="The photo carries nothing of its camera: it was shrunken or saved again on its "
            "way, and when it was taken is not known.",
            what_to_do="Hand over the original file, by cable or sent as a file: messengers "
            "recompress.",
            weight="note",
        ),
    )


def _outline(seen: SeenTube) -> TubeOutline:
    region = None if seen.tube.window is None else _corners(seen.tube.window)
    if seen.by_hand:  # the region itself stands where the whole column stood
        region = seen.tube.liquid_px
    return TubeOutline(
        vessel=seen.tube.outline_px, region=region, found=seen.found, by_hand=seen.by_hand
    )


def _corners(box: Box) -> Quad:
    x, y, w, h = box
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
