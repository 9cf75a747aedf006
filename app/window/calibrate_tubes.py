"""The second step of a chart of tubes: photos, and the table of their known values."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QDoubleSpinBox, QHBoxLayout, QLabel, QWidget

from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_photo import KnownTubesPhoto
from app.window.calibrate_step import PhotoOverTable, push_button
from app.window.calibrate_table import StandardsView
from app.window.calibrate_table_model import StandardsTable
from app.window.calibrate_typing import VALUE
from app.window.labels import ElidedLabel
from app.window.photo_pictures import PhotoPictures


class TubesStep(PhotoOverTable):
    """Photos above, table below."""

    def __init__(
        self, model: CalibrateModel, pictures: PhotoPictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._model = model
        self.table = StandardsTable(model, self)
        self.list = StandardsView(self.table)
        self.photo = KnownTubesPhoto(model, pictures)
        self.note = ElidedLabel("plain")
        self.warmth = QDoubleSpinBox()
        self.lay_out(
            (self.photo,), (self.list, self.note, self._tools_row()),
            grows=(self.photo, self.list), heights=(300, 320),
        )  # fmt: skip
        self.photo.photos_asked.connect(self.photos_asked)
        self.photo.outlines.editor.changed.connect(self._make_room)
        self.photo.shown_changed.connect(self.refresh)
        self.photo.tube_wanted.connect(lambda tube: self._choose(self.photo.path, tube))
        self.photo.view.mark_clicked.connect(lambda _: self._clicked())
        self.list.selectionModel().currentChanged.connect(lambda *_: self._follow())
        self.table.modelReset.connect(self._lines_came)
        model.changed.connect(self.refresh)
        model.judged.connect(self.table.refresh)
        model.judged.connect(self._tell_note)
        self.refresh()

    def _tools_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.fill_button = push_button("Fill &down", None, self.list.fill_down)
        self.fill_button.setToolTip("Chosen cells take what the first of them says (Ctrl+D)")
        self.next_button = push_button("&Same in next photo", None, self.same_in_next)
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

    def refresh(self) -> None:
        """Show what the draft holds."""
        for button in (self.fill_button, self.next_button):
            button.setEnabled(bool(self._model.draft.photos))
        self.photo.show_tube(self.photo.path, self._tube_shown())
        self._tell_note()

    def _tube_shown(self) -> int | None:
        """Return the tube of the line that is filled in, where it is in the photo that is shown."""
        row = self.list.currentIndex().row()
        said = self.table.rows[row].said if 0 <= row < len(self.table.rows) else None
        return said.tube if said is not None and said.path == self.photo.path else None

    def _lines_came(self) -> None:
        path = self.photo.path
        if path not in self._model.draft.photos and self.table.rows:
            path = self.table.rows[0].said.path
        self._choose(path, self.photo.tube)

    def _choose(self, path: Path | None, tube: int | None) -> None:
        row = None if path is None else self.table.row_of(path, tube)
        if row is not None:
            self.list.setCurrentIndex(self.table.index(row, VALUE))

    def _follow(self) -> None:
        row = self.list.currentIndex().row()
        if 0 <= row < len(self.table.rows):
            said = self.table.rows[row].said
            self.photo.show_tube(said.path, said.tube)
        self.refresh()

    def _tell_note(self) -> None:
        row = self.list.currentIndex().row()
        line = self.table.rows[row] if 0 <= row < len(self.table.rows) else None
        if line is None:
            self.note.setText("")
            return
        where = f"{line.said.path.name}, tube {line.said.tube}"
        sign = "⚠ " if line.note and line.said.is_said else ""
        used = "" if line.note else "used in the chart"
        words = ", ".join(filter(None, (used, line.words)))
        self.note.setText(f"{where}: {sign}{words}")

    def _make_room(self) -> None:
        """Leave the room of the table to the photo while outlines are moved on it."""
        self.halves[1].setVisible(not self.photo.outlines.editor.is_on)

    def _clicked(self) -> None:
        if not self.photo.outlines.editor.is_on:
            self.list.setFocus()

    def same_in_next(self) -> None:
        """Say of the next photo's tubes what is said of this one's, and go there."""
        photos, path = self._model.draft.photos, self.photo.path
        if path is None or path == photos[-1]:
            self._model.tell("There is no next photo.")
            return
        after = photos[photos.index(path) + 1]
        self._model.edit(self._model.draft.same_in_next(path), "same series again")
        self.photo.show_photo(after)
        self._choose(after, None)
