"""Pictures of photos, made on the work bench and kept while they are likely to be seen again."""

from collections import OrderedDict
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from app.window.long_work import WorkBench
from colorcore.errors import PhotoError

if TYPE_CHECKING:
    from app.tasks.screen_picture import Picture
    from colorcore.photo import Photo

LARGE_KEPT = 3  # some 50 MB each at 12 megapixels
SMALL_KEPT = 400
SMALL_PX = 128  # drawn at half of it, so that it is sharp on a screen of double density
AT_ONCE = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LargePicture:
    """A photo for the screen.

    Parameters
    ----------
    photo : Photo
        As it is read.
    levels : tuple of QImage
        From the largest to the smallest.
    largest : ndarray
        Codes of the largest, which its image only borrows.
    """

    photo: "Photo"
    levels: tuple[QImage, ...]
    largest: "Picture"


class PhotoPictures(QObject):
    """Makes pictures where they are wanted; the newest wish comes first.

    Signals
    -------
    large_came(Path), small_came(Path)
        A picture can be had now, or it is known that there is none.
    """

    large_came = Signal(object)
    small_came = Signal(object)
    _made = Signal(bool, object, object)

    def __init__(self, bench: WorkBench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._large: OrderedDict[Path, LargePicture | None] = OrderedDict()
        self._small: OrderedDict[Path, QImage | None] = OrderedDict()
        self._wanted: OrderedDict[Path, None] = OrderedDict()
        self._making: set[tuple[bool, Path]] = set()
        self._closed = False
        self._made.connect(self._take)

    def large(self, path: Path) -> LargePicture | None:
        """Return the large picture of a photo; None while it is being made, or cannot be."""
        if path in self._large:
            self._large.move_to_end(path)
            return self._large[path]
        self._make(True, path)
        return None

    def small(self, path: Path) -> QImage | None:
        """Return the small picture of a photo; None while it is being made, or cannot be."""
        if path in self._small:
            self._small.move_to_end(path)
            return self._small[path]
        self._wanted[path] = None
        self._wanted.move_to_end(path)
        while len(self._wanted) > SMALL_KEPT // 4:  # scrolled past long ago
            self._wanted.popitem(last=False)
        self._go_on()
        return None

    def close(self) -> None:
        """Make no more."""
        self._closed = True
        self._wanted.clear()

    def _go_on(self) -> None:
        busy = sum(1 for is_large, _ in self._making if not is_large)
        while self._wanted and busy < AT_ONCE and not self._closed:
            path, _ = self._wanted.popitem(last=True)
            busy += self._make(False, path)

    def _make(self, is_large: bool, path: Path) -> bool:
        if self._closed or (is_large, path) in self._making:
            return False
        self._making.add((is_large, path))
        future = self._bench.submit(_large if is_large else _small, path)
        future.add_done_callback(lambda done: self._bring(done, is_large, path))
        return True

    def _bring(self, done: "Future[Any]", is_large: bool, path: Path) -> None:
        """Run on a thread of the pool: hand over by signal."""
        if not done.cancelled() and not self._closed:
            self._made.emit(is_large, path, done.result())

    def _take(self, is_large: bool, path: Path, picture: Any) -> None:
        self._making.discard((is_large, path))
        shelf: OrderedDict[Path, Any] = self._large if is_large else self._small
        shelf[path] = picture
        while len(shelf) > (LARGE_KEPT if is_large else SMALL_KEPT):
            shelf.popitem(last=False)
        (self.large_came if is_large else self.small_came).emit(path)
        self._go_on()


def _large(path: Path) -> LargePicture | None:
    from app.tasks.screen_picture import read_screen_picture

    try:
        made = read_screen_picture(path)
    except PhotoError:
        return None
    largest, *smaller = made.levels
    # The largest is drawn in parts only: it is not copied. The others are drawn whole, quickly.
    levels = (_borrowed(largest), *(_image(level) for level in smaller))
    return LargePicture(photo=made.photo, levels=levels, largest=largest)


def _small(path: Path) -> QImage | None:
    from app.tasks.screen_picture import read_thumbnail

    try:
        return _image(read_thumbnail(path, SMALL_PX))
    except PhotoError:
        return None


def _image(pixels: "Picture") -> QImage:
    return _borrowed(pixels).convertToFormat(QImage.Format.Format_RGB32)  # a copy


def _borrowed(pixels: "Picture") -> QImage:
    height, width = pixels.shape[:2]
    return QImage(pixels.data, width, height, 3 * width, QImage.Format.Format_BGR888)
