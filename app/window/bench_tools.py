"""What helps at the bench: clocks, a watched folder, a camera, labels."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QDockWidget, QLabel

from app.window.clock_panel import ClockPanel
from app.window.folder_watcher import FolderWatcher
from app.window.page import make_action
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from datetime import timedelta

    from PySide6.QtGui import QAction

    from app.window.main_window import MainWindow


class BenchTools(QObject):
    """The tools of the bench, with their actions.

    Parameters
    ----------
    window : MainWindow
        Where they have their place.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._messages = window, window.messages
        self.clocks = ClockPanel(window.tools)
        self.clock_dock = QDockWidget("Clocks", window)
        self.clock_dock.setObjectName("clocks")
        self.clock_dock.setWidget(self.clocks)
        window.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, self.clock_dock)
        self.clock_dock.hide()
        shown = self.clock_dock.toggleViewAction()
        shown.setShortcut(QKeySequence("Ctrl+K"))
        shown.setText("&Clocks")
        window.model.clock_set.connect(self._tell_offset)
        self.watcher = FolderWatcher(window.bench, window)
        self.watcher.arrived.connect(window.ways_in.take_photos)
        self.watcher.lost.connect(self._say_watch)
        self.watch_label = QLabel()
        self.watch_action = make_action(
            window, "&Watch a folder…", self.ask_watch, symbol_name="watch", checkable=True,
            tip="Read photos as they arrive in a folder",
        )  # fmt: skip
        self.actions: tuple[QAction | None, ...] = (
            shown,
            make_action(window, "New &clock…", self._ask_clock, symbol_name="clock"),
            None,
            self.watch_action,
            make_action(window, "&Camera…", self.open_camera, symbol_name="camera"),
            make_action(window, "Print &labels…", self.ask_labels, symbol_name="label"),
        )

    def _ask_clock(self) -> None:
        self.clock_dock.show()
        self.clocks.ask_clock()

    def _tell_offset(self, camera: str, ahead: timedelta) -> None:
        seconds = ahead.total_seconds()
        side = "ahead" if seconds >= 0 else "behind"
        self._messages.tell(f"The clock of {camera} is {abs(seconds):.0f} s {side}; noted.")

    def ask_watch(self) -> None:
        """Begin or end to watch a folder."""
        if self.watcher.folder is not None:
            self.watcher.stop()
            self._say_watch("The folder is no longer watched.")
            return
        folder = self._messages.ask_folder("Watch a folder", "watch")
        if folder is not None:
            self.watch(folder)
        self.watch_action.setChecked(self.watcher.folder is not None)

    def watch(self, folder: Path) -> None:
        """Read photos as they arrive in a folder."""
        try:
            self.watcher.start(folder)
        except OSError as error:
            self._messages.complain(
                TintwellError(
                    f"The folder {folder} cannot be read ({error.strerror}).",
                    what_to_do="Choose another folder.",
                )
            )
            return
        self._say_watch(f"Watching {folder}: new photos are read as they arrive.")

    def _say_watch(self, text: str) -> None:
        folder = self.watcher.folder
        self.watch_action.setChecked(folder is not None)
        self.watch_label.setText("" if folder is None else f"Watching {folder.name}")
        self._messages.tell(text)

    def open_camera(self) -> None:
        """Show the live picture of the first camera."""
        from app.window.camera_dialog import CameraDialog

        folder = Path(self._window.preferences.folder("photos"))
        dialog = CameraDialog(0, folder, self._window.bench, self._window)
        dialog.taken.connect(lambda path: self._window.ways_in.take_photos((path,)))
        dialog.open()

    def ask_labels(self) -> None:
        """Let the user print labels for samples."""
        from app.window.label_dialog import LabelDialog

        survey = self._window.model.desk.survey
        names = [] if survey is None else [sample.label for sample in survey.survey.samples]
        LabelDialog(names, self._messages, self._window).open()
