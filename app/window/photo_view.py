"""The photo, large: zoomed, panned, fitted, with what lies over it."""

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QFrame,
    QGraphicsItem,
    QGraphicsScene,
    QGraphicsView,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.window.theme import SURROUND

STEP = 1.25  # of the zoom keys
MOST = 16.0  # screen pixels for one of the photo
MARGIN = 0.03  # of the photo's size that stays grey round it when it is fitted
CLICK_PX = 5  # a mouse that moved less was clicked, not dragged


class PhotoItem(QGraphicsItem):
    """A photo in several sizes; the one that is drawn has just enough pixels."""

    def __init__(self) -> None:
        super().__init__()
        self._levels: tuple[QImage, ...] = ()
        self._size = QSizeF()

    def show_levels(self, levels: tuple[QImage, ...], width: int, height: int) -> None:
        """Show these pictures of a photo that is so wide and high."""
        self.prepareGeometryChange()
        self._levels, self._size = levels, QSizeF(width, height)
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """Return the whole photo."""
        return QRectF(0, 0, self._size.width(), self._size.height())

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Draw the part that is seen."""
        if not self._levels:
            return
        scale = abs(painter.worldTransform().m11()) * painter.device().devicePixelRatioF()
        needed = scale * self._size.width()
        level = next(
            (item for item in reversed(self._levels) if item.width() >= needed), self._levels[0]
        )
        seen = option.exposedRect.intersected(self.boundingRect())
        x, y = level.width() / self._size.width(), level.height() / self._size.height()
        source = QRectF(seen.x() * x, seen.y() * y, seen.width() * x, seen.height() * y)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, needed < 3 * level.width())
        painter.drawImage(seen, level, source)


class PhotoView(QGraphicsView):
    """Shows one photo on neutral grey.

    Signals
    -------
    clicked(QPointF)
        A place of the photo was clicked, in its pixels.
    hovered(QPointF or None)
        The pointer is over a place of the photo, or left it.
    zoomed(float)
        Screen pixels for one of the photo.
    """

    clicked = Signal(QPointF)
    hovered = Signal(object)
    zoomed = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._place = QGraphicsScene(self)
        self.setScene(self._place)
        self.picture = PhotoItem()
        self.picture.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._place.addItem(self.picture)
        self.setBackgroundBrush(QColor(SURROUND))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.AnchorUnderMouse)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.AnchorViewCenter)
        self.setMouseTracking(True)
        self.setAcceptDrops(False)  # the window takes what is dropped
        self.setMinimumSize(200, 160)
        self.setAccessibleName("Photo with outlines")
        self._is_fitted = True
        self._pressed: QPoint | None = None
        self._dragged = False

    def show_photo(self, levels: tuple[QImage, ...], width: int, height: int) -> None:
        """Show a photo, fitted where it is not as large as the one before."""
        new = QRectF(0, 0, width, height)
        same = new == self.picture.boundingRect() and not new.isEmpty()
        self.picture.show_levels(levels, width, height)
        side = MARGIN * max(width, height)
        self._place.setSceneRect(new.adjusted(-side, -side, side, side))
        if not same or self._is_fitted:
            self.fit()

    # -- zoom ---------------------------------------------------------------------------------

    @property
    def scale_now(self) -> float:
        """Screen pixels for one of the photo."""
        return self.transform().m11()

    def fit(self) -> None:
        """Show all of the photo, also when the window is resized."""
        self._is_fitted = True
        if not self.picture.boundingRect().isEmpty():
            self.fitInView(self._place.sceneRect(), Qt.AspectRatioMode.KeepAspectRatio)
            self.zoomed.emit(self.scale_now)

    def zoom(self, factor: float, *, middle: bool = True) -> None:
        """Come closer by a factor, about the middle or about the pointer."""
        least = min(
            self.viewport().width() / max(self._place.width(), 1.0),
            self.viewport().height() / max(self._place.height(), 1.0),
        )
        wanted = min(max(self.scale_now * factor, least), MOST)
        if wanted <= least:
            self.fit()
            return
        self._is_fitted = False
        anchor = QGraphicsView.ViewportAnchor
        self.setTransformationAnchor(anchor.AnchorViewCenter if middle else anchor.AnchorUnderMouse)
        self.scale(wanted / self.scale_now, wanted / self.scale_now)
        self.zoomed.emit(self.scale_now)

    def closer(self) -> None:
        """Come one step closer."""
        self.zoom(STEP)

    def farther(self) -> None:
        """Go one step back."""
        self.zoom(1 / STEP)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        """Zoom about the pointer; with Shift or sideways, move."""
        turn = event.angleDelta()
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier or abs(turn.x()) > abs(turn.y()):
            super().wheelEvent(event)
            return
        self.zoom(STEP ** (turn.y() / 120), middle=False)
        event.accept()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Keep a fitted photo fitted."""
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()

    def viewportEvent(self, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        """Zoom where two fingers say so; hear the pointer leave."""
        if isinstance(event, QNativeGestureEvent):
            if event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
                self.zoom(1 + event.value(), middle=False)
                return True
        elif event.type() == QEvent.Type.Leave:
            self.hovered.emit(None)
        return super().viewportEvent(event)

    # -- pointer and keys ---------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Begin a click or the moving of the photo."""
        if event.button() in (Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton):
            self._pressed, self._dragged = event.position().toPoint(), False
            event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Move the photo, or tell where the pointer is."""
        at = event.position().toPoint()
        if self._pressed is not None:
            by = at - self._pressed
            if self._dragged or by.manhattanLength() >= CLICK_PX:
                self._dragged, self._pressed = True, at
                self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
                for bar, way in (
                    (self.horizontalScrollBar(), by.x()),
                    (self.verticalScrollBar(), by.y()),
                ):
                    bar.setValue(bar.value() - way)
            return
        place = self.mapToScene(at)
        self.hovered.emit(place if self.picture.boundingRect().contains(place) else None)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """End a click or the moving of the photo."""
        if self._pressed is None:
            return
        self.viewport().unsetCursor()
        if not self._dragged and event.button() == Qt.MouseButton.LeftButton:
            self.clicked.emit(self.mapToScene(event.position().toPoint()))
        self._pressed, self._dragged = None, False

    def event(self, event: QEvent) -> bool:
        """Keep Ctrl+0, which elsewhere shows the first page, for fitting the photo."""
        if isinstance(event, QKeyEvent) and _is_fit_key(event):
            if event.type() == QEvent.Type.ShortcutOverride:
                event.accept()
                return True
            if event.type() == QEvent.Type.KeyPress:
                self.fit()
                return True
        return super().event(event)


def _is_fit_key(event: QKeyEvent) -> bool:
    return event.key() == Qt.Key.Key_0 and event.modifiers() == Qt.KeyboardModifier.ControlModifier
