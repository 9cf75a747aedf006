"""Names many tubes at once: a pasted list, and how it is going to fill the tubes."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QHeaderView,
    QPlainTextEdit,
    QSpinBox,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.desk import DeskPhoto, PhotoEdits
from app.desk_names import NamedTube, fill_names, naming, read_names
from app.window.headed_rows import HeadedRows, Place
from app.window.labels import muted, subheading
from app.window.theme import SPACE, current_tones

HOW = (
    "Paste sample names, one a line. They fill the tubes from the left, photo after photo. "
    "“Oak Bed x3” stands in three tubes."
)
COLUMNS = ("Photo", "Tube", "Sample", "Replicate", "In place of")


class _Preview(HeadedRows):
    """What each tube is going to be called."""

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        tube: NamedTube = self.rows[index.row()]
        if role == Qt.ItemDataRole.ForegroundRole and tube.sample is None:
            return QColor(current_tones().muted)
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        was = tube.was if tube.was and tube.sample and tube.was != tube.sample else ""
        cells = (
            tube.path.name, str(tube.tube), tube.sample or (tube.was or "–"),
            tube.replicate or "", was,
        )  # fmt: skip
        return cells[index.column()]


class NamesDialog(QDialog):
    """Takes a list of names and shows what it does before it is done.

    Signals
    -------
    taken(dict)
        The photos' new edits, by photo.
    """

    taken = Signal(object)

    def __init__(
        self,
        photos: Sequence[DeskPhoto],
        selected: Sequence[Path],
        chosen: Path | None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Name tubes")
        self.resize(900, 560)
        self._photos = photos
        self._ranges = {"all": tuple(photos)}
        places = {photo.path: place for place, photo in enumerate(photos)}
        if chosen in places:
            self._ranges["from"] = tuple(photos[places[chosen] :])
        if len(selected) > 1:
            self._ranges["selected"] = tuple(p for p in photos if p.path in set(selected))
        self.names = QPlainTextEdit()
        self.names.setAccessibleName("Sample names, one a line")
        self.names.setPlaceholderText("Oak Bed x3\nPlot 7\nFern End")
        self.names.setTabChangesFocus(True)
        self._make_choices()
        self.model = _Preview(COLUMNS, self)
        self.preview = QTableView()
        self.preview.setModel(self.model)
        self.preview.setAccessibleName("What each tube is going to be called")
        self.preview.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.preview.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.preview.verticalHeader().hide()
        self.preview.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 10)
        self.preview.setWordWrap(False)
        head = self.preview.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        for column, width in enumerate((150, 46, 130, 76)):
            self.preview.setColumnWidth(column, width)
        head.setSectionResizeMode(4, QHeaderView.ResizeMode.Stretch)
        head.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        self.summary = muted()
        self._lay_out()
        self.names.textChanged.connect(self._show)
        self._show()
        self.names.setFocus()

    def _make_choices(self) -> None:
        self.replicates = QSpinBox()
        self.replicates.setRange(1, 20)
        self.which = QComboBox()
        words = {
            "all": "All photos",
            "from": "From the shown photo on",
            "selected": "The selected photos",
        }
        for key in reversed(self._ranges):
            self.which.addItem(words[key], key)
        self.which.setCurrentIndex(
            self.which.findData("selected" if "selected" in self._ranges else "all")
        )
        self.whole = QComboBox()
        self.whole.addItem("Each tube is a sample", False)
        self.whole.addItem("All tubes of a photo are one sample", True)
        self.keep_named = QCheckBox("Leave tubes alone that have a name")
        self.replicates.valueChanged.connect(self._show)
        for box in (self.which, self.whole):
            box.activated.connect(self._show)
        self.keep_named.toggled.connect(self._show)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.addWidget(muted(HOW))
        left.addWidget(self.names, 1)
        form = QFormLayout()
        form.addRow("&Photos", self.which)
        form.addRow("&In each photo", self.whole)
        form.addRow("&Replicates of each", self.replicates)
        form.addRow("", self.keep_named)
        left.addLayout(form)
        right = QVBoxLayout()
        right.addWidget(subheading("Preview"))
        right.addWidget(self.preview, 1)
        right.addWidget(self.summary)
        both = QHBoxLayout()
        both.setSpacing(2 * SPACE)
        both.addLayout(left, 2)
        both.addLayout(right, 3)
        box = QVBoxLayout(self)
        box.addLayout(both, 1)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.apply = self.buttons.addButton("Name tubes", QDialogButtonBox.ButtonRole.AcceptRole)
        self.apply.setObjectName("main")
        self.buttons.accepted.connect(self._take)
        self.buttons.rejected.connect(self.reject)
        box.addWidget(self.buttons)

    def _show(self) -> None:
        names = read_names(self.names.toPlainText(), replicates=self.replicates.value())
        tubes, left_over = fill_names(
            names,
            self._ranges[self.which.currentData()],
            whole_photos=self.whole.currentData(),
            keep_named=self.keep_named.isChecked(),
        )
        self.model.show_rows(tubes)
        named = sum(tube.sample is not None for tube in tubes)
        replaced = sum(bool(t.sample and t.was and t.was != t.sample) for t in tubes)
        said = [f"{named} of {len(tubes)} tubes get a name"]
        if replaced:
            said.append(f"{replaced} had another one")
        if left_over:
            said.append(f"{left_over} of the list find no tube")
        waiting = sum(photo.look is None for photo in self._ranges[self.which.currentData()])
        if waiting:
            said.append(f"{waiting} photos are still being read and are passed over")
        self.summary.setText("; ".join(said) + ".")
        self.apply.setEnabled(named > 0)

    def _take(self) -> None:
        photos = {photo.path: photo for photo in self._photos}
        changes: dict[Path, PhotoEdits] = naming(self.model.rows, photos)
        self.taken.emit(changes)
        self.accept()
