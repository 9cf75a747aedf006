"""The second step of a chart of tubes: photos, and the table of their known values."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.tasks.draft_file import export_sheet
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_table import StandardsView
from app.window.calibrate_table_model import VALUE, StandardsTable
from app.window.chart_photo_view import ChartPhotoView, Mark
from app.window.labels import ElidedLabel
from app.window.page import Tools
from app.window.photo_pictures import PhotoPictures
from app.window.symbols import symbol
from app.window.theme import SPACE
from calibration.sheets import read_standards_sheet
from colorcore.errors import TintwellError

SHEETS = "Sheets of standards (*.csv *.txt *.tsv)"


class TubesStep(QWidget):
    """Photos above, table below.

    Signals
    -------
    photos_asked()
        The user wants to choose photos.
    """

    photos_asked = Signal()

    def __init__(
        self,
        tools: Tools,
        model: CalibrateModel,
        pictures: PhotoPictures,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._tools, self._model, self._pictures = tools, model, pictures
        self._path: Path | None = None
        self.table = StandardsTable(model, self)
        self.list = StandardsView(self.table)
        self.view = ChartPhotoView()
        self.photos = QComboBox()
        self.photos.setAccessibleName("Photo that is shown")
        self.photos.setMinimumContentsLength(14)
        self.state = ElidedLabel("muted")
        self.note = ElidedLabel("plain")
        self.warmth = QDoubleSpinBox()
        self._build()
        self.photos.activated.connect(lambda row: self._show_photo(self.photos.itemData(row)))
        self.view.mark_clicked.connect(self._choose_tube)
        self.list.selectionModel().currentChanged.connect(lambda *_: self._follow())
        self.table.modelReset.connect(self._lines_came)
        model.changed.connect(self.refresh)
        model.judged.connect(self.table.refresh)
        model.judged.connect(self._tell_note)
        pictures.large_came.connect(lambda _: self._draw())
        self.refresh()

    # -- building -----------------------------------------------------------------------------

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        split = QSplitter(Qt.Orientation.Vertical)
        split.setChildrenCollapsible(False)
        column.addWidget(split)
        upper, lower = QWidget(), QWidget()
        box = QVBoxLayout(upper)
        box.setContentsMargins(SPACE, 0, SPACE, SPACE // 2)
        row = QHBoxLayout()
        row.addWidget(_button("&Add photos…", "add", self.photos_asked.emit))
        row.addWidget(self.photos, 1)
        self.remove_button = _button("", "remove", self._remove_photo)
        self.remove_button.setToolTip("Leave this photo out of the chart")
        self.remove_button.setAccessibleName("Leave this photo out of the chart")
        self.again_button = _button("Look a&gain", "redo", self._model.look_again)
        row.addWidget(self.remove_button)
        row.addWidget(self.again_button)
        box.addLayout(row)
        box.addWidget(self.state)
        box.addWidget(self.view, 1)
        split.addWidget(upper)
        box = QVBoxLayout(lower)
        box.setContentsMargins(SPACE, SPACE // 2, SPACE, 0)
        box.addWidget(self.list, 1)
        box.addWidget(self.note)
        box.addLayout(self._tools_row())
        split.addWidget(lower)
        split.setSizes([300, 320])

    def _tools_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.fill_button = _button("Fill &down", None, self.list.fill_down)
        self.fill_button.setToolTip("Chosen cells take what the first of them says (Ctrl+D)")
        self.next_button = _button("&Same in next photo", None, self.same_in_next)
        self.next_button.setToolTip("The next photo shows the same series of tubes (Ctrl+Return)")
        for keys, slot in (("Ctrl+D", self.list.fill_down), ("Ctrl+Return", self.same_in_next)):
            QShortcut(
                QKeySequence(keys),
                self,
                slot,
                context=Qt.ShortcutContext.WidgetWithChildrenShortcut,
            )
        label = QLabel("Buffers at")
        self.warmth.setRange(0, 95)
        self.warmth.setDecimals(1)
        self.warmth.setSuffix(" °C")
        self.warmth.setValue(self._model.temperature_c)
        self.warmth.setToolTip("Temperature of buffers that are chosen from now on")
        self.warmth.setAccessibleName("Temperature of the buffers")
        self.warmth.valueChanged.connect(self._warm)
        row.addWidget(self.fill_button)
        row.addWidget(self.next_button)
        row.addStretch()
        row.addWidget(label)
        row.addWidget(self.warmth)
        return row

    def _warm(self, degrees: float) -> None:
        self._model.temperature_c = degrees

    # -- photos -------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show what the draft holds."""
        paths = list(self._model.draft.photos)
        if [self.photos.itemData(row) for row in range(self.photos.count())] != paths:
            self.photos.clear()
            for place, path in enumerate(paths, start=1):
                self.photos.addItem(f"{path.name}   ({place} of {len(paths)})", path)
        if self._path not in paths:
            self._path = paths[0] if paths else None
        self.photos.setCurrentIndex(paths.index(self._path) if self._path else -1)
        for widget in (self.photos, self.remove_button, self.fill_button, self.next_button):
            widget.setEnabled(bool(paths))
        self.again_button.setVisible(bool(self._model.unusable))
        self._tell_note()
        self._draw()

    def _show_photo(self, path: Path | None) -> None:
        if path != self._path:
            self._path = path
            self.refresh()

    def _draw(self) -> None:
        path = self._path
        seen = None if path is None else self._model.seen.get(path)
        self.state.setText(self._state(path))
        picture = None if path is None else self._pictures.large(path)
        if picture is None:
            self.view.show_photo((), 0, 0)
        else:
            self.view.show_photo(picture.levels, picture.photo.width, picture.photo.height)
        marks: tuple[Mark, ...] = ()
        if seen is not None and picture is not None and path is not None:
            row = self.list.currentIndex().row()
            chosen = self.table.lines[row].said if row >= 0 else None
            marks = tuple(
                self._mark(path, number, tube.vessel, chosen is not None
                           and (chosen.path, chosen.tube) == (path, number))
                for number, tube in enumerate(seen.tubes, start=1)
            )  # fmt: skip
        self.view.show_marks(marks, seen.card if seen is not None and picture else None)

    def _mark(self, path: Path, number: int, quad: object, chosen: bool) -> Mark:
        said = self._model.draft.tube(path, number)
        words = said.label or ""
        if said.role == "blank":
            words = "blank"
        elif said.buffer is not None or said.value is not None:
            try:
                value, _ = said.known()
            except TintwellError:
                value = None
            words = "?" if value is None else f"{value:.4g}"
        return Mark(
            quad=quad,  # type: ignore[arg-type]
            number=str(number), words=words, is_used=said.is_said, is_chosen=chosen,
        )  # fmt: skip

    def _state(self, path: Path | None) -> str:
        if path is None:
            return "Add or drop photos of tubes of known value beside the whole grey card."
        if path in self._model.looking:
            return "Being looked at…"
        if path in self._model.unusable:
            error = self._model.unusable[path]
            return f"⚠ {error.what_happened} {error.what_to_do}"
        seen = self._model.seen.get(path)
        if seen is None:
            return "Not looked at yet."
        said = f"{len(seen.tubes)} tubes found" if seen.tubes else "No tube was found"
        heavy = [r for r in seen.reasons if r.weight != "note"]
        return f"{said}. " + " ".join(f"⚠ {r.text} {r.what_to_do}" for r in heavy)

    def _remove_photo(self) -> None:
        if self._path is not None:
            self._model.edit(self._model.draft.without_photo(self._path), "leave a photo out")

    # -- table --------------------------------------------------------------------------------

    def _lines_came(self) -> None:
        if self.table.lines and not self.list.currentIndex().isValid():
            self.list.setCurrentIndex(self.table.index(0, VALUE))

    def _follow(self) -> None:
        row = self.list.currentIndex().row()
        if 0 <= row < len(self.table.lines):
            self._path = self.table.lines[row].said.path
        self.refresh()

    def _tell_note(self) -> None:
        row = self.list.currentIndex().row()
        line = self.table.lines[row] if 0 <= row < len(self.table.lines) else None
        if line is None:
            self.note.setText("")
            return
        where = f"{line.said.path.name}, tube {line.said.tube}"
        sign = "⚠ " if line.note and line.said.is_said else ""
        self.note.setText(f"{where}: {sign}{line.note or 'used in the chart'}")

    def _choose_tube(self, place: int) -> None:
        for row, line in enumerate(self.table.lines):
            if line.said.path == self._path and line.said.tube == place + 1:
                self.list.setCurrentIndex(self.table.index(row, VALUE))
                self.list.setFocus()

    def same_in_next(self) -> None:
        """Say of the next photo's tubes what is said of this one's, and go there."""
        photos = self._model.draft.photos
        if self._path is None or self._path == photos[-1]:
            self._model.tell("There is no next photo.")
            return
        after = photos[photos.index(self._path) + 1]
        self._model.edit(self._model.draft.same_in_next(self._path), "same series again")
        for row, line in enumerate(self.table.lines):
            if line.said.path == after:
                self.list.setCurrentIndex(self.table.index(row, VALUE))
                break

    # -- sheets -------------------------------------------------------------------------------

    def ask_sheet(self) -> None:
        """Let the user choose a sheet of standards to take in."""
        path = self._tools.messages.ask_file("Import a sheet of standards", "charts", SHEETS)
        if path is not None:
            self.take_sheet(path)

    def take_sheet(self, path: Path) -> None:
        """Take in a sheet of standards with its photos."""
        try:
            rows = read_standards_sheet(path)
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        self._model.edit(self._model.draft.with_sheet(rows), "import a sheet")
        self._model.tell(f"{len(rows)} lines of {path.name} were taken in.")

    def ask_export(self) -> None:
        """Let the user name a file for the sheet of standards."""
        path = self._tools.messages.ask_new_file(
            "Export the sheet of standards", "charts", "standards.csv", SHEETS
        )
        if path is None:
            return
        try:
            export_sheet(self._model.draft, self._model.seen, path)
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        self._model.tell(f"Exported the sheet as {path}.")


def _button(text: str, picture: str | None, slot: Callable[[], object]) -> QPushButton:
    button = QPushButton(text)
    if picture is not None:
        button.setIcon(symbol(picture))
    button.clicked.connect(lambda: slot())
    return button
