"""The desk's photos as a list, with a filter by standing and four orders."""

from pathlib import Path
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
    QTimer,
)

from app.desk import DeskPhoto
from app.window.desk_model import DeskModel
from app.window.standings import STANDING_WORDS

PHOTO_ROLE = Qt.ItemDataRole.UserRole + 1
ORDERS = {"added": "As added", "name": "By name", "time": "By time taken", "worst": "Worst first"}
WORST_FIRST = ("refused", "doubtful", "found", "waiting", "accepted")
LATER_MS = 500  # photos that are read in quick succession are put in order together
Index = QModelIndex | QPersistentModelIndex


class PhotoListModel(QAbstractListModel):
    """All photos on the desk, in one of the orders."""

    def __init__(self, desk: DeskModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._order = "added"
        self._places: list[int] = []
        self._rows: dict[Path, int] = {}
        self._later = QTimer(self, singleShot=True, interval=LATER_MS)
        self._later.timeout.connect(self._arrange)
        self._take_all()
        desk.photos_changed.connect(self._take_photos)
        desk.photo_changed.connect(self._tell)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, N802 - Qt's way
        """Return how many photos lie on the desk."""
        return 0 if parent.isValid() else len(self._places)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the name of a photo, what is said aloud of it, or the photo itself."""
        photo = self.photo(index.row())
        if photo is None:
            return None
        if role == PHOTO_ROLE:
            return photo
        if role == Qt.ItemDataRole.DisplayRole:
            return photo.path.name
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{photo.path}\n{say_photo(photo)}"
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{photo.path.name}, {say_photo(photo)}"
        return None

    def photo(self, row: int) -> DeskPhoto | None:
        """Return the photo of a row."""
        if not 0 <= row < len(self._places):
            return None
        place, photos = self._places[row], self._desk.desk.photos
        return photos[place] if place < len(photos) else None

    def row(self, path: Path | None) -> int | None:
        """Return the row of a photo."""
        return None if path is None else self._rows.get(path)

    def show_order(self, order: str) -> None:
        """Show the photos in an order of `ORDERS`."""
        self._order = order
        self._arrange()

    def _take_all(self) -> None:
        photos = self._desk.desk.photos
        self._places = sorted(range(len(photos)), key=lambda place: self._key(photos[place], place))
        self._rows = {photos[place].path: row for row, place in enumerate(self._places)}

    def _take_photos(self) -> None:
        photos = self._desk.desk.photos
        before = len(self._places)
        if self._order == "added" and list(self._rows) == [p.path for p in photos[:before]]:
            self.beginInsertRows(QModelIndex(), before, len(photos) - 1)
            self._take_all()
            self.endInsertRows()
        else:
            self.beginResetModel()
            self._take_all()
            self.endResetModel()

    def _arrange(self) -> None:
        """Put the rows in order; what is chosen stays chosen."""
        self.layoutAboutToBeChanged.emit()
        indexes = self.persistentIndexList()
        photos = [self.photo(index.row()) for index in indexes]
        self._take_all()
        rows = [None if photo is None else self._rows.get(photo.path) for photo in photos]
        self.changePersistentIndexList(
            indexes, [QModelIndex() if row is None else self.index(row, 0) for row in rows]
        )
        self.layoutChanged.emit()

    def _tell(self, path: Path) -> None:
        row = self._rows.get(path)
        if row is None:
            return
        index = self.index(row, 0)
        self.dataChanged.emit(index, index)
        if self._order in ("worst", "time") and not self._later.isActive():
            self._later.start()

    def _key(self, photo: DeskPhoto, place: int) -> tuple[Any, ...]:
        if self._order == "name":
            return (photo.path.name.casefold(), place)
        if self._order == "worst":
            return (WORST_FIRST.index(photo.standing), place)
        if self._order == "time":
            taken = None if photo.look is None else photo.look.taken_at
            # photos without a time come last
            return (taken is None, "" if taken is None else taken.isoformat(), place)
        return (place,)


class ChosenPhotos(QSortFilterProxyModel):
    """The photos of one standing."""

    def __init__(self, source: PhotoListModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._photos = source
        self._standing: str | None = None
        self.setSourceModel(source)

    def show_standing(self, standing: str | None) -> None:
        """Show only photos of this standing; None: all."""
        self._standing = standing
        self.invalidate()

    def filterAcceptsRow(self, row: int, parent: Index) -> bool:  # noqa: N802 - Qt's name
        """Tell whether a photo has the standing that is shown."""
        if self._standing is None:
            return True
        photo = self._photos.photo(row)
        return photo is not None and photo.standing == self._standing


def say_photo(photo: DeskPhoto) -> str:
    """Say where a photo stands and how much of it was kept."""
    said = STANDING_WORDS[photo.standing]
    if photo.look is not None and photo.look.tubes:
        count = len(photo.look.tubes)
        said += f", {count} tube{'' if count == 1 else 's'}"
    if photo.kept:
        said += f", {len(photo.kept)} kept"
    return said
