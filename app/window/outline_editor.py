"""Which outline is in hand, and what is done with it: moved, drawn, removed, reset."""

from PySide6.QtCore import QObject, Signal

from app.desk_outlines import (
    CARD_PLACE,
    Redrawn,
    SeenPhoto,
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
from app.window.outline_ground import OutlineGround
from app.window.outline_layer import OutlineLayer
from colorcore.geometry import Point, Quad


class OutlineEditor(QObject):
    """What is being moved; mouse, keys and the panel of numbers all go through it.

    Signals
    -------
    changed()
        Another outline or corner is being moved, or the editor was switched.
    """

    changed = Signal()

    def __init__(self, ground: OutlineGround, layer: OutlineLayer, parent: QObject) -> None:
        super().__init__(parent)
        self._ground, self._layer = ground, layer
        self.is_on = False
        self.is_drawing = False
        self.place: int | None = None
        self.corner: int | None = None
        self.draft: Quad | None = None
        ground.chosen_changed.connect(self._follow)
        ground.photo_changed.connect(self._show)

    # -- what is there ------------------------------------------------------------------------

    def look(self) -> SeenPhoto | None:
        """Return what was seen in the photo; None where nothing can be moved."""
        return self._ground.look()

    @property
    def has_card(self) -> bool:
        """Whether there is a card to be moved; else it can be drawn."""
        look = self.look()
        return look is not None and shown_card(look, self._ground.hand()) is not None

    def places(self) -> tuple[int, ...]:
        """Return what can be moved or drawn: the card (0) and tubes."""
        look = self.look()
        if look is None:
            return ()
        return (CARD_PLACE, *range(1, 1 + len(shown_tubes(look, self._ground.hand()))))

    def quad(self) -> Quad | None:
        """Return the outline that is being moved."""
        look = self.look()
        if self.draft is not None or look is None or self.place is None:
            return self.draft
        if self.place == CARD_PLACE:
            return shown_card(look, self._ground.hand())
        tubes = shown_tubes(look, self._ground.hand())
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
            self.choose(self._ground.tube() or (CARD_PLACE if self.has_card else None))
        self._show()

    def choose(self, place: int | None, corner: int | None = None) -> None:
        """Take an outline, and one of its corners, in hand; a card that is not there is drawn."""
        self.place, self.corner, self.draft = place, corner, None
        self.is_drawing = place == CARD_PLACE and not self.has_card
        if place is not None and place != CARD_PLACE and place != self._ground.tube():
            self._ground.choose(place)
        self._show()

    def put(self, quad: Quad, text: str = "move outline", *, kind: int = -1) -> None:
        """Put the outline that is in hand somewhere."""
        look = self.look()
        if look is None or self.place is None:
            return
        self.draft = None
        if not is_usable(quad, look.width, look.height) or quad == self.quad():
            self._show()
            return
        hand = self._ground.hand()
        if self.place == CARD_PLACE:
            self._redraw(with_card(hand, look, quad), text, kind)
        else:
            self._redraw(with_region(hand, look, self.place, quad), text, kind)

    def nudge(self, by: Point) -> None:
        """Move the corner or outline in hand a little; nudges in a row are undone together."""
        look, quad = self.look(), self.quad()
        if look is None or quad is None or self.place is None:
            return
        new = moved(quad, by, self.corner, look.width, look.height)
        self.put(new, kind=1 + 5 * self.place + (4 if self.corner is None else self.corner))

    def draw(self) -> None:
        """Let the next drag draw a new region."""
        self.is_drawing = True
        self.place = self.corner = None
        self._show()

    def add(self, quad: Quad) -> None:
        """Add what is being drawn: a region, or the card that was not found."""
        look = self.look()
        self.is_drawing, self.draft = False, None
        if look is not None and is_usable(quad, look.width, look.height):
            hand = self._ground.hand()
            if self.place == CARD_PLACE:
                self._redraw(with_card(hand, look, quad), "draw the card", -1)
            else:
                self._redraw(with_tube(hand, look, quad), "add region", -1)
        self._show()

    def remove(self) -> None:
        """Take the tube in hand out."""
        look = self.look()
        if look is not None and self.place not in (None, CARD_PLACE):
            assert self.place is not None
            self._redraw(without_tube(self._ground.hand(), look, self.place), "remove region", -1)

    def reset(self) -> None:
        """Go back to what was found."""
        look = self.look()
        if look is not None:
            self._redraw(as_found(self._ground.hand(), look), "reset outlines", -1)

    def _redraw(self, drawn: Redrawn, text: str, kind: int) -> None:
        self.place = drawn.at
        self.corner = None if drawn.at is None else self.corner
        self._ground.redraw(drawn, text, kind)
        if drawn.at not in (None, CARD_PLACE):
            assert drawn.at is not None
            self._ground.choose(drawn.at)
        self._show()

    def _follow(self) -> None:
        if self.place == CARD_PLACE and self.has_card:
            self.is_drawing = False  # another photo, whose card was found
        if self.place != CARD_PLACE and self._ground.tube() != self.place and not self.is_drawing:
            self.place, self.corner, self.draft = self._ground.tube(), None, None
        self._show()

    def show_draft(self, draft: Quad | None) -> None:
        """Show an outline on its way, before it is put down."""
        self.draft = draft
        self._show()

    def _show(self) -> None:
        shown = self.quad() if self.is_on and not self.is_drawing else self.draft
        self._layer.show_edited(shown if self.is_on else None, self.corner)
        self.changed.emit()
