"""Two charts side by side, in the same axes."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.window.chart_detail import SCREEN
from app.window.chart_facts import FactList, fact_rows
from app.window.chart_findings import Findings
from app.window.chart_plots import ChartPlot, PlotLibrary
from app.window.chart_swatches import SwatchStrip
from app.window.labels import heading, muted, plain
from app.window.last_wish import LastWish
from app.window.page import Tools
from app.window.theme import SPACE

if TYPE_CHECKING:
    from app.tasks.chart_quality import ChartComparison
    from calibration.chart import Chart

MARKS = ("Round marks, solid line", "Square marks, dashed line")


class ChartCompare(QScrollArea):
    """Compares two charts of the desk.

    Signals
    -------
    left()
        The user goes back to the list.
    """

    left = Signal()

    def __init__(self, tools: Tools, library: PlotLibrary, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName("Two charts compared")
        inside = QWidget()
        self.setWidget(inside)
        column = QVBoxLayout(inside)
        column.setContentsMargins(2 * SPACE, 2 * SPACE, 2 * SPACE, 2 * SPACE)
        column.setSpacing(2 * SPACE)
        top = QHBoxLayout()
        top.addWidget(heading("Compare two charts"))
        top.addStretch()
        back = QPushButton("&Back to the list")
        back.clicked.connect(self.left)
        top.addWidget(back)
        column.addLayout(top)
        self.words = plain()
        column.addWidget(self.words)
        sides = QGridLayout()
        sides.setHorizontalSpacing(4 * SPACE)
        sides.setVerticalSpacing(SPACE)
        self.boxes: list[QComboBox] = []
        self._swatches: list[SwatchStrip] = []
        self._findings: list[Findings] = []
        self._facts: list[FactList] = []
        for side in (0, 1):
            sides.setColumnStretch(side, 1)
            box = QComboBox()
            box.setAccessibleName("First chart" if side == 0 else "Second chart")
            box.activated.connect(self._changed)
            self.boxes.append(box)
            self._swatches.append(SwatchStrip())
            self._findings.append(Findings())
            self._facts.append(FactList())
            sides.addWidget(box, 0, side)
            sides.addWidget(muted(MARKS[side]), 1, side)
            sides.addWidget(self._swatches[side], 2, side)
        column.addLayout(sides)
        plots = QHBoxLayout()
        plots.setSpacing(2 * SPACE)
        self.plots = [ChartPlot(kind, library) for kind in ("plane", "value", "error")]
        for plot in self.plots:
            plot.setMinimumHeight(300)
            plot.setMaximumHeight(420)
            plots.addWidget(plot, 1)
        column.addLayout(plots)
        below = QGridLayout()
        below.setHorizontalSpacing(4 * SPACE)
        below.setVerticalSpacing(2 * SPACE)
        for side in (0, 1):
            below.setColumnStretch(side, 1)
            below.addWidget(self._findings[side], 0, side)
            below.addWidget(self._facts[side], 1, side)
        column.addLayout(below)
        note: QLabel = muted(SCREEN)
        column.addWidget(note)
        column.addStretch()
        self.judgement = LastWish(tools.bench, self)
        self.judgement.came.connect(self._show)

    def show_charts(self, first: str, second: str) -> None:
        """Compare two charts by their ids."""
        for box, chosen in zip(self.boxes, (first, second), strict=True):
            box.clear()
            for item in self._tools.model.desk.charts:
                made = f"{item.chart.created_at:%Y-%m-%d}"
                box.addItem(f"{item.chart.name}   ({made})", item.chart.id)
            box.setCurrentIndex(max(box.findData(chosen), 0))
        self._changed()

    def _changed(self) -> None:
        charts = {item.chart.id: item.chart for item in self._tools.model.desk.charts}
        pair = [charts.get(box.currentData()) for box in self.boxes]
        if pair[0] is not None and pair[1] is not None:
            self.words.setText("Comparing…")
            self.judgement.wish(_compare, pair[0], pair[1])

    def _show(self, comparison: "ChartComparison") -> None:
        self.words.setText(comparison.words)
        pair = (comparison.one, comparison.other)
        items = {item.chart.id: item for item in self._tools.model.desk.charts}
        for side, quality in enumerate(pair):
            chart = quality.chart
            unit = "pH" if chart.analyte.is_ph else chart.analyte.unit or ""
            swatches = tuple(zip(quality.names, quality.colors, strict=True))
            self._swatches[side].show_swatches(swatches, unit)
            self._findings[side].show_findings(quality.findings)
            if chart.id in items:
                self._facts[side].show_facts(fact_rows(items[chart.id], None, None))
        for plot in self.plots:
            plot.show_charts(pair)
        for plot in self.plots[1:]:  # values of different things share no axis
            plot.setVisible(comparison.is_alike)


def _compare(first: "Chart", second: "Chart") -> "ChartComparison":
    from app.tasks.chart_quality import compare_charts

    return compare_charts(first, second)
