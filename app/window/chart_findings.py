"""What there is to say about a chart, each with a symbol and a word, doubts first."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QGridLayout, QWidget

from app.window.labels import muted, plain
from app.window.symbols import draw_symbol
from app.window.theme import SPACE

if TYPE_CHECKING:
    from app.tasks.chart_quality import Finding

SYMBOLS = {"good": "accepted", "note": "waiting", "doubt": "doubtful"}
WORDS = {"good": "Good", "note": "Note", "doubt": "Doubt"}


class Sign(QWidget):
    """A symbol in the ink of the present look."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = name
        self.setFixedSize(16, 18)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw it."""
        painter = QPainter(self)
        ink = self.palette().color(QPalette.ColorRole.WindowText)
        draw_symbol(painter, self._name, QRectF(0, 1, 16, 16), ink)
        painter.end()


class Findings(QWidget):
    """Lists findings."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(SPACE)
        self._grid.setVerticalSpacing(SPACE // 2)
        self._grid.setColumnStretch(1, 1)
        self._shown: tuple[Finding, ...] | None = None

    def show_findings(self, findings: Sequence["Finding"]) -> None:
        """List these."""
        if self._shown == tuple(findings):
            return
        self._shown = tuple(findings)
        while (item := self._grid.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for row in range(self._grid.rowCount()):
            self._grid.setRowStretch(row, 0)
        self._grid.setRowStretch(2 * len(findings), 1)
        for row, finding in enumerate(findings):
            sign = Sign(SYMBOLS[finding.weight])
            sign.setAccessibleName(WORDS[finding.weight])
            sign.setToolTip(WORDS[finding.weight])
            top = Qt.AlignmentFlag.AlignTop
            self._grid.addWidget(sign, 2 * row, 0, top)
            self._grid.addWidget(plain(finding.text), 2 * row, 1, top)
            if finding.what_to_do:
                self._grid.addWidget(muted(finding.what_to_do), 2 * row + 1, 1, top)
