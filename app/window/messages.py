"""How the window speaks: a line for what went well, a box for what the user must decide."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.window.preferences import Preferences

SHOWN_MS = 8000


class Messages(QObject):
    """Speaks to the user; tests listen to its signals.

    Signals
    -------
    told(str)
        A line for the status bar.
    complained(TintwellError)
        Something went wrong and was shown.
    """

    told = Signal(str)
    complained = Signal(object)

    def __init__(self, window: QWidget, preferences: "Preferences") -> None:
        super().__init__(window)
        self._window, self._preferences = window, preferences

    def tell(self, text: str) -> None:
        """Say in the status bar what was done."""
        self.told.emit(text)

    def complain(self, error: TintwellError) -> None:
        """Show what happened and what to do, without stopping anything else."""
        self.complained.emit(error)
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Warning)
        box.setWindowTitle("Tintwell")
        box.setText(error.what_happened)
        box.setInformativeText(error.what_to_do)
        box.setTextInteractionFlags(box.textInteractionFlags().TextSelectableByMouse)
        box.open()

    def ask(self, text: str, more: str, yes: str) -> bool:
        """Let the user decide about something that cannot be undone.

        Parameters
        ----------
        text, more : str
            What is asked, and what it means.
        yes : str
            The button that does it, a verb.
        """
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setWindowTitle("Tintwell")
        box.setText(text)
        box.setInformativeText(more)
        button = box.addButton(yes, QMessageBox.ButtonRole.AcceptRole)
        box.addButton(QMessageBox.StandardButton.Cancel)
        box.exec()
        return box.clickedButton() is button

    def ask_files(self, title: str, purpose: str, kinds: str) -> tuple[Path, ...]:
        """Let the user choose files to open."""
        start = self._preferences.folder(purpose)
        names, _ = QFileDialog.getOpenFileNames(self._window, title, start, kinds)
        return self._chosen(names, purpose)

    def ask_file(self, title: str, purpose: str, kinds: str) -> Path | None:
        """Let the user choose one file to open."""
        start = self._preferences.folder(purpose)
        name, _ = QFileDialog.getOpenFileName(self._window, title, start, kinds)
        return next(iter(self._chosen([name] if name else [], purpose)), None)

    def ask_new_file(self, title: str, purpose: str, proposed: str, kinds: str) -> Path | None:
        """Let the user name a file to write; the dialog itself asks before one is replaced."""
        start = str(Path(self._preferences.folder(purpose)) / proposed)
        name, _ = QFileDialog.getSaveFileName(self._window, title, start, kinds)
        return next(iter(self._chosen([name] if name else [], purpose)), None)

    def ask_folder(self, title: str, purpose: str) -> Path | None:
        """Let the user choose a folder."""
        start = self._preferences.folder(purpose)
        name = QFileDialog.getExistingDirectory(self._window, title, start)
        return next(iter(self._chosen([name] if name else [], purpose)), None)

    def _chosen(self, names: Sequence[str], purpose: str) -> tuple[Path, ...]:
        paths = tuple(Path(name) for name in names)
        if paths:
            self._preferences.remember_folder(purpose, paths[0].parent)
        return paths
