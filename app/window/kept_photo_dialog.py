"""A kept photo shown large, to be looked at closely."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from app.window.labels import muted
from app.window.photo_view import PhotoView

if TYPE_CHECKING:
    from pathlib import Path

    from app.window.photo_pictures import PhotoPictures


class KeptPhotoDialog(QDialog):
    """The photo from the survey's own shelf; wheel and drag zoom and move it."""

    def __init__(
        self, path: Path, title: str, pictures: PhotoPictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        self.resize(960, 720)
        self._path = path
        self.view = PhotoView()
        self.view.setAccessibleName(title)
        self.said = muted("Reading the photo…")
        box = QVBoxLayout(self)
        box.addWidget(self.view, 1)
        box.addWidget(self.said)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        for words, slot in (
            ("Fit", self.view.fit), ("Closer", self.view.closer), ("Farther", self.view.farther),
        ):  # fmt: skip
            button = buttons.addButton(words, QDialogButtonBox.ButtonRole.ActionRole)
            button.clicked.connect(lambda _=False, slot=slot: slot())
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)
        self._pictures = pictures
        self._pictures.large_came.connect(self._take)
        if self._pictures.large(path) is not None:
            self._take(path)

    def _take(self, path: Path) -> None:
        if path != self._path:
            return
        picture = self._pictures.large(path)
        if picture is None:
            self.said.setText("The photo cannot be read any more. Check the survey.")
            return
        self.view.show_photo(picture.levels, picture.photo.width, picture.photo.height)
        self.said.setText(f"{picture.photo.width} × {picture.photo.height} pixels")
