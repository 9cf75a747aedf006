"""Which outline is in hand, and what is done with it: moved, drawn, removed, reset."""

from PySide6.QtCore import QObject, Signal

from app.desk import DeskPhoto, PhotoEdits
from app.desk_outlines import (
    as_found,
    is_usable,
    moved,
    shown_card,
    shown_tubes,
    with_card,
    with_region,
    with_tube,
    without_tube,
)
from app.tube_reading import PhotoLook
from app.window.desk_model import DeskModel
from app.window.outline_layer import CARD_PLACE, OutlineLayer
from colorcore.geometry import Point, Quad


class OutlineEditor(QObject):
    """What is being moved; mouse, keys and the panel of numbers all go through it.

    Signals
    -------
    changed()
        Another outline or corner is being moved, or the editor was switched.
    """

    changed = Signal()

    def __init__(self, desk: DeskModel, layer: OutlineLayer, parent: QObject) -> None:
        super().__init__(parent)
        self._desk, self._layer = desk, layer
        self.is_on = False
        self.is_drawing = False
        self.place: int | None = None
        self.corner: int | None = None
        self.draft: Quad | None = None
        desk.chosen_changed.connect(self._follow)
        desk.photo_changed.connect(self._hear)

    # -- what is there ------------------------------------------------------------------------

    def photo(self) -> tuple[DeskPhoto, PhotoLook] | None:
        """Return the chosen photo and what was seen in it; None where nothing can be moved."""
        photo = self._desk.desk.chosen_photo
        if photo is None or photo.look is None or not photo.look.width:
            return None
        return photo, photo.look

    def places(self) -> tuple[int, ...]:
        """Return what can be moved: the card (0) and tubes."""
        there = self.photo()
        if there is None:
            return ()
        photo, look = there
        tubes = range(1, 1 + len(shown_tubes(look, photo.edits.hand)))
        return (*([CARD_PLACE] if shown_card(look, photo.edits.hand) else []), *tubes)

    def quad(self) -> Quad | None:
        """Return the outline that is being moved."""
        there = self.photo()
        if self.draft is not None or there is None or self.place is None:
            return self.draft
        photo, look = there
        if self.place == CARD_PLACE:
            return shown_card(look, photo.edits.hand)
        tubes = shown_tubes(look, photo.edits.hand)
        if self.place > len(tubes):
            return None
        return tubes[self.place - 1].region or tubes[self.place - 1].vessel

    # -- what is done -------------------------------------------------------------------------

    def switch(self, on: bool) -> None:
        """Begin or end moving outlines."""
        self.is_on = on
        self.is_drawing = False
        self.draft = None
        if on:
            self.choose(self._desk.desk.tube or next(iter(self.places()), None))
        self._show()

    def choose(self, place: int | None, corner: int | None = None) -> None:
        """Take an outline, and one of its corners, in hand."""
        self.place, self.corner, self.draft = place, corner, None
        if place is not None and place != CARD_PLACE and place != self._desk.desk.tube:
            self._desk.choose(self._desk.desk.chosen, place)
        self._show()

    def put(self, quad: Quad, text: str = "move outline", *, kind: int = -1) -> None:
        """Put the outline that is in hand somewhere."""
        there = self.photo()
        if there is None or self.place is None:
            return
        photo, look = there
        self.draft = None
        if not is_usable(quad, look.width, look.height) or quad == self.quad():
            self._show()
            return
        place = self.place
        if place == CARD_PLACE:
            edits = with_card(photo.edits, quad)
        else:
            edits, place = with_region(photo.edits, look, place, quad)
        self._edit(photo, edits, text, place, kind)

    def nudge(self, by: Point) -> None:
        """Move the corner or outline in hand a little; nudges in a row are undone together."""
        there, quad = self.photo(), self.quad()
        if there is None or quad is None or self.place is None:
            return
        _, look = there
        new = moved(quad, by, self.corner, look.width, look.height)
        self.put(new, kind=1 + 5 * self.place + (4 if self.corner is None else self.corner))

    def draw(self) -> None:
        """Let the next drag draw a new region."""
        self.is_drawing = True
        self.place = self.corner = None
        self._show()

    def add(self, quad: Quad) -> None:
        """Add a region."""
        there = self.photo()
        self.is_drawing, self.draft = False, None
        if there is not None and is_usable(quad, there[1].width, there[1].height):
            edits, place = with_tube(there[0].edits, there[1], quad)
            self._edit(there[0], edits, "add region", place, -1)
        self._show()

    def remove(self) -> None:
        """Take the tube in hand out."""
        there = self.photo()
        if there is not None and self.place not in (None, CARD_PLACE):
            assert self.place is not None
            edits = without_tube(there[0].edits, there[1], self.place)
            self._edit(there[0], edits, "remove region", None, -1)

    def reset(self) -> None:
        """Go back to what was found."""
        there = self.photo()
        if there is not None:
            self._edit(there[0], as_found(there[0].edits, there[1]), "reset outlines", None, -1)

    def _edit(
        self, photo: DeskPhoto, edits: PhotoEdits, text: str, place: int | None, kind: int
    ) -> None:
        self.place = place
        self.corner = None if place is None else self.corner
        self._desk.edit({photo.path: edits}, text, kind=kind)
        if place not in (None, CARD_PLACE):
            self._desk.choose(photo.path, place)
        self._show()

    def _follow(self) -> None:
        if self.place != CARD_PLACE and self._desk.desk.tube != self.place and not self.is_drawing:
            self.place, self.corner, self.draft = self._desk.desk.tube, None, None
        self._show()

    def _hear(self, path: object) -> None:
        if path == self._desk.desk.chosen:
            self._show()

    def show_draft(self, draft: Quad | None) -> None:
        """Show an outline on its way, before it is put down."""
        self.draft = draft
        self._show()

    def _show(self) -> None:
        shown = self.quad() if self.is_on and not self.is_drawing else self.draft
        self._layer.show_edited(shown if self.is_on else None, self.corner)
        self.changed.emit()
