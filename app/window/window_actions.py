"""What the window's own menus offer, with the keys."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from app.window.page import make_action
from app.window.preferences import LOOK_WORDS
from app.window.symbols import symbol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtWidgets import QToolBar

    from app.window.main_window import MainWindow


class WindowActions:
    """The actions that are there on every page, and their menus."""

    def __init__(self, window: MainWindow) -> None:
        def make(text: str, slot: Any, **named: Any) -> QAction:
            return make_action(window, text, slot, **named)

        self._window, ways_in = window, window.ways_in
        key = QKeySequence.StandardKey
        self.new = make("&New survey…", window.ask_new_survey, shortcut=key.New)
        self.open = make("&Open survey…", window.ask_survey, symbol_name="open", shortcut=key.Open)
        self.demo = make("Open the &demo survey", window.open_demo)
        self.close = make("&Close survey", window.model.close_survey)
        self.photos = make(
            "&Add photos…", ways_in.ask_photos, symbol_name="add", shortcut="Ctrl+Shift+O"
        )
        self.folder = make("Add a &folder of photos…", ways_in.ask_photo_folder)
        self.paste = make("&Paste photos", ways_in.paste_photos, shortcut=key.Paste)
        self.quit = make("&Quit", window.close, shortcut=key.Quit)
        stack = window.model.undo_stack
        self.undo = stack.createUndoAction(window, "&Undo")
        self.undo.setShortcut(QKeySequence(key.Undo))
        self.redo = stack.createRedoAction(window, "&Redo")
        self.redo.setShortcuts([QKeySequence(key.Redo), QKeySequence("Ctrl+Y")])
        for action, name in ((self.undo, "undo"), (self.redo, "redo")):
            action.setIcon(symbol(name))
            action.setPriority(QAction.Priority.LowPriority)  # icon alone in the toolbar
        self.preferences = make("&Preferences…", window.ask_preferences, shortcut=key.Preferences)
        self.guide = make(
            "&First use", partial(window.help, "guide"), symbol_name="help",
            shortcut=key.HelpContents,
        )  # fmt: skip
        self.shortcuts = make("&Shortcuts", partial(window.help, "shortcuts"))
        self.safety = make("S&afety notes", partial(window.help, "safety"))
        self.log = make("Show the &log", partial(window.help, "log"))
        self.about = make("A&bout Tintwell", partial(window.help, "about"))
        self.stop = make("Stop the work", window.stop_work, shortcut=key.Cancel)
        window.addAction(self.stop)

    def fill_bar(self, pages: Sequence[QAction], names: Sequence[str]) -> dict[str, QMenu]:
        """Fill the menu bar; returns a menu for each page, hidden while it is empty."""
        bar = self._window.menuBar()
        survey = bar.addMenu("&Survey")
        self.recent = QMenu("Open &recent", survey)
        self.recent.aboutToShow.connect(self._list_recent)
        fill(survey, [self.new, self.open, self.recent.menuAction(), self.demo, None])
        fill(survey, [self.photos, self.folder, None, self.close, self.quit])
        fill(
            bar.addMenu("&Edit"),
            [self.undo, self.redo, None, self.paste, self.preferences],
        )
        view = bar.addMenu("&View")
        fill(view, [*pages, None])
        looks = view.addMenu("&Look")
        self._look_group = QActionGroup(self._window)
        for look, words in LOOK_WORDS.items():
            action = make_action(
                self._window, words, partial(self._window.set_look, look), checkable=True
            )
            action.setChecked(look == self._window.preferences.look)
            self._look_group.addAction(action)
            looks.addAction(action)
        menus = {name: bar.addMenu(f"&{name}") for name in names}
        for menu in menus.values():
            menu.menuAction().setVisible(False)
        fill(bar.addMenu("&Bench"), self._window.bench_tools.actions)
        fill(
            bar.addMenu("&Help"),
            [self.guide, self.shortcuts, self.safety, None, self.log, self.about],
        )
        return menus

    def _list_recent(self) -> None:
        self.recent.clear()
        for folder in self._window.preferences.recent:
            action = self.recent.addAction(f"{folder.name}   ({folder.parent})")
            action.triggered.connect(lambda *_, folder=folder: self._window.open_survey(folder))
        if self.recent.isEmpty():
            self.recent.addAction("None yet").setEnabled(False)


def fill(place: QMenu | QToolBar, actions: Sequence[QAction | None]) -> None:
    """Put actions into a menu or a toolbar; None is a gap."""
    for action in actions:
        if action is None:
            place.addSeparator()
        else:
            place.addAction(action)
