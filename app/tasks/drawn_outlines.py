"""Outlines that were drawn over a photo, checked against the photo that is there now."""

from app.desk_outlines import is_usable
from app.errors import OrderError
from colorcore.hand_outlines import HandOutlines
from colorcore.photo import Photo


def check_drawn(photo: Photo, name: str, hand: HandOutlines) -> None:
    """Refuse outlines that cannot be averaged in a photo.

    Raises
    ------
    OrderError
        If something that was drawn does not lie in it.
    """
    drawn = (hand.card, *(tube.region for tube in hand.tubes or ()))
    if all(quad is None or is_usable(quad, photo.width, photo.height) for quad in drawn):
        return
    raise OrderError(
        f"Outlines that were drawn over {name} do not lie in it: it is {photo.width} by "
        f"{photo.height} pixels.",
        what_to_do="Another photo may have taken its name. Take it away here and add it again, "
        "then draw them anew.",
    )
