"""Places sites by hand: markers on a plan's picture, or on squared paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPen, QPixmap, QResizeEvent, QWheelEvent
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
PAPER = PlanScale(east_per_px=0.1, north_per_px=0.0, origin=(0.0, 100.0))
"""Squared paper of 100 by 100 metres, where there is no picture."""
RADIUS = 9.0
ZOOM_STEP = 1.25


class SiteMarker(QGraphicsItem):
    """A site that can be dragged; keeps its size at any zoom."""

    def __init__(self, name: str, place: QPointF, view: PlanView) -> None:
        super().__init__()
        self.name = name
        self._view = view
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

    def mouseReleaseEvent(self, event: QGraphicsSceneMouseEvent) -> None:  # noqa: N802 - Qt's name
        """Tell where it was put."""
        super().mouseReleaseEvent(event)
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

    def show_plan(self, plan: Plan | None, sites: Sequence[Site]) -> None:
        """Show the sites that have a place on the plan."""
        self._scene.clear()
        self.markers = {}
        picture = QPixmap() if plan is None else QPixmap(str(plan.picture))
        if plan is None or picture.isNull():
            self._scale = PAPER
            self._draw_paper()
            self._scene.setSceneRect(0, 0, PAPER_PX, PAPER_PX)
        else:
            self._scale = plan.scale
            item = QGraphicsPixmapItem(picture)
            item.setTransformationMode(Qt.TransformationMode.SmoothTransformation)
            self._scene.addItem(item)
            self._scene.setSceneRect(item.boundingRect())
        for site in sites:
            if site.map_x_m is not None and site.map_y_m is not None:
                self.put(site.name, self._scale.to_pixels((site.map_x_m, site.map_y_m)))
        self.fit()

    def put(self, name: str, pixel: tuple[float, float]) -> SiteMarker:
        """Put a marker on the plan."""
        marker = SiteMarker(name, QPointF(*pixel), self)
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
