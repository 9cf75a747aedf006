"""The actions of the Photos page, with their keys."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence

from app.window.page import make_action

if TYPE_CHECKING:
    from app.window.photos_page import PhotosPage


class PhotoActions:
    """Everything that can be done on the Photos page."""

    def __init__(self, page: "PhotosPage") -> None:
        self._page = page
        self.add = make_action(
            page, "&Add photos…", lambda: page.asked.emit("photos"), symbol_name="add"
        )
        self.remove = make_action(
            page, "&Remove from the desk", page.remove, symbol_name="remove",
            shortcut="Ctrl+Delete", tip="Take the chosen photos off the desk; their files stay",
        )  # fmt: skip
        self.names = make_action(
            page, "&Name tubes…", lambda: page.namer.ask_names(), symbol_name="names",
            shortcut="Ctrl+T", tip="Paste sample names; they fill the tubes from the left",
        )  # fmt: skip
        self.same = make_action(
            page, "Same &tests in the other photos", lambda: page.namer.same_tests(),
            tip="Give the tubes of other photos the charts and roles of this photo, by place",
        )  # fmt: skip
        self.move = make_action(
            page, "&Move outlines", page.switch_outlines, symbol_name="outline",
            shortcut="Ctrl+E", tip="Move, draw or remove outlines", checkable=True,
        )  # fmt: skip
        self.keep = make_action(
            page, "&Keep readings", page.keep_chosen, symbol_name="keep", shortcut="Ctrl+S",
            tip="Keep the readings of the chosen photos in the survey",
        )  # fmt: skip
        self.keep_all = make_action(
            page, "Keep all &readings", page.keep_all, shortcut="Ctrl+Shift+S",
            tip="Keep all named readings on the desk",
        )  # fmt: skip
        self.take_back = make_action(page, "Take &back kept reading…", page.keeper.take_back)
        self.copy = make_action(
            page, "&Copy table", page.copy_table, symbol_name="export", shortcut="Ctrl+C",
            tip="Copy all readings on the desk as a table",
        )  # fmt: skip
        self.copy.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        page.addAction(self.copy)
        self.pictures = make_action(page, "&Save pictures with outlines…", page.save_pictures)
        self.steps = (
            self._step("Next p&hoto", "Alt+Down", 1, 0),
            self._step("Photo before", "Alt+Up", -1, 0),
            self._step("Next t&ube", "Alt+Right", 0, 1),
            self._step("Tube before", "Alt+Left", 0, -1),
        )
        self.zoom = self._make_zoom()
        self.outlines = self._make_outlines()

    def _step(self, text: str, keys: str, photos: int, tubes: int) -> QAction:
        page = self._page
        return make_action(page, text, lambda: page.step(photos, tubes), shortcut=keys)

    def _make_zoom(self) -> tuple[QAction, ...]:
        page = self._page
        farther = make_action(
            page, "Zoom &out", lambda: page.pane.view.farther(), symbol_name="farther",
            shortcut="Ctrl+-",
        )  # fmt: skip
        closer = make_action(
            page, "Zoom &in", lambda: page.pane.view.closer(), symbol_name="closer",
            shortcut="Ctrl++",
        )  # fmt: skip
        closer.setShortcuts([QKeySequence("Ctrl++"), QKeySequence("Ctrl+=")])
        fit = make_action(
            page, "&Fit the photo", lambda: page.pane.view.fit(), symbol_name="fit",
            shortcut="Ctrl+Shift+F",
        )  # fmt: skip
        return farther, closer, fit

    def _make_outlines(self) -> tuple[QAction, ...]:
        page = self._page
        self.draw = make_action(
            page, "Add region", page.draw_region, symbol_name="add", tip="Draw a region to read"
        )
        self.drop = make_action(
            page, "Remove region", lambda: page.pane.editor.remove(), symbol_name="remove",
            tip="Do not read this tube",
        )  # fmt: skip
        self.reset = make_action(
            page, "Reset to as found", lambda: page.pane.editor.reset(), symbol_name="undo",
            tip="Forget all outlines that were drawn in this photo",
        )  # fmt: skip
        return self.draw, self.drop, self.reset

    def allow(self) -> None:
        """Offer only what can be done."""
        desk, editor = self._page.tools.model.desk, self._page.pane.editor
        for action in (
            self.remove, self.names, self.same, self.move, self.keep, self.keep_all, self.copy,
            self.pictures, *self.steps, *self.zoom,
        ):  # fmt: skip
            action.setEnabled(bool(desk.photos))
        photo = desk.chosen_photo
        self.take_back.setEnabled(photo is not None and desk.tube in dict(photo.kept))
        self.draw.setEnabled(editor.is_on)
        self.reset.setEnabled(editor.is_on)
        self.drop.setEnabled(editor.is_on and editor.place not in (None, 0))
