"""Shows a map that was laid out as shapes; it can be zoomed and its places pointed at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPen,
    QPixmap,
    QPolygonF,
    QResizeEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QGraphicsEllipseItem,
    QGraphicsItem,
    QGraphicsPathItem,
    QGraphicsPixmapItem,
    QGraphicsScene,
    QGraphicsView,
    QWidget,
)

from app.window.theme import SURROUND

if TYPE_CHECKING:
    from app.exports.map_shapes import Layer, Shape, Words
    from app.site_map.map_view import MapView
    from app.tasks.plan_file import Plan

ZOOM_STEP = 1.25
CLOSEST, FARTHEST = 12.0, 0.2
PLAN_STRENGTH = 0.55
SEAM_PX = 1.5


class MapCanvas(QGraphicsView):
    """A sheet of paper with the map.

    Signals
    -------
    site_chosen(str)
        A site was clicked.
    """

    site_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._scene = QGraphicsScene(self)
        self.setScene(self._scene)
        self.setBackgroundBrush(QColor(SURROUND))
        self.setRenderHints(
            QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
        )
        self.setDragMode(QGraphicsView.DragMode.ScrollHandDrag)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.AnchorUnderMouse)
        self.setAccessibleName("Map of the sites")
        self._view: MapView | None = None
        self._is_fitted = True

    def clear_map(self) -> None:
        """Show an empty sheet."""
        self._view = None
        self._scene.clear()

    def show_map(self, view: MapView, layer: Layer, plan: Plan | None) -> None:
        """Show a map over its plan."""
        from app.exports.map_drawing import draw_map
        from app.exports.map_shapes import HEIGHT, WIDTH

        self._view = view
        self._scene.clear()
        self._scene.setSceneRect(0, 0, WIDTH, HEIGHT)
        paper, *shapes = draw_map(view, layer)
        self._scene.addItem(_item(paper))
        if plan is not None:
            self._lay_plan(view, plan)
        for shape in shapes:
            self._scene.addItem(_item(shape))
        if self._is_fitted:
            self.fit()

    def _lay_plan(self, view: MapView, plan: Plan) -> None:
        from app.exports.map_shapes import BOTTOM, LEFT, RIGHT, TOP, Sheet

        picture = QPixmap(str(plan.picture))
        if picture.isNull():
            return
        sheet = Sheet(frame=view.frame)
        corner, right, down = (
            QPointF(*sheet.to_px(plan.scale.to_metres(x, y)))
            for x, y in ((0, 0), (picture.width(), 0), (0, picture.height()))
        )
        wide, high = max(picture.width(), 1), max(picture.height(), 1)
        frame = QGraphicsPathItem()
        clip = QPainterPath()
        clip.addRect(QRectF(LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP))
        frame.setPath(clip)
        frame.setPen(QPen(Qt.PenStyle.NoPen))
        frame.setFlag(QGraphicsItem.GraphicsItemFlag.ItemClipsChildrenToShape)
        item = QGraphicsPixmapItem(picture, frame)
        item.setTransformationMode(Qt.TransformationMode.SmoothTransformation)
        item.setOpacity(PLAN_STRENGTH)
        item.setTransform(
            QTransform(
                (right.x() - corner.x()) / wide, (right.y() - corner.y()) / wide,
                (down.x() - corner.x()) / high, (down.y() - corner.y()) / high,
                corner.x(), corner.y(),
            )
        )  # fmt: skip
        self._scene.addItem(frame)

    def fit(self) -> None:
        """Show the whole sheet."""
        self._is_fitted = True
        self.fitInView(self._scene.sceneRect(), Qt.AspectRatioMode.KeepAspectRatio)

    def zoom(self, factor: float) -> None:
        """Come closer or go farther away."""
        if FARTHEST < self.transform().m11() * factor < CLOSEST:
            self._is_fitted = False
            self.scale(factor, factor)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Zoom by keys; the arrows move the sheet."""
        if event.key() in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(ZOOM_STEP)
        elif event.key() == Qt.Key.Key_Minus:
            self.zoom(1 / ZOOM_STEP)
        elif event.key() == Qt.Key.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Keep the whole sheet in sight where it was."""
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        """Zoom about the pointer."""
        self.zoom(ZOOM_STEP if event.angleDelta().y() > 0 else 1 / ZOOM_STEP)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Choose the site under the pointer."""
        super().mousePressEvent(event)
        if self._view is None:
            return
        from app.exports.map_shapes import SYMBOL, Sheet

        at = self.mapToScene(event.position().toPoint())
        sheet = Sheet(frame=self._view.frame)
        for point in self._view.points:
            x, y = sheet.to_px(point.reading.place)
            if abs(at.x() - x) < 1.5 * SYMBOL and abs(at.y() - y) < 1.5 * SYMBOL:
                self.site_chosen.emit(point.reading.name)


def _item(shape: Shape) -> QGraphicsItem:
    from app.exports.map_shapes import Disc, Words

    if isinstance(shape, Words):
        return _words(shape)
    if isinstance(shape, Disc):
        (x, y), r = shape.center, shape.radius
        disc = QGraphicsEllipseItem(x - r, y - r, 2 * r, 2 * r)
        disc.setBrush(QColor(f"#{shape.fill}"))
        disc.setPen(QPen(QColor(f"#{shape.line}"), 1.5))
        return disc
    outline = QPainterPath()
    outline.addPolygon(QPolygonF([QPointF(*point) for point in shape.points]))
    if shape.is_closed:
        outline.closeSubpath()
    item = QGraphicsPathItem(outline)
    if shape.fill is None:
        item.setBrush(QBrush(Qt.BrushStyle.NoBrush))
    else:
        item.setBrush(QColor(f"#{shape.fill}"))
    if shape.line is None:
        seam = QPen(Qt.PenStyle.NoPen)
        if shape.fill is not None:
            # smoothed edges of neighbors would let the paper shine through between them
            seam = QPen(QColor(f"#{shape.fill}"), SEAM_PX)
            seam.setCosmetic(True)
        item.setPen(seam)
    else:
        pen = QPen(QColor(f"#{shape.line}"), shape.width)
        if shape.dash is not None:
            pen.setDashPattern([length / max(shape.width, 0.1) for length in shape.dash])
        item.setPen(pen)
    return item


def _words(words: Words) -> QGraphicsItem:
    """Draw a line of text with its halo; as outlines, so that it scales like the rest."""
    font = QFont()
    font.setPixelSize(round(words.size))
    font.setBold(words.is_bold)
    path = QPainterPath()
    path.addText(QPointF(0, 0), font, words.text)
    wide = path.boundingRect().right()
    shift = {"start": 0.0, "middle": wide / 2, "end": wide}[words.anchor]
    path.translate(words.place[0] - shift, words.place[1])
    ink = QGraphicsPathItem(path)
    ink.setPen(QPen(Qt.PenStyle.NoPen))
    ink.setBrush(QColor(f"#{words.color}"))
    if not words.has_halo:
        return ink
    halo = QGraphicsPathItem(path)
    halo.setPen(QPen(QColor("white"), 4.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap,
                     Qt.PenJoinStyle.RoundJoin))  # fmt: skip
    halo.setBrush(Qt.BrushStyle.NoBrush)
    ink.setParentItem(halo)
    return halo
