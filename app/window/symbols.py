"""Small drawings for buttons, in the ink of the present look; drawn, so sharp at any size."""

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QIcon,
    QIconEngine,
    QPainter,
    QPainterPath,
    QPalette,
    QPen,
    QPixmap,
    QPolygonF,
)
from PySide6.QtWidgets import QApplication

Drawing = Callable[[QPainter], None]
GRID = 24.0  # every drawing lies on a square of 24 by 24


def _line(p: QPainter, *points: tuple[float, float]) -> None:
    p.drawPolyline(QPolygonF([QPointF(x, y) for x, y in points]))


def _tube(p: QPainter, left: float = 9, level: float = 11) -> None:
    path = QPainterPath(QPointF(left, 3))
    path.lineTo(left, 18)
    path.arcTo(QRectF(left, 15, 6, 6), 180, 180)
    path.lineTo(left + 6, 3)
    p.drawPath(path)
    _line(p, (left - 1.5, 3), (left + 7.5, 3))
    _line(p, (left, level), (left + 6, level))


def _photos(p: QPainter) -> None:
    p.drawRoundedRect(QRectF(3, 4, 18, 16), 2, 2)
    _line(p, (8, 8), (8, 16), (11, 16), (11, 8))
    p.drawRect(QRectF(14, 11, 4.5, 5))


def _charts(p: QPainter) -> None:
    for i in range(4):
        p.drawRect(QRectF(3 + 4.6 * i, 14, 4.2, 6))
    path = QPainterPath(QPointF(4, 11))
    path.cubicTo(8, 3, 13, 12, 20, 4)
    p.drawPath(path)


def _samples(p: QPainter) -> None:
    _tube(p, 3.5, 12)
    _line(p, (14, 6), (21, 6))
    _line(p, (14, 12), (21, 12))
    _line(p, (14, 18), (21, 18))


def _map(p: QPainter) -> None:
    _line(p, (3, 6), (9, 4), (15, 6), (21, 4), (21, 18), (15, 20), (9, 18), (3, 20), (3, 6))
    p.drawEllipse(QPointF(12, 10.5), 2.4, 2.4)
    _line(p, (12, 13), (12, 17))


def _advice(p: QPainter) -> None:
    _line(p, (12, 21), (12, 11))
    for side in (-1, 1):
        path = QPainterPath(QPointF(12, 14))
        path.cubicTo(12 + side * 3, 8, 12 + side * 8, 8, 12 + side * 9, 6)
        path.cubicTo(12 + side * 9, 12, 12 + side * 5, 15, 12, 14)
        p.drawPath(path)


def _start(p: QPainter) -> None:
    _line(p, (3, 12), (12, 4), (21, 12))
    _line(p, (6, 10), (6, 20), (18, 20), (18, 10))


def _open(p: QPainter) -> None:
    _line(p, (3, 19), (3, 5), (9, 5), (11, 8), (20, 8), (20, 11))
    _line(p, (3, 19), (6, 11), (22, 11), (19, 19), (3, 19))


def _add(p: QPainter) -> None:
    _line(p, (12, 5), (12, 19))
    _line(p, (5, 12), (19, 12))


def _remove(p: QPainter) -> None:
    _line(p, (5, 12), (19, 12))


def _keep(p: QPainter) -> None:
    p.drawRoundedRect(QRectF(4, 4, 16, 16), 2, 2)
    _line(p, (8, 12), (11, 15), (16, 8))


def _export(p: QPainter) -> None:
    _line(p, (4, 14), (4, 20), (20, 20), (20, 14))
    _line(p, (12, 16), (12, 4))
    _line(p, (8, 8), (12, 4), (16, 8))


def _undo(p: QPainter) -> None:
    path = QPainterPath(QPointF(5, 9))
    path.cubicTo(14, 5, 20, 10, 17, 19)
    p.drawPath(path)
    _line(p, (9, 4.5), (5, 9), (10, 12.5))


def _redo(p: QPainter) -> None:
    p.translate(GRID, 0)
    p.scale(-1, 1)
    _undo(p)


def _clock(p: QPainter) -> None:
    p.drawEllipse(QPointF(12, 12), 9, 9)
    _line(p, (12, 6), (12, 12), (16, 14))


def _camera(p: QPainter) -> None:
    p.drawRoundedRect(QRectF(3, 7, 18, 12), 2, 2)
    p.drawEllipse(QPointF(12, 13), 3.6, 3.6)
    _line(p, (8, 7), (9, 4.5), (15, 4.5), (16, 7))


def _watch(p: QPainter) -> None:
    _open(p)
    p.drawEllipse(QPointF(13, 15), 1.6, 1.6)


def _fit(p: QPainter) -> None:
    for x, y, dx, dy in ((4, 4, 1, 1), (20, 4, -1, 1), (20, 20, -1, -1), (4, 20, 1, -1)):
        _line(p, (x + 5 * dx, y), (x, y), (x, y + 5 * dy))


