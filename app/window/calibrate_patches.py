"""The second step of a printed chart: its patches, marked on its photo, with their values."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)
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

from app.tasks.chart_draft import ChartDraft, DraftPatch
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_table_model import number_of
from app.window.chart_photo_view import ChartPhotoView, Mark
from app.window.labels import ElidedLabel, muted
from app.window.photo_pictures import PhotoPictures
from app.window.symbols import symbol
from app.window.theme import SPACE
from colorcore.geometry import Quad, box_of

COLUMNS = ("Patch", "Value", "Label", "Left", "Top", "Width", "Height")
NUMBER, VALUE, LABEL, LEFT = range(4)
HOW = (
    "Lay the chart flat beside the whole grey card and photograph both straight from above. Drag a "
    "rectangle inside each patch, clear of its edges and print; then type its value."
)
Index = QModelIndex | QPersistentModelIndex


class PatchTable(QAbstractTableModel):
    """The patches with their places, editable by keyboard."""

    def __init__(self, model: CalibrateModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._count = 0
        model.changed.connect(self._take)

    @property
    def patches(self) -> tuple[DraftPatch, ...]:
        """The patches of the draft."""
        return self._model.draft.patches

    def _take(self) -> None:
        if len(self.patches) != self._count:
            self.beginResetModel()
            self._count = len(self.patches)
            self.endResetModel()
        elif self._count:
            last = self.index(self._count - 1, len(COLUMNS) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of patches."""
        return 0 if parent.isValid() else self._count

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the columns' headings."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return COLUMNS[section]
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return what can be done with a cell."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags if index.column() == NUMBER else flags | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return None
        patch, column = self.patches[index.row()], index.column()
        if column == NUMBER:
            return str(index.row() + 1)
        if column == VALUE:
            return "" if patch.value is None else f"{patch.value:.6g}"
        if column == LABEL:
            return patch.label or ""
        return f"{box_of(patch.quad)[column - LEFT]:.0f}"

    def setData(  # noqa: N802 - Qt's name
        self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Take what was typed."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        patch, column, text = self.patches[index.row()], index.column(), str(value)
        try:
            if column == VALUE:
                new = replace(patch, value=number_of(text))
            elif column == LABEL:
                new = replace(patch, label=" ".join(text.split()) or None)
            else:
                new = replace(patch, quad=_placed(patch.quad, column - LEFT, number_of(text)))
        except ValueError:
            self._model.tell(f"'{text}' is no number that can stand there; nothing was changed.")
            return False
        self.put(index.row(), new)
        return True

    def put(self, row: int, patch: DraftPatch | None) -> None:
        """Change one patch; None takes it away."""
        patches = list(self.patches)
        patches[row : row + 1] = [] if patch is None else [patch]
        self.say(tuple(patches), "change a patch")

    def add(self, quad: Quad) -> None:
        """Add a patch behind the others."""
        self.say((*self.patches, DraftPatch(quad=quad)), "mark a patch")

    def say(self, patches: tuple[DraftPatch, ...], text: str) -> None:
        """Say of the draft that these are its patches."""
        draft: ChartDraft = replace(self._model.draft, patches=patches)
        self._model.edit(draft, text)


def _placed(quad: Quad, which: int, number: float | None) -> Quad:
    """Move or stretch a patch so that one number of its box is the given one."""
    if number is None or (which >= 2 and not number > 0):
        raise ValueError("a place has a number, a size is above zero")
    box = list(box_of(quad))
    old = tuple(box)
    box[which] = number
    x, y, w, h = box

    def moved(point: tuple[float, float]) -> tuple[float, float]:
        return (
            x + (point[0] - old[0]) * w / max(old[2], 1e-9),
            y + (point[1] - old[1]) * h / max(old[3], 1e-9),
        )

    one, two, three, four = (moved(point) for point in quad)
    return one, two, three, four


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
