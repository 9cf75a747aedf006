"""Mouse and keys that move outlines on the photo."""

from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPolygonF

from app.desk_outlines import moved, quad_of
from app.window.outline_editor import OutlineEditor
from app.window.outline_layer import HANDLE
from app.window.photo_view import PhotoView
from colorcore.geometry import Box, Quad

NUDGES = {
    Qt.Key.Key_Left: (-1, 0), Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1), Qt.Key.Key_Down: (0, 1),
}  # fmt: skip
FAST = 10
NEW_SHARE = 0.06  # of the photo's longer side: width of a region that is added by key


class OutlineHands(QObject):
    """While outlines are moved, takes mouse and keys of the photo first."""

    def __init__(self, editor: OutlineEditor, view: PhotoView) -> None:
        super().__init__(view)
        self._editor, self._view = editor, view
        self._from: QPointF | None = None
        self._started: Quad | None = None
        view.installEventFilter(self)
        view.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        """Take mouse and keys of the photo first."""
        if not self._editor.is_on:
            return False
        if isinstance(event, QMouseEvent) and watched is self._view.viewport():
            return self._mouse(event)
        if isinstance(event, QKeyEvent) and watched is self._view:
            if event.type() == QEvent.Type.ShortcutOverride and self._wants(event.key()):
                event.accept()
                return True
            return event.type() == QEvent.Type.KeyPress and self._key(event)
        return False

    def _mouse(self, event: QMouseEvent) -> bool:
        at = self._view.mapToScene(event.position().toPoint())
        kind = event.type()
        if kind == QEvent.Type.MouseButtonPress and event.button() == Qt.MouseButton.LeftButton:
            return self._press(at)
        if kind == QEvent.Type.MouseMove:
            if self._from is None:
                self._view.viewport().setCursor(self._cursor(at))
                return False
            self._drag(at)
            return True
        if kind == QEvent.Type.MouseButtonRelease and self._from is not None:
            self._from = None
            if self._editor.draft is not None and self._editor.is_drawing:
                self._editor.add(self._editor.draft)
            elif self._editor.draft is not None:
                self._editor.put(self._editor.draft)
            return True
        return False

    def _press(self, at: QPointF) -> bool:
        if self._editor.is_drawing:
            self._from = at
            return True
        corner, inside = self._hit(at)
        if corner is None and not inside:
            return False
        self._editor.choose(self._editor.place, corner)
        self._from, self._started = at, self._editor.quad()
        return True

    def _drag(self, at: QPointF) -> None:
        look = self._editor.look()
        if look is None or self._from is None:
            return
        by = (at.x() - self._from.x(), at.y() - self._from.y())
        if self._editor.is_drawing:
            x0, x1 = sorted(min(max(v, 0.0), look.width) for v in (self._from.x(), at.x()))
            y0, y1 = sorted(min(max(v, 0.0), look.height) for v in (self._from.y(), at.y()))
            self._editor.show_draft(quad_of(Box(x0, y0, x1 - x0, y1 - y0)))
        elif self._started is not None:
            corner = self._editor.corner
            self._editor.show_draft(moved(self._started, by, corner, look.width, look.height))

    def _hit(self, at: QPointF) -> tuple[int | None, bool]:
        """Return the corner under a place, and whether it lies in the outline in hand."""
        quad = self._editor.quad()
        if quad is None:
            return None, False
        reach = (HANDLE + 3) / max(self._view.scale_now, 1e-6)
        gaps = [(abs(x - at.x()) + abs(y - at.y()), i) for i, (x, y) in enumerate(quad)]
        gap, corner = min(gaps)
        if gap <= reach:
            return corner, True
        shape = QPolygonF([QPointF(x, y) for x, y in quad])
        return None, shape.containsPoint(at, Qt.FillRule.OddEvenFill)

    def _cursor(self, at: QPointF) -> Qt.CursorShape:
        if self._editor.is_drawing:
            return Qt.CursorShape.CrossCursor
        corner, inside = self._hit(at)
        if corner is not None:
            return Qt.CursorShape.PointingHandCursor
        return Qt.CursorShape.SizeAllCursor if inside else Qt.CursorShape.ArrowCursor

    def _wants(self, key: int) -> bool:
        busy = self._from is not None or self._editor.is_drawing
        return key in NUDGES or key == Qt.Key.Key_Delete or (busy and key == Qt.Key.Key_Escape)

    def _key(self, event: QKeyEvent) -> bool:
        key, fast = event.key(), event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        if key in NUDGES and self._editor.quad() is not None:
            dx, dy = NUDGES[Qt.Key(key)]
            step = FAST if fast else 1
            self._editor.nudge((dx * step, dy * step))
        elif key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab) and self._editor.quad() is not None:
            return self._next_corner(-1 if key == Qt.Key.Key_Backtab else 1)
        elif key == Qt.Key.Key_Delete:
            self._editor.remove()
        elif key == Qt.Key.Key_Escape and (self._from is not None or self._editor.is_drawing):
            self._from, self._editor.is_drawing = None, False
            self._editor.show_draft(None)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._editor.is_drawing:
            self._add_in_middle()
        else:
            return False
        return True

    def _next_corner(self, by: int) -> bool:
        """Go through whole outline and corners; past the last one, Tab leaves the photo."""
        now = -1 if self._editor.corner is None else self._editor.corner
        if not -1 <= now + by <= 3:
            self._editor.choose(self._editor.place, None)
            return False
        self._editor.choose(self._editor.place, None if now + by < 0 else now + by)
        return True

    def _add_in_middle(self) -> None:
        look = self._editor.look()
        if look is None:
            return
        side = NEW_SHARE * max(look.width, look.height)
        at = self._view.mapToScene(self._view.viewport().rect().center())
        x = min(max(at.x() - side / 2, 0.0), look.width - side)
        y = min(max(at.y() - side, 0.0), look.height - 2 * side)
        self._editor.add(quad_of(Box(x, y, side, 2 * side)))
