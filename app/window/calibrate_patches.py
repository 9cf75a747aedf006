"""The second step of a printed chart: its patches, marked on its photo, with their values."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QHeaderView,
    QTableView,
    QWidget,
)

from app.desk_outlines import quad_of
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_patch_table import VALUE, PatchTable
from app.window.calibrate_step import PhotoOverTable, push_button
from app.window.chart_photo_view import ChartPhotoView, Mark
from app.window.labels import ElidedLabel, muted
from app.window.photo_pictures import PhotoPictures
from colorcore.geometry import Box, Quad, box_of

HOW = (
    "Lay the chart flat beside the whole grey card and photograph both straight from above. Drag a "
    "rectangle inside each patch, clear of its edges and print; then type its value. Where the "
    "card is not found, drag one in its grey part and choose Patch is the card."
)


class PatchesStep(PhotoOverTable):
    """The photo above, the patches below."""

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
        self._dress_list()
        self.lay_out(
            (self._photo_row(), muted(HOW), self.view), (self.list, self._tools_row()),
            grows=(self.view, self.list), heights=(380, 220),
        )  # fmt: skip
        self.view.marked.connect(self._mark)
        self.view.mark_clicked.connect(lambda row: self._choose(row))
        self.list.selectionModel().currentChanged.connect(lambda *_: self.refresh())
        self.corners.toggled.connect(lambda _: self.refresh())
        model.changed.connect(self.refresh)
        model.judged.connect(self.refresh)
        pictures.large_came.connect(lambda _: self.refresh())
        self.refresh()

    def _photo_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addWidget(push_button("&Choose the photo…", "open", self.photos_asked.emit))
        row.addWidget(self.state, 1)
        self.find_button = push_button("&Find the card", None, self.find_card)
        self.find_button.setToolTip("Forget the card that was drawn, and find it again")
        self.card_button = push_button("Patch &is the card", None, self.take_card)
        self.card_button.setToolTip("The chosen patch is the grey part of the card")
        row.addWidget(self.find_button)
        row.addWidget(self.card_button)
        return row

    def _dress_list(self) -> None:
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

    def _tools_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addWidget(push_button("&Add a patch", "add", self.add_patch))
        self.copy_button = push_button("Same si&ze to the right", None, self.add_beside)
        self.copy_button.setToolTip("Ctrl+Return")
        row.addWidget(self.copy_button)
        self.remove_button = push_button("Remo&ve patch", "remove", self.remove_patch)
        row.addWidget(self.remove_button)
        row.addStretch()
        row.addWidget(self.corners)
        QShortcut(
            QKeySequence("Ctrl+Return"), self, self.add_beside,
            context=Qt.ShortcutContext.WidgetWithChildrenShortcut,
        )  # fmt: skip
        return row

    # -- patches ------------------------------------------------------------------------------

    def _mark(self, quad: Quad) -> None:
        self.table.add(quad)
        self._choose(len(self.table.rows) - 1)

    def _choose(self, row: int) -> None:
        self.list.setCurrentIndex(self.table.index(row, VALUE))
        self.list.setFocus()

    def add_patch(self) -> None:
        """Add a patch in the middle of the photo, to be placed by its numbers."""
        photo = self.view.picture.boundingRect()
        if not photo.isEmpty():
            w, h = photo.width() / 12, photo.height() / 12
            middle = photo.center()
            self._mark(quad_of(Box(middle.x() - w / 2, middle.y() - h / 2, w, h)))

    def add_beside(self) -> None:
        """Add a patch of the same size to the right of the chosen one, as far as the last two."""
        patches = self.table.rows
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
        if 0 <= row < len(self.table.rows):
            self.table.put(row, None)

    def take_card(self) -> None:
        """Take the chosen patch for the grey card."""
        row = self.list.currentIndex().row()
        if 0 <= row < len(self.table.rows):
            self._model.edit(self._model.draft.with_card(row), "draw the grey card")

    def find_card(self) -> None:
        """Let the card be found again."""
        self._model.edit(self._model.draft.with_found_card(), "find the grey card")

    def card(self) -> Quad | None:
        """Return the card as it was drawn, or as it was found when the patches were measured."""
        draft, quality = self._model.draft, self._model.quality
        drawn = draft.hand(draft.photos[0]).card if draft.photos else None
        if drawn is not None or quality is None or quality.chart.kind != "printed":
            return drawn
        measured = quality.chart.measurements[0]
        box = measured.measurement.card_box
        is_here = bool(draft.photos) and measured.photo == draft.photos[0].name
        return quad_of(box) if box is not None and is_here else None

    # -- showing ------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the photo with its patches."""
        if self._model.draft.kind != "printed":
            return
        photos = self._model.draft.photos
        self.state.setText(photos[0].name if photos else "Choose or drop the chart's photo.")
        picture = self._pictures.large(photos[0]) if photos else None
        self.view.show_picture(picture)
        chosen = self.list.currentIndex().row()
        marks = tuple(
            Mark(
                quad=patch.quad,
                number=str(row + 1),
                words=patch.label or "" if patch.value is None else f"{patch.value:.4g}",
                is_used=patch.is_said,
                is_chosen=row == chosen,
                line_px=4 if row == chosen else 2,
            )
            for row, patch in enumerate(self.table.rows)
        )
        if picture is None:
            self.view.show_marks((), None)
        else:
            self.view.show_marks(marks, self.card())
        self.view.draw_patches(picture is not None, by_corners=self.corners.isChecked())
        for button in (self.copy_button, self.remove_button, self.card_button):
            button.setEnabled(bool(self.table.rows))
        is_drawn = bool(photos) and self._model.draft.hand(photos[0]).card is not None
        self.find_button.setVisible(is_drawn)