def _closer(p: QPainter) -> None:
    p.drawEllipse(QPointF(10, 10), 6, 6)
    _line(p, (14.5, 14.5), (20, 20))
    _line(p, (10, 7.5), (10, 12.5))
    _line(p, (7.5, 10), (12.5, 10))


def _farther(p: QPainter) -> None:
    p.drawEllipse(QPointF(10, 10), 6, 6)
    _line(p, (14.5, 14.5), (20, 20))
    _line(p, (7.5, 10), (12.5, 10))


def _outline(p: QPainter) -> None:
    _line(p, (6, 5), (18, 7), (17, 19), (7, 18), (6, 5))
    for x, y in ((6, 5), (18, 7), (17, 19), (7, 18)):
        p.drawRect(QRectF(x - 1.5, y - 1.5, 3, 3))


def _names(p: QPainter) -> None:
    _line(p, (3, 8), (14, 8), (21, 14), (14, 20), (3, 20), (3, 8))
    p.drawEllipse(QPointF(14.5, 14), 1.2, 1.2)


def _label(p: QPainter) -> None:
    p.drawRect(QRectF(3, 3, 7, 7))
    p.drawRect(QRectF(14, 3, 7, 7))
    p.drawRect(QRectF(3, 14, 7, 7))
    for x, y in ((14, 14), (18, 14), (16, 17), (14, 20), (19, 19)):
        p.drawRect(QRectF(x, y, 1.6, 1.6))


def _help(p: QPainter) -> None:
    p.drawEllipse(QPointF(12, 12), 9, 9)
    path = QPainterPath(QPointF(9, 10))
    path.cubicTo(9, 5, 16, 6, 14.5, 10.5)
    path.cubicTo(13.5, 12, 12, 12, 12, 14)
    p.drawPath(path)
    _line(p, (12, 16.6), (12, 17.4))


def _accepted(p: QPainter) -> None:
    p.drawEllipse(QPointF(12, 12), 9, 9)
    _line(p, (7.5, 12.5), (10.8, 16), (16.5, 8.5))


def _doubtful(p: QPainter) -> None:
    _line(p, (12, 3.5), (21, 20), (3, 20), (12, 3.5))
    _line(p, (12, 9.5), (12, 14.5))
    _line(p, (12, 17), (12, 17.4))


def _refused(p: QPainter) -> None:
    _line(p, (8, 3), (16, 3), (21, 8), (21, 16), (16, 21), (8, 21), (3, 16), (3, 8), (8, 3))
    _line(p, (8, 8), (16, 16))
    _line(p, (16, 8), (8, 16))


def _waiting(p: QPainter) -> None:
    for x in (6, 12, 18):
        p.drawEllipse(QPointF(x, 12), 1.6, 1.6)


def _found(p: QPainter) -> None:
    _tube(p)


def _stop(p: QPainter) -> None:
    p.drawRect(QRectF(6, 6, 12, 12))


DRAWINGS: dict[str, Drawing] = {
    "start": _start, "photos": _photos, "charts": _charts, "samples": _samples, "map": _map,
    "advice": _advice, "open": _open, "add": _add, "remove": _remove, "keep": _keep,
    "export": _export, "undo": _undo, "redo": _redo, "clock": _clock, "camera": _camera,
    "watch": _watch, "fit": _fit, "closer": _closer, "farther": _farther, "outline": _outline,
    "names": _names, "label": _label, "help": _help, "accepted": _accepted,
    "doubtful": _doubtful, "refused": _refused, "waiting": _waiting, "found": _found,
    "stop": _stop,
}  # fmt: skip


def draw_symbol(painter: QPainter, name: str, rect: QRectF, color: QColor) -> None:
    """Draw a symbol into a rectangle."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(rect.topLeft())
    painter.scale(rect.width() / GRID, rect.height() / GRID)
    pen = QPen(color, 1.7)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    DRAWINGS[name](painter)
    painter.restore()


class _Engine(QIconEngine):
    """Draws a symbol whenever it is asked for, in the ink of the moment."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._name = name

    def paint(self, painter, rect, mode, state):  # type: ignore[no-untyped-def]
        group = (
            QPalette.ColorGroup.Disabled
            if mode == QIcon.Mode.Disabled
            else QPalette.ColorGroup.Active
        )
        ink = QApplication.palette().color(group, QPalette.ColorRole.ButtonText)
        if mode == QIcon.Mode.Disabled:
            ink.setAlphaF(0.45)
        draw_symbol(painter, self._name, QRectF(rect), ink)

    def pixmap(self, size, mode, state):  # type: ignore[no-untyped-def]
        picture = QPixmap(size)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        self.paint(painter, picture.rect(), mode, state)  # type: ignore[no-untyped-call]
        painter.end()
        return picture

    def clone(self) -> QIconEngine:
        return _Engine(self._name)


def symbol(name: str) -> QIcon:
    """Return a symbol as an icon."""
    if name not in DRAWINGS:
        raise ValueError(f"there is no symbol called {name!r}")
    return QIcon(_Engine(name))
