"""Outlines as they are shown and moved: pure changes of what the user drew over a photo."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

from app.desk import AS_FOUND, PhotoEdits
from colorcore.geometry import Box, Point, Quad, box_of
from colorcore.hand_outlines import HandOutlines, HandTube

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

SMALLEST = 6.0
"""Pixels of the photo that a region is wide and high at least: fewer say nothing."""

CARD_PLACE = 0
"""Stands for the card among the places of tubes, which count from 1."""


class _SeenOutline(Protocol):
    @property
    def vessel(self) -> Quad: ...
    @property
    def region(self) -> Quad | None: ...
    @property
    def found(self) -> int | None: ...


class SeenPhoto(Protocol):
    """What was seen in a photo, as far as outlines go."""

    @property
    def width(self) -> int:
        """Of the upright photo, pixels."""

    @property
    def height(self) -> int:
        """Of the upright photo, pixels."""

    @property
    def card(self) -> Quad | None:
        """Corners of the grey area."""

    @property
    def tubes(self) -> Sequence[_SeenOutline]:
        """Tubes from the left: glass, region, and place among those found without help."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownTube:
    """A tube as it is drawn over the photo.

    Parameters
    ----------
    found : int or None
        Its place among the tubes that were found without help, from 1.
    vessel : Quad
        Corners of the glass; of the region where no glass was found.
    region : Quad or None
        Corners of what is read.
    by_hand : bool
        Whether the region was drawn by hand.
    """

    found: int | None
    vessel: Quad
    region: Quad | None
    by_hand: bool


def shown_tubes(look: SeenPhoto, hand: HandOutlines) -> tuple[ShownTube, ...]:
    """Return the tubes from the left, as the photo will be read when it is looked at again.

    A photo is looked at off the screen's thread; what the user has moved is shown at once.
    """
    by_number = {
        tube.found: ShownTube(
            found=tube.found, vessel=tube.vessel, region=tube.region, by_hand=False
        )
        for tube in look.tubes
        if tube.found is not None
    }
    if hand.tubes is None:
        return tuple(by_number.values())
    shown = []
    for place in hand.tubes:
        there = None if place.found is None else by_number.get(place.found)
        if place.region is not None:
            vessel = place.region if there is None else there.vessel
            shown.append(
                ShownTube(found=place.found, vessel=vessel, region=place.region, by_hand=True)
            )
        elif there is not None:
            shown.append(there)
    return tuple(sorted(shown, key=_from_left))


def shown_card(look: SeenPhoto, hand: HandOutlines) -> Quad | None:
    """Return the corners of the grey area as they are drawn."""
    return look.card if hand.card is None else hand.card


@dataclass(frozen=True, slots=True, kw_only=True)
class Redrawn:
    """Outlines after a change, and where the tubes went.

    Parameters
    ----------
    hand : HandOutlines
        All that is drawn now.
    before : int
        How many tubes there were.
    places : mapping of int to int
        The new place of each tube by its old one, from 1; a tube that was taken out has none.
    at : int or None
        Where the outline is that was drawn: a tube's place, or 0 for the card.
    """

    hand: HandOutlines
    before: int
    places: Mapping[int, int]
    at: int | None

    def edited(self, edits: PhotoEdits) -> PhotoEdits:
        """Let what was said of tubes follow them to their new places."""
        new = self.places
        entries = [(at, said) for tube, said in edits.entries if (at := new.get(tube)) is not None]
        known = [
            replace(item, tube=at) for item in edits.known if (at := new.get(item.tube)) is not None
        ]
        return replace(
            edits,
            entries=tuple(sorted(entries, key=lambda pair: pair[0])),
            known=tuple(sorted(known, key=lambda item: item.tube)),
            hand=self.hand,
        )


def with_card(hand: HandOutlines, look: SeenPhoto, card: Quad) -> Redrawn:
    """Put the grey card where the user says."""
    before = len(shown_tubes(look, hand))
    places = {place: place for place in range(1, 1 + before)}
    return Redrawn(hand=replace(hand, card=card), before=before, places=places, at=CARD_PLACE)


def with_region(hand: HandOutlines, look: SeenPhoto, place: int, region: Quad) -> Redrawn:
    """Read a tube where the user says."""
    before = shown_tubes(look, hand)
    old = before[place - 1]
    vessel = region if old.found is None else old.vessel
    moved = ShownTube(found=old.found, vessel=vessel, region=region, by_hand=True)
    after = [*before[: place - 1], moved, *before[place:]]
    return _rearranged(hand, after, [*range(1, len(before) + 1)], moved, len(before))


