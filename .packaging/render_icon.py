"""Renders the icon's PNG from its SVG: run it after the drawing was changed."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

SIDE_PX = 256

app = QGuiApplication(["render_icon", "-platform", "offscreen"])
drawing = Path(__file__).parents[1] / "app" / "window" / "icons" / "tintwell.svg"
image = QImage(SIDE_PX, SIDE_PX, QImage.Format.Format_ARGB32)
image.fill(Qt.GlobalColor.transparent)
painter = QPainter(image)
QSvgRenderer(str(drawing)).render(painter)
painter.end()
image.save(str(drawing.with_suffix(".png")))
