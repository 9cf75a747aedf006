"""A photo of known tubes with their numbers, or of a printed chart whose patches are marked."""

from dataclasses import dataclass
from math import atan2

from PySide6.QtCore import QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QMouseEvent, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from app.window.photo_pictures import LargePicture
from app.window.photo_view import PhotoView
from colorcore.geometry import Quad

LEAST_PX = 6  # on the screen: a patch that is smaller was a click


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """An outline over the photo.

    Parameters
    ----------
    quad : Quad
        Corners, full-size upright pixels.
    region : Quad or None
        Corners of the part of it that is averaged, where that is not all of it.
    number : str
        Written at its upper end.
    words : str
        Written below the number.
    is_used : bool
        Whether it has a value; others are drawn dashed.
    is_chosen : bool
        Whether it is the one that is filled in.
    line_px : int
        How thick its outline is on the screen; 0 for one that is drawn by something else.
    """

    quad: Quad
    number: str
    words: str
    is_used: bool
    is_chosen: bool
    line_px: int
    region: Quad | None = None


class ChartPhotoView(PhotoView):
    """Draws marks over the photo.

    Signals
    -------
    mark_clicked(int)
        One of the marks, by its place.
    marked(Quad)
        A patch was drawn.
    """

    mark_clicked = Signal(int)
    marked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._marks: tuple[Mark, ...] = ()
        self._card: Quad | None = None
        self._card_line = True
        self._picture: LargePicture | None = None  # held: its largest image only borrows
        self._drawn: list[QPointF] = []
        self.is_drawing = False
        self.by_corners = False
        self.setAccessibleName("Photo of the known tubes")
        self.setMinimumSize(200, 120)
        self.clicked.connect(self._click)

    def show_picture(self, picture: LargePicture | None) -> None:
        """Show a photo; None shows none."""
        self._picture = picture
        if picture is None:
            self.show_photo((), 0, 0)
        else:
            self.show_photo(picture.levels, picture.photo.width, picture.photo.height)

    def show_marks(
        self, marks: tuple[Mark, ...], card: Quad | None, *, card_line: bool = True
    ) -> None:
        """Draw these marks and the card, or only its name where its outline is in hand."""
        self._marks, self._card, self._card_line = marks, card, card_line
        self.viewport().update()

    def draw_patches(self, on: bool, *, by_corners: bool = False) -> None:
        """Let the mouse draw patches: by dragging a rectangle, or by four corners in turn."""
        self.is_drawing, self.by_corners = on, by_corners
        self._drawn = []
        cursor = Qt.CursorShape.CrossCursor if on else Qt.CursorShape.ArrowCursor
        self.viewport().setCursor(cursor)
        self.viewport().update()

    def _click(self, at: QPointF) -> None:
        for place, mark in enumerate(self._marks):
            if _polygon(mark.quad).containsPoint(at, Qt.FillRule.OddEvenFill):
                self.mark_clicked.emit(place)
                return

    # -- drawing patches ----------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Begin a patch, or what the plain view does."""
        if not self.is_drawing or event.button() != Qt.MouseButton.LeftButton:
            super().mousePressEvent(event)
            return
        at = self.mapToScene(event.position().toPoint())
        if self.by_corners:
            self._drawn.append(at)
            if len(self._drawn) == 4:
                self._finish(_ordered(self._drawn))
        else:
            self._drawn = [at, at]
        self.viewport().update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Draw the rectangle on."""
        if self.is_drawing and not self.by_corners and self._drawn:
            self._drawn[1] = self.mapToScene(event.position().toPoint())
            self.viewport().update()
            return
        super().mouseMoveEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """End the rectangle; one that is too small was a click on a mark."""
        if not self.is_drawing or self.by_corners or not self._drawn:
            super().mouseReleaseEvent(event)
            return
        rect = QRectF(self._drawn[0], self._drawn[1]).normalized()
        self._drawn = []
        if min(rect.width(), rect.height()) * self.scale_now < LEAST_PX:
            self._click(rect.center())
        else:
            x, y, w, h = rect.x(), rect.y(), rect.width(), rect.height()
            self._finish(((x, y), (x + w, y), (x + w, y + h), (x, y + h)))
        self.viewport().update()

    def _finish(self, quad: Quad) -> None:
        self._drawn = []
        self.marked.emit(quad)

    # -- what lies over the photo -------------------------------------------------------------

    def drawForeground(  # noqa: N802 - Qt's name
        self, painter: QPainter, rect: QRectF | QRect
    ) -> None:
        """Draw the marks; their lines and words keep their size at any zoom."""
        painter.save()
        painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._card is not None:
            shape = self._on_screen(self._card)
            if self._card_line:
                self._outline(painter, shape, Qt.PenStyle.DotLine, 2)
            self._badge(painter, "card", shape.boundingRect(), [], chosen=False)
        placed: list[QRectF] = []
        for mark in self._marks:
            shape = self._on_screen(mark.quad)
            style = Qt.PenStyle.SolidLine if mark.is_used else Qt.PenStyle.DashLine
            if mark.line_px:
                self._outline(painter, shape, style, mark.line_px)
            if mark.region is not None:
                self._outline(painter, self._on_screen(mark.region), Qt.PenStyle.SolidLine, 1)
            words = f"{mark.number}\n{mark.words}" if mark.words else mark.number
            self._badge(painter, words, shape.boundingRect(), placed, chosen=mark.is_chosen)
        if self._drawn:
            self._draw_new(painter)
        painter.restore()

    def _draw_new(self, painter: QPainter) -> None:
        points = [QPointF(self.mapFromScene(point)) for point in self._drawn]
        if self.by_corners:
            self._outline(painter, QPolygonF(points), Qt.PenStyle.SolidLine, 2, closed=False)
            for point in points:
                painter.drawEllipse(point, 4, 4)
        else:
            shape = QPolygonF(QRectF(points[0], points[1]).normalized())
            self._outline(painter, shape, Qt.PenStyle.SolidLine, 2)

    def _on_screen(self, quad: Quad) -> QPolygonF:
        return QPolygonF([QPointF(self.mapFromScene(QPointF(x, y))) for x, y in quad])

    def _outline(
        self,
        painter: QPainter,
        shape: QPolygonF,
        style: Qt.PenStyle,
        width: int,
        *,
        closed: bool = True,
    ) -> None:
        """Draw a line that is seen on any color: dark below, light above."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for color, wide, line in (
            ("#101210", width + 2, Qt.PenStyle.SolidLine),
            ("#ffffff", width, style),
        ):
            painter.setPen(QPen(QColor(color), wide, line))
            if closed:
                painter.drawPolygon(shape)
            else:
                painter.drawPolyline(shape)

    def _badge(
        self, painter: QPainter, words: str, box: QRectF, placed: list[QRectF], *, chosen: bool
    ) -> None:
        """Write words above a box, beside those that were placed before and not over them."""
        font = QFont(self.font())
        font.setBold(True)
        painter.setFont(font)
        metrics = painter.fontMetrics()
        lines = words.split("\n")
        width = max(metrics.horizontalAdvance(line) for line in lines) + 10
        height = metrics.height() * len(lines) + 4
        left = min(max(box.center().x() - width / 2, 2), self.viewport().width() - width - 2)
        top = max(box.top() - height - 3, 2)
        place = QRectF(left, top, width, height)
        for other in placed:
            if place.intersects(other):
                place.moveLeft(other.right() + 3)
        placed.append(place)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor("#ffffff" if chosen else "#101210"))
        painter.drawRoundedRect(place, 4, 4)
        painter.setPen(QColor("#101210" if chosen else "#ffffff"))
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, words)


def _polygon(quad: Quad) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in quad])


def _ordered(points: list[QPointF]) -> Quad:
    """Put four corners in turn round their middle, so that the sides never cross."""
    x = sum(point.x() for point in points) / 4
    y = sum(point.y() for point in points) / 4
    turned = sorted(points, key=lambda point: atan2(point.y() - y, point.x() - x))
    one, two, three, four = ((point.x(), point.y()) for point in turned)
    return one, two, three, four