def with_tube(hand: HandOutlines, look: SeenPhoto, region: Quad) -> Redrawn:
    """Add a tube that was not found."""
    before = shown_tubes(look, hand)
    new = ShownTube(found=None, vessel=region, region=region, by_hand=True)
    return _rearranged(hand, [*before, new], [*range(1, len(before) + 1), None], new, len(before))


def without_tube(hand: HandOutlines, look: SeenPhoto, place: int) -> Redrawn:
    """Take a tube out."""
    before = shown_tubes(look, hand)
    after = [*before[: place - 1], *before[place:]]
    places = [number for number in range(1, len(before) + 1) if number != place]
    return _rearranged(hand, after, places, None, len(before))


def as_found(hand: HandOutlines, look: SeenPhoto) -> Redrawn:
    """Forget all that was drawn; tubes that were found go back to their places."""
    before = shown_tubes(look, hand)
    places = {place: tube.found for place, tube in enumerate(before, start=1) if tube.found}
    return Redrawn(hand=AS_FOUND, before=len(before), places=places, at=None)


def is_usable(quad: Quad, width: int, height: int) -> bool:
    """Tell whether a quadrilateral can be averaged: convex, inside the photo, not tiny.

    Examples
    --------
    >>> is_usable(((0, 0), (20, 0), (20, 20), (0, 20)), 100, 100)
    True
    >>> is_usable(((0, 0), (20, 20), (20, 0), (0, 20)), 100, 100)
    False
    """
    box = box_of(quad)
    if min(box.w, box.h) < SMALLEST or box.x < 0 or box.y < 0:
        return False
    if box.x + box.w > width or box.y + box.h > height:
        return False
    turns = []
    for i, (x1, y1) in enumerate(quad):
        (x0, y0), (x2, y2) = quad[i - 1], quad[(i + 1) % 4]
        turns.append((x1 - x0) * (y2 - y1) - (y1 - y0) * (x2 - x1))
    return min(turns) > 0 or max(turns) < 0


def moved(quad: Quad, by: Point, corner: int | None, width: int, height: int) -> Quad:
    """Move a corner, or the whole, as far as the photo and the shape allow.

    Parameters
    ----------
    quad : Quad
        Before.
    by : Point
        Pixels to the right and down.
    corner : int or None
        Which corner, from 0; None moves all.
    width, height : int
        Of the photo, pixels.

    Examples
    --------
    >>> square = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0))
    >>> moved(square, (-5, 7), None, 100, 100)[0]
    (0.0, 7.0)
    >>> moved(square, (3, 1), 2, 100, 100)[2]
    (23.0, 21.0)
    """
    dx, dy = by
    if corner is None:
        box = box_of(quad)
        dx = min(max(dx, -box.x), width - box.x - box.w)
        dy = min(max(dy, -box.y), height - box.y - box.h)
        a, b, c, d = ((x + dx, y + dy) for x, y in quad)
        return (a, b, c, d)
    points = list(quad)
    x, y = points[corner]
    points[corner] = (min(max(x + dx, 0.0), float(width)), min(max(y + dy, 0.0), float(height)))
    new = (points[0], points[1], points[2], points[3])
    return new if is_usable(new, width, height) else quad


def quad_of(box: Box) -> Quad:
    """Return the corners of an upright box, from the upper left, clockwise."""
    x, y, w, h = box
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _from_left(tube: ShownTube) -> float:
    return box_of(tube.vessel).center[0]


def _rearranged(
    hand: HandOutlines,
    tubes: Sequence[ShownTube],
    places: Sequence[int | None],
    wanted: ShownTube | None,
    before: int,
) -> Redrawn:
    """Take these tubes, each with the place it had, and number them from the left anew."""
    pairs = sorted(zip(tubes, places, strict=True), key=lambda pair: _from_left(pair[0]))
    drawn = tuple(
        HandTube(found=tube.found, region=tube.region if tube.by_hand else None)
        for tube, _ in pairs
    )
    return Redrawn(
        hand=replace(hand, tubes=drawn),
        before=before,
        places={old: place for place, (_, old) in enumerate(pairs, start=1) if old is not None},
        at=next((i for i, (tube, _) in enumerate(pairs, start=1) if tube is wanted), None),
    )
