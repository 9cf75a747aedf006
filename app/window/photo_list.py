"""The strip of photos: small pictures with their standing, filtered, ordered, chosen."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import (
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QKeyEvent, QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from app.desk import DeskPhoto
from app.window.desk_model import DeskModel
from app.window.photo_list_model import ORDERS, PHOTO_ROLE, ChosenPhotos, PhotoListModel
from app.window.photo_pictures import PhotoPictures
from app.window.standings import STANDING_WORDS, draw_standing
from app.window.theme import SPACE, current_tones

PICTURE = QSize(60, 50)
MARK = 15
FILTERS = (None, "accepted", "doubtful", "refused", "waiting", "found")


class _PhotoDelegate(QStyledItemDelegate):
    """Draws a photo's small picture, name and standing."""

    def __init__(self, pictures: PhotoPictures, parent: QWidget) -> None:
        super().__init__(parent)
        self._pictures = pictures

    def sizeHint(  # noqa: N802 - Qt's name
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return the same size for all."""
        return QSize(160, max(PICTURE.height(), 3 * option.fontMetrics.height()) + 2 * SPACE)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw one photo; its picture is asked for only here, so only for rows that are seen."""
        photo: DeskPhoto = index.data(PHOTO_ROLE)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        palette, role = option.palette, QPalette.ColorRole
        if chosen:
            painter.fillRect(option.rect, palette.color(role.Highlight))
        ink = palette.color(role.HighlightedText if chosen else role.Text)
        area = option.rect.adjusted(SPACE, SPACE, -SPACE, -SPACE)
        self._draw_picture(painter, photo, QRect(area.topLeft(), PICTURE))
        left = area.left() + PICTURE.width() + SPACE
        width = area.right() - left
        line = option.fontMetrics.height()
        top = area.top() + max(0, (area.height() - 3 * line) // 2)
        painter.setPen(ink)
        font = QFont(option.font)
        font.setWeight(QFont.Weight.DemiBold if chosen else QFont.Weight.Normal)
        painter.setFont(font)
        name = painter.fontMetrics().elidedText(
            photo.path.name, Qt.TextElideMode.ElideMiddle, width
        )
        painter.drawText(QRect(left, top, width, line), Qt.AlignmentFlag.AlignLeft, name)
        painter.setFont(option.font)
        mark = QRectF(left, top + line + (line - MARK) / 2, MARK, MARK)
        draw_standing(painter, photo.standing, mark, ink if chosen else None)
        word = option.fontMetrics.elidedText(
            STANDING_WORDS[photo.standing], Qt.TextElideMode.ElideRight, width - MARK - 4
        )
        painter.drawText(left + MARK + 4, top + line + option.fontMetrics.ascent(), word)
        if not chosen:
            painter.setPen(current_tones().muted)
        painter.drawText(left, top + 2 * line + option.fontMetrics.ascent(), _count(photo))
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(ink)
            painter.drawRect(option.rect.adjusted(1, 1, -2, -2))
        painter.restore()

    def _draw_picture(self, painter: QPainter, photo: DeskPhoto, place: QRect) -> None:
        picture = self._pictures.small(photo.path)
        if picture is None:
            painter.setPen(current_tones().line)
            painter.drawRect(place.adjusted(0, 0, -1, -1))
            return
        size = picture.size().scaled(place.size(), Qt.AspectRatioMode.KeepAspectRatio)
        target = QRect(place.topLeft(), size)
        target.moveCenter(place.center())
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(target, picture)


class PhotoList(QWidget):
    """The strip with its filter and order.

    Signals
    -------
    remove_asked()
        The chosen photos are to be taken off the desk.
    """

    remove_asked = Signal()

    def __init__(
        self, desk: DeskModel, pictures: PhotoPictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._desk = desk
        self.photos = PhotoListModel(desk, self)
        self.chosen_photos = ChosenPhotos(self.photos, self)
        self.standing = QComboBox()
        self.standing.setAccessibleName("Show photos of one standing")
        self.standing.setToolTip("Show photos of one standing")
        for standing in FILTERS:
            self.standing.addItem(STANDING_WORDS.get(standing or "", "All photos"), standing)
        self.order = QComboBox()
        self.order.setAccessibleName("Order of the photos")
        self.order.setToolTip("Order of the photos")
        for order, words in ORDERS.items():
            self.order.addItem(words, order)
        for box in (self.standing, self.order):
            box.setMinimumContentsLength(6)
            box.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
        self.view = QListView()
        self.view.setAccessibleName("Photos on the desk")
        self.view.setModel(self.chosen_photos)
        self.view.setItemDelegate(_PhotoDelegate(pictures, self.view))
        self.view.setUniformItemSizes(True)
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.view.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.view.setFrameShape(QFrame.Shape.NoFrame)
        self.view.installEventFilter(self)
        top = QHBoxLayout()
        top.setContentsMargins(SPACE, SPACE, SPACE, SPACE // 2)
        top.setSpacing(SPACE // 2)
        top.addWidget(self.standing, 1)
        top.addWidget(self.order, 1)
        box_all = QVBoxLayout(self)
        box_all.setContentsMargins(0, 0, 0, 0)
        box_all.setSpacing(0)
        box_all.addLayout(top)
        box_all.addWidget(self.view, 1)
        pictures.small_came.connect(self._redraw)
        self.standing.activated.connect(self._filter)
        self.order.activated.connect(lambda: self.photos.show_order(self.order.currentData()))
        self._leaving = False  # rows are leaving: the photo that is shown stays
        self.chosen_photos.rowsAboutToBeRemoved.connect(lambda *_: self._leave(True))
        self.chosen_photos.rowsRemoved.connect(lambda *_: self._leave(False))
        self.view.selectionModel().currentChanged.connect(self._choose)
        desk.chosen_changed.connect(self.follow)
        self.follow()

    def selected(self) -> tuple[Path, ...]:
        """Return the chosen photos in the order that is shown."""
        indexes = sorted(self.view.selectionModel().selectedIndexes(), key=lambda i: i.row())
        return tuple(index.data(PHOTO_ROLE).path for index in indexes)

    def shown(self) -> Sequence[DeskPhoto]:
        """Return all photos that the filter lets through, in the order that is shown."""
        count = self.chosen_photos.rowCount()
        return [self.chosen_photos.index(row, 0).data(PHOTO_ROLE) for row in range(count)]

    def step(self, by: int) -> None:
        """Choose the next photo, or the one before."""
        row = self.view.currentIndex().row() + by
        index = self.chosen_photos.index(row, 0)
        if index.isValid():
            self.view.setCurrentIndex(index)

    def follow(self) -> None:
        """Let the photo that is shown large be the current one here, where it is listed."""
        row = self.photos.row(self._desk.desk.chosen)
        index = QModelIndex()
        if row is not None:
            index = self.chosen_photos.mapFromSource(self.photos.index(row, 0))
        if not index.isValid():
            self.view.selectionModel().clear()
        elif index != self.view.currentIndex():
            flags = QItemSelectionModel.SelectionFlag
            self.view.selectionModel().setCurrentIndex(index, flags.ClearAndSelect)
            self.view.scrollTo(index)

    def eventFilter(self, watched: object, event: object) -> bool:  # noqa: N802 - Qt's name
        """Take the delete key."""
        wanted = (
            isinstance(event, QKeyEvent)
            and event.type() == QKeyEvent.Type.KeyPress
            and event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
        )
        if wanted:
            self.remove_asked.emit()
        return wanted

    def _filter(self) -> None:
        self.chosen_photos.show_standing(self.standing.currentData())
        self.follow()

    def _leave(self, leaving: bool) -> None:
        self._leaving = leaving
        if not leaving:
            self.follow()

    def _choose(self, now: QModelIndex) -> None:
        if self._leaving:
            return
        photo = now.data(PHOTO_ROLE) if now.isValid() else None
        if photo is not None and photo.path != self._desk.desk.chosen:
            self._desk.choose(photo.path)

    def _redraw(self) -> None:
        self.view.viewport().update()


def _count(photo: DeskPhoto) -> str:
    count = 0 if photo.look is None else len(photo.look.tubes)
    said = "" if not count else f"{count} tube{'' if count == 1 else 's'}"
    return f"{said}, {len(photo.kept)} kept" if photo.kept else said
