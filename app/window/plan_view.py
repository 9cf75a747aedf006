"""Places sites by hand: markers on a plan's picture, or on squared paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPixmapItem,
    QGraphicsScene,
    QGraphicsSceneMouseEvent,
    QGraphicsView,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.site_map.plane import PlanScale
from app.window.theme import SURROUND

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.survey.site import Site
    from app.tasks.plan_file import Plan

PAPER_PX = 1000
SQUARES = 10
EDGE_PX = 40
PAPER = PlanScale(east_per_px=0.1, north_per_px=0.0, origin=(0.0, 100.0))
"""Squared paper of 100 by 100 metres, where there is no picture."""
RADIUS = 9.0
SETTLED_MS = 500  # after the last key
ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, 1),
    Qt.Key.Key_Down: (0, -1),
}
"""Metres to the east and to the north; more with Shift."""
ZOOM_STEP = 1.25


class SiteMarker(QGraphicsItem):
    """A site that can be dragged; keeps its size at any zoom."""

    def __init__(self, name: str, place: QPointF, view: PlanView) -> None:
        super().__init__()
        self.name = name
        self._view = view
        self._pressed_at = place
        self.setPos(place)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIsMovable)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIsSelectable)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self.setToolTip(name)
        self.setZValue(2)

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """Return what it covers."""
        return QRectF(-RADIUS - 2, -RADIUS - 2, 260, 2 * RADIUS + 4)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw a disc and the name on white."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor("black"), 2))
        painter.setBrush(QColor("#ffe9a8" if self.isSelected() else "white"))
        painter.drawEllipse(QPointF(0, 0), RADIUS, RADIUS)
        text = self.name if len(self.name) < 30 else self.name[:28] + "…"
        wide = painter.fontMetrics().horizontalAdvance(text) + 8
        box = QRectF(RADIUS + 4, -10, wide, 20)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(255, 255, 255, 220))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(QColor("black"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def mousePressEvent(self, event: QGraphicsSceneMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Note where it was."""
        self._pressed_at = self.pos()
        super().mousePressEvent(event)

    def mouseReleaseEvent(self, event: QGraphicsSceneMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Tell where it was put."""
        super().mouseReleaseEvent(event)
        if self.pos() != self._pressed_at:
            self._view.tell_place(self)


class PlanView(QGraphicsView):
    """The plan with its markers.

    Signals
    -------
    placed(str, float, float)
        A site was put at metres to the east and to the north.
    pointed(float, float)
        The plan itself was clicked, in pixels of its picture.
    """

    placed = Signal(str, float, float)
    pointed = Signal(float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._scene = QGraphicsScene(self)
        self.setScene(self._scene)
        self.setBackgroundBrush(QColor(SURROUND))
        self.setRenderHints(
            QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
        )
        self.setAccessibleName("Plan with the sites")
        self._scale = PAPER
        self.markers: dict[str, SiteMarker] = {}
        self.can_move = True
        self._moved: SiteMarker | None = None
        self._settled = QTimer(self, singleShot=True, interval=SETTLED_MS)
        self._settled.timeout.connect(self._tell_moved)

    def show_plan(self, plan: Plan | None, sites: Sequence[Site]) -> None:
        """Show the sites that have a place on the plan."""
        chosen, before = self.chosen, self._scene.sceneRect()
        self._moved = None
        self._scene.clear()
        self.markers = {}
        picture = QPixmap() if plan is None else QPixmap(str(plan.picture))
        if plan is None or picture.isNull():
            self._scale = PAPER
            self._draw_paper()
            self._scene.setSceneRect(self._paper_with(sites))
        else:
            self._scale = plan.scale
            item = QGraphicsPixmapItem(picture)
            item.setTransformationMode(Qt.TransformationMode.SmoothTransformation)
            self._scene.addItem(item)
            self._scene.setSceneRect(item.boundingRect())
        for site in sites:
            if site.map_x_m is not None and site.map_y_m is not None:
                self.put(site.name, self._scale.to_pixels((site.map_x_m, site.map_y_m)))
        if chosen in self.markers:
            self.markers[chosen].setSelected(True)
        if self._scene.sceneRect() != before:
            self.fit()

    @property
    def chosen(self) -> str:
        """Name of the site whose marker is chosen, blank for none."""
        return next((name for name, m in self.markers.items() if m.isSelected()), "")

    def choose_next(self, step: int) -> None:
        """Choose another marker, in the order of names."""
        names = sorted(self.markers)
        if not names:
            return
        place = names.index(self.chosen) + step if self.chosen else 0
        self._scene.clearSelection()
        marker = self.markers[names[place % len(names)]]
        marker.setSelected(True)
        marker.ensureVisible()

    def nudge(self, east: float, north: float) -> None:
        """Move the chosen marker by metres; it is told when it has come to rest."""
        marker = self.markers.get(self.chosen)
        if marker is None or not self.can_move:
            return
        x, y = self._scale.to_metres(marker.pos().x(), marker.pos().y())
        marker.setPos(QPointF(*self._scale.to_pixels((x + east, y + north))))
        self._moved = marker
        self._settled.start()

    def _tell_moved(self) -> None:
        if self._moved is not None:
            self.tell_place(self._moved)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Move the chosen marker, choose another one, zoom."""
        arrow = ARROWS.get(Qt.Key(event.key()))
        if arrow is not None:
            far = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            metres = 10.0 if far else 1.0
            self.nudge(metres * arrow[0], metres * arrow[1])
        elif event.key() in (Qt.Key.Key_PageDown, Qt.Key.Key_PageUp):
            self.choose_next(1 if event.key() == Qt.Key.Key_PageDown else -1)
        elif event.key() in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.scale(ZOOM_STEP, ZOOM_STEP)
        elif event.key() == Qt.Key.Key_Minus:
            self.scale(1 / ZOOM_STEP, 1 / ZOOM_STEP)
        elif event.key() == Qt.Key.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    def put(self, name: str, pixel: tuple[float, float]) -> SiteMarker:
        """Put a marker on the plan."""
        marker = SiteMarker(name, QPointF(*pixel), self)
        marker.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIsMovable, self.can_move)
        self._scene.addItem(marker)
        self.markers[name] = marker
        return marker

    def put_new(self, name: str) -> None:
        """Put a site that has no place yet into the middle of what is seen."""
        middle = self.mapToScene(self.viewport().rect().center())
        self.tell_place(self.put(name, (middle.x(), middle.y())))

    def tell_place(self, marker: SiteMarker) -> None:
        """Tell where a marker lies."""
        east, north = self._scale.to_metres(marker.pos().x(), marker.pos().y())
        self.placed.emit(marker.name, round(east, 2), round(north, 2))

    def _paper_with(self, sites: Sequence[Site]) -> QRectF:
        """Return the paper and the sites that lie beside it."""
        rect = QRectF(0, 0, PAPER_PX, PAPER_PX)
        for site in sites:
            if site.map_x_m is not None and site.map_y_m is not None:
                at = QPointF(*self._scale.to_pixels((site.map_x_m, site.map_y_m)))
                edge = QPointF(EDGE_PX, EDGE_PX)
                rect = rect.united(QRectF(at - edge, at + edge))
        return rect

    def _draw_paper(self) -> None:
        self._scene.addRect(0, 0, PAPER_PX, PAPER_PX, QPen(QColor("#888888")), QColor("white"))
        step = PAPER_PX / SQUARES
        for number in range(1, SQUARES):
            line = QPen(QColor("#d5d5d5"), 0)
            self._scene.addLine(number * step, 0, number * step, PAPER_PX, line)
            self._scene.addLine(0, number * step, PAPER_PX, number * step, line)

    def fit(self) -> None:
        """Show all of the plan."""
        self.fitInView(self._scene.sceneRect(), Qt.AspectRatioMode.KeepAspectRatio)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Keep all of the plan in sight."""
        super().resizeEvent(event)
        self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        """Zoom."""
        factor = ZOOM_STEP if event.angleDelta().y() > 0 else 1 / ZOOM_STEP
        self.scale(factor, factor)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Tell where the plan was pointed at."""
        at = self.mapToScene(event.position().toPoint())
        self.pointed.emit(at.x(), at.y())
