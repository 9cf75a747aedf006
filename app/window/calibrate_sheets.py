"""Sheets of known values, taken in and given out: of tubes, or of a printed chart's patches."""

from pathlib import Path

from PySide6.QtCore import QObject

from app.errors import OrderError
from app.tasks.draft_file import export_patches, export_sheet, import_patches
from app.window.calibrate_model import CalibrateModel
from app.window.page import Tools
from app.window.photo_pictures import PhotoPictures
from calibration.sheets import read_standards_sheet
from colorcore.errors import TintwellError

KINDS = "Sheets (*.csv *.txt *.tsv)"
SHEET_ENDINGS = (".csv", ".tsv", ".txt")


class ChartSheets(QObject):
    """Takes in and writes the sheet that belongs to the kind of chart being made."""

    def __init__(
        self, tools: Tools, model: CalibrateModel, pictures: PhotoPictures, parent: QObject
    ) -> None:
        super().__init__(parent)
        self._tools, self._model, self._pictures = tools, model, pictures

    @property
    def _is_printed(self) -> bool:
        return self._model.draft.kind == "printed"

    def ask_import(self) -> None:
        """Let the user choose a sheet to take in."""
        title = "Import patches" if self._is_printed else "Import a sheet of standards"
        path = self._tools.messages.ask_file(title, "charts", KINDS)
        if path is not None:
            self.take(path)

    def take(self, path: Path) -> None:
        """Take in a sheet; one that cannot be taken is complained about and changes nothing."""
        try:
            if self._is_printed:
                self._take_patches(path)
            else:
                self._take_standards(path)
        except TintwellError as error:
            self._tools.messages.complain(error)

    def _take_standards(self, path: Path) -> None:
        rows = read_standards_sheet(path)
        self._model.edit(self._model.draft.with_sheet(rows), "import a sheet")
        self._model.tell(f"{len(rows)} lines of {path.name} were taken in.")

    def _take_patches(self, path: Path) -> None:
        photos = self._model.draft.photos
        if not photos:
            raise OrderError(
                "There is no photo of the printed chart yet.",
                what_to_do="Choose its photo first, then import the sheet of its patches.",
            )
        picture = self._pictures.large(photos[0])
        if picture is None:
            raise OrderError(
                f"The photo {photos[0].name} is not open yet.",
                what_to_do="Import the sheet when the photo is shown.",
            )
        size = (picture.photo.width, picture.photo.height)
        draft = import_patches(self._model.draft, path, size)
        self._model.edit(draft, "import patches")
        self._model.tell(f"{len(draft.patches)} patches of {path.name} were taken in.")

    def ask_export(self) -> None:
        """Let the user name a file for what was typed."""
        title, name = (
            ("Export the patches", "patches.csv")
            if self._is_printed
            else ("Export the sheet of standards", "standards.csv")
        )
        path = self._tools.messages.ask_new_file(title, "charts", name, KINDS)
        if path is None:
            return
        try:
            left_out = self._export(path)
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        self._model.tell(f"Exported the sheet as {path}.{left_out}")

    def _export(self, path: Path) -> str:
        """Write the sheet; returns what must be said of it."""
        draft = self._model.draft
        if not self._is_printed:
            export_sheet(draft, self._model.looks.fresh, path)
            return ""
        without = len(draft.patches) - export_patches(draft, path)
        return f" {without} patches without value or label were left out." if without else ""
