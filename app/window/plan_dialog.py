"""Scales the picture of a plan by two points on it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtGui import QColor, QPen, QPixmap
from PySide6.QtWidgets import (
    QDialog,
    QDoubleSpinBox,
    QFormLayout,
    QVBoxLayout,
    QWidget,
)

from app.window.dialog_buttons import OK, take_or_cancel
from app.window.labels import muted
from app.window.plan_view import PlanView
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.site_map.plane import PlanScale


class PlanDialog(QDialog):
    """Two double clicks and a distance; the upper edge of the picture is taken to be north."""

    def __init__(self, picture: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Scale the plan")
        self.resize(820, 640)
        self.scale: PlanScale | None = None
        self._points: list[tuple[float, float]] = []
        box = QVBoxLayout(self)
        box.addWidget(
            muted(
                "Double-click two points whose distance you know, such as the ends of a fence, and "
                "type the distance. The picture's upper edge is taken to be north."
            )
        )
        self.view = PlanView()
        scene = self.view.scene()
        self._picture = QPixmap(str(picture))
        scene.addPixmap(self._picture)
        scene.setSceneRect(0, 0, max(self._picture.width(), 1), max(self._picture.height(), 1))
        self.view.pointed.connect(self.mark)
        box.addWidget(self.view, 1)
        form = QFormLayout()
        self.distance = QDoubleSpinBox()
        self.distance.setRange(0, 100_000)
        self.distance.setDecimals(1)
        self.distance.setSuffix(" m")
        form.addRow("&Distance between them", self.distance)
        box.addLayout(form)
        self.problem = muted("No point is marked yet.")
        box.addWidget(self.problem)
        box.addWidget(take_or_cancel(self, self.take, OK))

    def mark(self, x: float, y: float) -> None:
        """Mark a point; a third one begins anew."""
        if len(self._points) == 2:
            self._points = []
            for item in self.view.scene().items()[:-1]:
                self.view.scene().removeItem(item)
        self._points.append((x, y))
        size = max(self._picture.width(), self._picture.height()) / 120
        for width, color in ((size / 2, "white"), (size / 5, "black")):
            pen = QPen(QColor(color), width)
            self.view.scene().addLine(x - size, y, x + size, y, pen)
            self.view.scene().addLine(x, y - size, x, y + size, pen)
        self.problem.setText(f"{len(self._points)} of 2 points marked.")

    def take(self) -> None:
        """Scale the plan, or say what is missing."""
        from app.site_map.plane import scale_plan

        if len(self._points) < 2 or self.distance.value() <= 0:
            self.problem.setText("Mark two points and type the distance between them.")
            return
        first, second = self._points
        try:
            self.scale = scale_plan(first, second, (0.0, 0.0), distance_m=self.distance.value())
        except TintwellError as error:
            self.problem.setText(f"{error.what_happened} {error.what_to_do}")
            return
        self.accept()
