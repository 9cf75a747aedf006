"""Outlines on photos of known tubes, moved and drawn as on the Photos page."""

from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QWidget

from app.desk_outlines import CARD_PLACE, Redrawn, SeenPhoto
from app.window.calibrate_model import CalibrateModel
from app.window.outline_editor import OutlineEditor
from app.window.outline_ground import OutlineGround
from app.window.outline_hands import OutlineHands
from app.window.outline_layer import OutlineLayer
from app.window.outline_panel import OutlinePanel
from app.window.page import make_action
from app.window.photo_view import PhotoView
from colorcore.hand_outlines import HandOutlines


class DraftGround(OutlineGround):
    """The photo of known tubes that is shown.

    Signals
    -------
    tube_wanted(int)
        A tube is to be chosen.
    """

    tube_wanted = Signal(int)

    def __init__(self, model: CalibrateModel, parent: QObject) -> None:
        super().__init__(parent)
        self._model = model
        self._path: Path | None = None
        self._tube: int | None = None
        model.changed.connect(self.photo_changed)

    def show_tube(self, path: Path | None, tube: int | None) -> None:
        """Hear which photo and which of its tubes are shown."""
        if (path, tube) != (self._path, self._tube):
            self._path, self._tube = path, tube
            self.chosen_changed.emit()

    def look(self) -> SeenPhoto | None:
        """Return what was seen in the photo; None where nothing can be moved."""
        return None if self._path is None else self._model.looks.look(self._path)

    def hand(self) -> HandOutlines:
        """Return what is drawn on it."""
        return HandOutlines() if self._path is None else self._model.draft.hand(self._path)

    def tube(self) -> int | None:
        """Return the place of the chosen tube."""
        return self._tube

    def choose(self, tube: int) -> None:
        """Choose a tube."""
        self.tube_wanted.emit(tube)

    def redraw(self, drawn: Redrawn, text: str, kind: int) -> None:
        """Draw something else; known values go with their tubes."""
        if self._path is not None:
            self._model.redraw(self._path, drawn, text, kind)


class DraftOutlines(QObject):
    """The editor of outlines with its panel and the actions that belong to it.

    Attributes
    ----------
    ground : DraftGround
        The photo.
    editor : OutlineEditor
        What is in hand.
    panel : OutlinePanel
        Moves it by numbers.
    move : QAction
        Switches all of it on and off.
    """

    def __init__(self, model: CalibrateModel, view: PhotoView, parent: QWidget) -> None:
        super().__init__(parent)
        self._view = view
        self.layer = OutlineLayer()
        view.scene().addItem(self.layer)
        self.ground = DraftGround(model, self)
        self.editor = OutlineEditor(self.ground, self.layer, self)
        OutlineHands(self.editor, view)
        self.move = make_action(
            parent, "&Outlines", self._switch, symbol_name="outline", shortcut="Ctrl+E",
            tip="Move, draw or remove outlines of tubes and card by hand", checkable=True,
        )  # fmt: skip
        self.move.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        parent.addAction(self.move)
        self.draw = make_action(
            parent, "Add region", self._draw, symbol_name="add", tip="Draw the region of a tube"
        )
        self.drop = make_action(
            parent, "Remove region", self.editor.remove, symbol_name="remove",
            tip="This is no tube: take it out",
        )  # fmt: skip
        self.reset = make_action(
            parent, "Reset to as found", self.editor.reset, symbol_name="undo",
            tip="Forget all outlines that were drawn in this photo",
        )  # fmt: skip
        self.panel = OutlinePanel(self.editor, (self.draw, self.drop, self.reset))
        self.editor.changed.connect(self._allow)

    def in_hand(self) -> int | None:
        """Return what is being moved: a tube's place, or 0 for the card."""
        return self.editor.place if self.editor.is_on else None

    def fit(self) -> None:
        """Hear that another picture is shown."""
        self.layer.show_outlines(self._view.picture.boundingRect(), None, (), {}, None)

    def _switch(self) -> None:
        self.editor.switch(self.move.isChecked())
        if self.move.isChecked():
            self._view.setFocus()

    def _draw(self) -> None:
        self.editor.draw()
        self._view.setFocus()

    def _allow(self) -> None:
        self.drop.setEnabled(self.editor.place not in (None, CARD_PLACE))
