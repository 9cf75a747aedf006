"""Fusion with boxes and frames that are seen in every look: its own are lost on dark grounds."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPalette, QPen, QPolygonF
from PySide6.QtWidgets import (
    QProxyStyle,
    QStyle,
    QStyleOption,
    QStyleOptionComboBox,
    QStyleOptionComplex,
    QWidget,
)

BOXES = (
    QStyle.PrimitiveElement.PE_IndicatorCheckBox,
    QStyle.PrimitiveElement.PE_IndicatorItemViewItemCheck,
)
FRAME_STRENGTH = 0.5
TICK = ((0.22, 0.52), (0.43, 0.73), (0.79, 0.28))


class ClearStyle(QProxyStyle):
    """Draws the boxes of check boxes and the frames of what is typed in itself."""

    def __init__(self) -> None:
        super().__init__("Fusion")

    def drawPrimitive(  # noqa: N802 - Qt's name
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw a part of a widget."""
        if element not in BOXES:
            super().drawPrimitive(element, option, painter, widget)
            if element == QStyle.PrimitiveElement.PE_FrameLineEdit:
                _draw_frame(option, painter)
            return
        palette, state = option.palette, option.state
        is_on = bool(state & QStyle.StateFlag.State_Enabled)
        group = QPalette.ColorGroup.Active if is_on else QPalette.ColorGroup.Disabled
        ink = palette.color(group, QPalette.ColorRole.Text)
        place = QRectF(option.rect)
        side = min(place.width(), place.height()) - 2
        box = QRectF(0, 0, side, side)
        box.moveCenter(place.center())
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(ink, 1.2))
        painter.setBrush(palette.color(group, QPalette.ColorRole.Base))
        painter.drawRoundedRect(box, 2, 2)
        pen = QPen(ink, max(1.6, side / 8))
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        if state & QStyle.StateFlag.State_On:
            tick = [QPointF(box.left() + x * side, box.top() + y * side) for x, y in TICK]
            painter.drawPolyline(QPolygonF(tick))
        elif state & QStyle.StateFlag.State_NoChange:
            middle = box.center().y()
            painter.drawLine(
                QPointF(box.left() + side / 4, middle), QPointF(box.right() - side / 4, middle)
            )
        painter.restore()

    def drawComplexControl(  # noqa: N802 - Qt's name
        self,
        control: QStyle.ComplexControl,
        option: QStyleOptionComplex,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw a widget of several parts."""
        super().drawComplexControl(control, option, painter, widget)
        is_typed = isinstance(option, QStyleOptionComboBox) and option.editable
        if control == QStyle.ComplexControl.CC_SpinBox or is_typed:
            _draw_frame(option, painter)


def _draw_frame(option: QStyleOption, painter: QPainter) -> None:
    """Draw a frame round a field that has not the keyboard; one that has it is marked already."""
    if option.state & QStyle.StateFlag.State_HasFocus:
        return
    ink = option.palette.color(QPalette.ColorRole.PlaceholderText)
    ink.setAlphaF(FRAME_STRENGTH)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(ink, 1))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(QRectF(option.rect).adjusted(0.5, 0.5, -0.5, -0.5), 2, 2)
    painter.restore()
