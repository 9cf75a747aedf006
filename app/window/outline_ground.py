"""What outlines are moved on: the photo that is shown, wherever it lies."""

from PySide6.QtCore import QObject, Signal

from app.desk_outlines import Redrawn, SeenPhoto
from app.window.desk_model import DeskModel
from colorcore.hand_outlines import HandOutlines


class OutlineGround(QObject):
    """A photo with its outlines; each page has its own kind.

    Signals
    -------
    chosen_changed()
        Another photo or tube is shown.
    photo_changed()
        The photo that is shown was looked at, or something was drawn on it.
    """

    chosen_changed = Signal()
    photo_changed = Signal()

    def look(self) -> SeenPhoto | None:
        """Return what was seen in the photo; None where nothing can be moved."""
        raise NotImplementedError

    def hand(self) -> HandOutlines:
        """Return what is drawn on it."""
        raise NotImplementedError

    def tube(self) -> int | None:
        """Return the place of the chosen tube."""
        raise NotImplementedError

    def choose(self, tube: int) -> None:
        """Choose a tube."""
        raise NotImplementedError

    def redraw(self, drawn: Redrawn, text: str, kind: int) -> None:
        """Draw something else so that it can be undone; neighbors of one kind >= 0 become one."""
        raise NotImplementedError


class DeskGround(OutlineGround):
    """The photo of the desk that is chosen."""

    def __init__(self, desk: DeskModel, parent: QObject) -> None:
        super().__init__(parent)
        self._desk = desk
        desk.chosen_changed.connect(self.chosen_changed)
        desk.photo_changed.connect(self._hear)

    def look(self) -> SeenPhoto | None:
        """Return what was seen in the photo; None where nothing can be moved."""
        photo = self._desk.desk.chosen_photo
        if photo is None or photo.look is None or not photo.look.width:
            return None
        return photo.look

    def hand(self) -> HandOutlines:
        """Return what is drawn on it."""
        photo = self._desk.desk.chosen_photo
        return HandOutlines() if photo is None else photo.edits.hand

    def tube(self) -> int | None:
        """Return the place of the chosen tube."""
        return self._desk.desk.tube

    def choose(self, tube: int) -> None:
        """Choose a tube."""
        self._desk.choose(self._desk.desk.chosen, tube)

    def redraw(self, drawn: Redrawn, text: str, kind: int) -> None:
        """Draw something else; names and known values go with their tubes."""
        photo = self._desk.desk.chosen_photo
        if photo is not None:
            self._desk.edit({photo.path: drawn.edited(photo.edits)}, text, kind=kind)

    def _hear(self, path: object) -> None:
        if path == self._desk.desk.chosen:
            self.photo_changed.emit()
