"""How files come into the window: chosen, dropped or pasted."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from app.wording import say_count
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.window.main_window import MainWindow


class WaysIn(QObject):
    """Takes photos, charts and surveys, wherever they come from.

    Parameters
    ----------
    window : MainWindow
        Where they are shown.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window

    def ask_photos(self) -> None:
        """Let the user choose photos."""
        from app.tasks.photo_files import PHOTO_ENDINGS

        kinds = " ".join(f"*{ending} *{ending.upper()}" for ending in sorted(PHOTO_ENDINGS))
        self.take_photos(
            self._window.messages.ask_files(
                "Add photos", "photos", f"Photos ({kinds});;All files (*)"
            )
        )

    def ask_photo_folder(self) -> None:
        """Let the user choose a folder of photos."""
        folder = self._window.messages.ask_folder("Add a folder of photos", "photos")
        if folder is not None:
            self.take_photos((folder,))

    def take_photos(self, paths: Sequence[Path]) -> None:
        """Lay photos open, and all photos of folders."""
        from app.tasks.photo_files import expand

        if not paths:
            return
        model, messages = self._window.model, self._window.messages
        try:
            names = expand([str(path) for path in paths])
        except TintwellError as error:
            messages.complain(error)
            return
        new = model.add_photos(Path(name) for name in names)
        again = len(names) - len(new)
        said = f"{say_count(len(new), 'photo')} added"
        said += f", {again} there already" if again else ""
        messages.tell(f"{said}.")
        if new:
            model.choose(new[0])
        self._window.show_page("Photos")

    def paste_photos(self) -> None:
        """Take photos from the clipboard: files, or a picture as it is."""
        from app.window.pasted import pasted_photos

        focus = QApplication.focusWidget()
        if focus is not None and hasattr(focus, "paste"):
            focus.paste()
            return
        paths = pasted_photos(QApplication.clipboard().mimeData())
        if paths:
            self.take_photos(paths)
        else:
            self._window.messages.tell("There is no photo in the clipboard.")

    def take_files(self, paths: Sequence[Path]) -> None:
        """Open files of any kind: surveys, charts, photos and folders of photos."""
        photos = []
        for path in paths:
            if (path / "survey.sqlite").is_file():
                self._window.open_survey(path)
            elif path.suffix.casefold() == ".json":
                self.open_chart(path)
            else:
                photos.append(path)
        self.take_photos(photos)

    def ask_chart(self) -> None:
        """Let the user choose the file of a chart."""
        path = self._window.messages.ask_file(
            "Open chart", "chart", "Charts (*.json);;All files (*)"
        )
        if path is not None:
            self.open_chart(path)

    def open_chart(self, path: Path) -> None:
        """Lay a chart's file open."""
        from calibration.chart_file import load_chart

        try:
            chart = load_chart(path)
        except TintwellError as error:
            self._window.messages.complain(error)
            return
        self._window.model.add_chart(chart, path)
        self._window.messages.tell(f"Opened the chart '{chart.name}'.")
        self._window.show_page("Charts")
