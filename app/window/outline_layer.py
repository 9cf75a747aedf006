"""Outlines over the photo: card, vessels, regions and the tubes' numbers, seen on any ground."""

from collections.abc import Mapping

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.desk_outlines import ShownTube
from app.window.standings import draw_standing
from colorcore.geometry import Quad, box_of

DARK = QColor(16, 18, 14)
LIGHT = QColor(255, 255, 255)
HANDLE = 9  # screen pixels
BADGE = 24


class OutlineLayer(QGraphicsItem):
    """Draws outlines with a dark line under a light one, equally wide at any zoom."""

    def __init__(self) -> None:
        super().__init__()
        self.setZValue(1)
        self._size = QRectF()
        self._card: Quad | None = None
        self._tubes: tuple[ShownTube, ...] = ()
        self._standings: Mapping[int, str] = {}
        self.chosen: int | None = None
        self.edited: Quad | None = None
        self.corner: int | None = None

    def show_outlines(
        self,
        size: QRectF,
        card: Quad | None,
        tubes: tuple[ShownTube, ...],
        standings: Mapping[int, str],
        chosen: int | None,
    ) -> None:
        """Show these outlines.

        Parameters
        ----------
        size : QRectF
            The photo.
        card : Quad or None
            The grey area.
        tubes : tuple of ShownTube
            From the left.
        standings : mapping
            Where each tube's reading stands, by its place.
        chosen : int or None
            Place of the tube that is emphasised.
        """
        self.prepareGeometryChange()
        self._size, self._card, self._tubes = size, card, tubes
        self._standings, self.chosen = standings, chosen
        self.update()

    def show_edited(self, quad: Quad | None, corner: int | None) -> None:
        """Show handles on an outline that can be moved, or none."""
        self.edited, self.corner = quad, corner
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """Return the photo with room for numbers at its rim."""
        side = 0.1 * max(self._size.width(), self._size.height(), 1.0)
        return self._size.adjusted(-side, -side, side, side)

    def tube_at(self, place: QPointF) -> int | None:
        """Return the tube under a place of the photo, the smallest outline first."""
        hits = [
            (QPolygonF(_points(quad)).boundingRect().width(), number)
            for number, tube in enumerate(self._tubes, start=1)
            for quad in (tube.region, tube.vessel)
            if quad is not None
            and QPolygonF(_points(quad)).containsPoint(place, Qt.FillRule.OddEvenFill)
        ]
        return min(hits)[1] if hits else None

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Draw everything; numbers last, so that no line crosses them."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        view = painter.worldTransform()
        if self._card is not None:
            _double_line(painter, self._card, 1.4)
        for number, tube in enumerate(self._tubes, start=1):
            chosen = number == self.chosen
            _double_line(painter, tube.vessel, 1.0, dashed=True)
            if tube.region is not None and not (chosen and self.edited is not None):
                _double_line(painter, tube.region, 3.2 if chosen else 1.6)
        if self.edited is not None:
            _double_line(painter, self.edited, 2.2)
        painter.resetTransform()
        if self._card is not None:
            box = box_of(self._card)
            at = view.map(QPointF(box.center[0], box.y + box.h))
            _word(painter, at + QPointF(0, 4), "card")
        font = painter.font()
        font.setBold(True)
        painter.setFont(font)
        right = float("-inf")
        for number, tube in enumerate(self._tubes, start=1):
            standing = self._standings.get(number)
            place = _badge_place(painter, view, tube, number, standing is not None)
            place.moveLeft(max(place.left(), right + 3))  # beside its neighbor, not over it
            right = place.right()
            _badge(painter, place, number, standing, number == self.chosen)
        if self.edited is not None:
            for corner, (x, y) in enumerate(self.edited):
                _handle(painter, view.map(QPointF(x, y)), corner == self.corner)


def _points(quad: Quad) -> list[QPointF]:
    return [QPointF(x, y) for x, y in quad]


def _double_line(painter: QPainter, quad: Quad, width: float, *, dashed: bool = False) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for color, wide in ((DARK, width + (1.2 if dashed else 2)), (LIGHT, width)):
        pen = QPen(color, wide)
        pen.setCosmetic(True)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if dashed and color is LIGHT:
            pen.setDashPattern([6, 5])
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.drawPolygon(QPolygonF(_points(quad)))


def _handle(painter: QPainter, at: QPointF, chosen: bool) -> None:
    side = HANDLE + (4 if chosen else 0)
    painter.setPen(QPen(DARK, 1.5))
    painter.setBrush(DARK if chosen else LIGHT)
    painter.drawRect(QRectF(at.x() - side / 2, at.y() - side / 2, side, side))
    if chosen:
        painter.setPen(QPen(LIGHT, 1.5))
        painter.drawRect(QRectF(at.x() - side / 2 + 2, at.y() - side / 2 + 2, side - 4, side - 4))


def _word(painter: QPainter, at: QPointF, text: str) -> None:
    width = painter.fontMetrics().horizontalAdvance(text) + 12
    place = QRectF(at.x() - width / 2, at.y(), width, painter.fontMetrics().height() + 4)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(DARK)
    painter.drawRoundedRect(place, 4, 4)
    painter.setPen(LIGHT)
    painter.drawText(place, Qt.AlignmentFlag.AlignCenter, text)


def _badge_place(
    painter: QPainter, view: QTransform, tube: ShownTube, number: int, has_symbol: bool
) -> QRectF:
    """Return where a tube's number stands: above it, inside what is seen."""
    box = box_of(tube.vessel)
    at = view.map(QPointF(box.center[0], box.y))
    width = painter.fontMetrics().horizontalAdvance(str(number)) + 14 + (18 if has_symbol else 0)
    return QRectF(at.x() - width / 2, max(at.y() - BADGE - 5, 3.0), width, BADGE)


def _badge(
    painter: QPainter, place: QRectF, number: int, standing: str | None, chosen: bool
) -> None:
    """Draw a tube's number and its standing's symbol."""
    ground, ink = (LIGHT, DARK) if chosen else (DARK, LIGHT)
    painter.setPen(QPen(DARK if chosen else LIGHT, 1.2))
    painter.setBrush(ground)
    painter.drawRoundedRect(place, 5, 5)
    painter.setPen(ink)
    words = place.adjusted(7, 0, -7, 0)
    left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
    painter.drawText(words, left, str(number))
    if standing:
        mark = QRectF(place.right() - 7 - 14, place.center().y() - 7, 14, 14)
        draw_standing(painter, standing, mark, ink)
