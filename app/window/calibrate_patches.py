"""The second step of a printed chart: its patches, marked on its photo, with their values."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QSplitter,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_patch_table import VALUE, PatchTable
from app.window.chart_photo_view import ChartPhotoView, Mark
from app.window.labels import ElidedLabel, muted
from app.window.photo_pictures import PhotoPictures
from app.window.symbols import symbol
from app.window.theme import SPACE
from colorcore.geometry import Quad, box_of

HOW = (
    "Lay the chart flat beside the whole grey card and photograph both straight from above. Drag a "
    "rectangle inside each patch, clear of its edges and print; then type its value."
)


class PatchesStep(QWidget):
    """The photo above, the patches below.

    Signals
    -------
    photos_asked()
        The user wants to choose the photo.
    """

    photos_asked = Signal()

    def __init__(
        self, model: CalibrateModel, pictures: PhotoPictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._model, self._pictures = model, pictures
        self.view = ChartPhotoView()
        self.view.setAccessibleName("Photo of the printed chart")
        self.table = PatchTable(model, self)
        self.list = QTableView()
        self.corners = QCheckBox("By four co&rners")
        self.state = ElidedLabel("muted")
        self._build()
        self.view.marked.connect(self._mark)
        self.view.mark_clicked.connect(lambda row: self._choose(row))
        self.list.selectionModel().currentChanged.connect(lambda *_: self.refresh())
        self.corners.toggled.connect(lambda _: self.refresh())
        model.changed.connect(self.refresh)
        pictures.large_came.connect(lambda _: self.refresh())
        self.refresh()

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
        row.addWidget(_button("&Choose the photo…", "open", self.photos_asked.emit))
        row.addWidget(self.state, 1)
        box.addLayout(row)
        box.addWidget(muted(HOW))
        box.addWidget(self.view, 1)
        split.addWidget(upper)
        box = QVBoxLayout(lower)
        box.setContentsMargins(SPACE, SPACE // 2, SPACE, 0)
        self.list.setModel(self.table)
        self.list.setAccessibleName("Patches and their values")
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setAlternatingRowColors(True)
        self.list.setShowGrid(False)
        self.list.setTabKeyNavigation(False)
        self.list.verticalHeader().hide()
        self.list.setEditTriggers(QAbstractItemView.EditTrigger.AllEditTriggers)
        header = self.list.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        header.setHighlightSections(False)
        box.addWidget(self.list, 1)
        row = QHBoxLayout()
        row.addWidget(_button("&Add a patch", "add", self.add_patch))
        self.copy_button = _button("Same si&ze to the right", None, self.add_beside)
        row.addWidget(self.copy_button)
        self.remove_button = _button("Remo&ve patch", "remove", self.remove_patch)
        row.addWidget(self.remove_button)
        row.addStretch()
        row.addWidget(self.corners)
        QShortcut(
            QKeySequence("Ctrl+Return"), self, self.add_beside,
            context=Qt.ShortcutContext.WidgetWithChildrenShortcut,
        )  # fmt: skip
        self.copy_button.setToolTip("Ctrl+Return")
        box.addLayout(row)
        split.addWidget(lower)
        split.setSizes([380, 220])

    # -- patches ------------------------------------------------------------------------------

    def _mark(self, quad: Quad) -> None:
        self.table.add(quad)
        self._choose(len(self.table.patches) - 1)

    def _choose(self, row: int) -> None:
        self.list.setCurrentIndex(self.table.index(row, VALUE))
        self.list.setFocus()

    def add_patch(self) -> None:
        """Add a patch in the middle of the photo, to be placed by its numbers."""
        picture = self._picture()
        if picture is not None:
            w, h = picture[1] / 12, picture[2] / 12
            x, y = (picture[1] - w) / 2, (picture[2] - h) / 2
            self._mark(((x, y), (x + w, y), (x + w, y + h), (x, y + h)))

    def add_beside(self) -> None:
        """Add a patch of the same size to the right of the chosen one, as far as the last two."""
        patches = self.table.patches
        if not patches:
            self.add_patch()
            return
        row = self.list.currentIndex().row()
        at = row if 0 <= row < len(patches) else len(patches) - 1
        box = box_of(patches[at].quad)
        step = 1.3 * box.w
        if at > 0:
            step = box.x - box_of(patches[at - 1].quad).x or step
        one, two, three, four = ((x + step, y) for x, y in patches[at].quad)
        self._mark((one, two, three, four))

    def remove_patch(self) -> None:
        """Take the chosen patch away."""
        row = self.list.currentIndex().row()
        if 0 <= row < len(self.table.patches):
            self.table.put(row, None)

    # -- showing ------------------------------------------------------------------------------

    def _picture(self) -> tuple[Any, int, int] | None:
        photos = self._model.draft.photos
        large = self._pictures.large(photos[0]) if photos else None
        return None if large is None else (large.levels, large.photo.width, large.photo.height)

    def refresh(self) -> None:
        """Show the photo with its patches."""
        if self._model.draft.kind != "printed":
            return
        photos, picture = self._model.draft.photos, self._picture()
        self.state.setText(photos[0].name if photos else "Choose or drop the chart's photo.")
        if picture is None:
            self.view.show_photo((), 0, 0)
        else:
            self.view.show_photo(*picture)
        chosen = self.list.currentIndex().row()
        marks = tuple(
            Mark(
                quad=patch.quad,
                number=str(row + 1),
                words=patch.label or "" if patch.value is None else f"{patch.value:.4g}",
                is_used=patch.value is not None or patch.label is not None,
                is_chosen=row == chosen,
            )
            for row, patch in enumerate(self.table.patches)
        )
        self.view.show_marks(marks if picture is not None else (), None)
        self.view.draw_patches(picture is not None, by_corners=self.corners.isChecked())
        for button in (self.copy_button, self.remove_button):
            button.setEnabled(bool(self.table.patches))


def _button(text: str, picture: str | None, slot: Callable[[], object]) -> QPushButton:
    button = QPushButton(text)
    if picture is not None:
        button.setIcon(symbol(picture))
    button.clicked.connect(lambda: slot())
    return button
