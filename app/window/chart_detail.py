"""One chart: its swatches, plots, quality in words, and everything known about it."""

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.desk import DeskChart
from app.window.chart_facts import FactList, chart_words, fact_rows
from app.window.chart_findings import Findings
from app.window.chart_plots import ChartPlot, PlotLibrary
from app.window.chart_swatches import SwatchStrip
from app.window.labels import heading, muted, subheading
from app.window.last_wish import LastWish
from app.window.page import Tools
from app.window.theme import SPACE

if TYPE_CHECKING:
    from app.tasks.chart_quality import ChartQuality
    from calibration.chart import Chart

SCREEN = "The screen is no measuring instrument: its colors are for orientation, the numbers count."
PH_CAUTION = (
    "Make standards and samples in the same 0.01 M calcium chloride and at the same warmth: salt "
    "shifts many dyes by 0.15 to 0.3 pH, 10 degrees by 0.04 to 0.08."
)


def _judge(chart: "Chart") -> "ChartQuality":
    from app.tasks.chart_quality import judge_chart

    return judge_chart(chart)


class ChartDetail(QScrollArea):
    """Shows the chosen chart."""

    def __init__(self, tools: Tools, library: PlotLibrary, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self._chart_id: str | None = None
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName("The chosen chart")
        inside = QWidget()
        self.setWidget(inside)
        column = QVBoxLayout(inside)
        column.setContentsMargins(2 * SPACE, 2 * SPACE, 2 * SPACE, 2 * SPACE)
        column.setSpacing(2 * SPACE)
        top = QVBoxLayout()
        top.setSpacing(2)
        self.title, self.summary = heading(), muted()
        top.addWidget(self.title)
        top.addWidget(self.summary)
        column.addLayout(top)
        self.swatches = SwatchStrip()
        column.addWidget(self.swatches)
        column.addWidget(muted(SCREEN))
        self.findings, self.facts = Findings(), FactList()
        column.addWidget(subheading("How good it is"))
        column.addWidget(self.findings)
        self.caution = muted()
        column.addWidget(self.caution)
        plots = QHBoxLayout()
        plots.setSpacing(2 * SPACE)
        self.plots = [ChartPlot(kind, library) for kind in ("plane", "value", "error")]
        for plot in self.plots:
            plot.setMinimumHeight(280)
            plot.setMaximumHeight(400)
            plots.addWidget(plot, 1)
        column.addLayout(plots)
        column.addWidget(subheading("What is known of it"))
        column.addWidget(self.facts)
        column.addStretch()
        self.judgement = LastWish(tools.bench, self)
        self.judgement.came.connect(self._show_quality)

    def show_chart(self, item: DeskChart) -> None:
        """Show a chart; what must be computed follows."""
        from app.exports.screen_color import screen_color

        chart, words = item.chart, chart_words(item.chart)
        self.title.setText(chart.name)
        use = "photos are read against it" if item.in_use else "not in use"
        self.summary.setText(f"{words.quantity}, {words.span}, made on {words.made_on}; {use}.")
        unit = "pH" if chart.analyte.is_ph else chart.analyte.unit or ""
        swatches = tuple(
            (
                swatch.label or "" if swatch.value is None else f"{round(swatch.value, 2):.4g}",
                screen_color(swatch.lab),
            )
            for swatch in chart.swatches
        )
        self.swatches.show_swatches(swatches, unit)
        self.caution.setText(PH_CAUTION if chart.analyte.is_ph else "")
        self.caution.setVisible(chart.analyte.is_ph)
        charts = self._tools.model.desk.charts
        older = next((c.chart for c in charts if c.chart.id == chart.supersedes), None)
        self.facts.show_facts(fact_rows(item, older, self._used_by(chart.id)))
        if chart.id != self._chart_id:
            self._chart_id = chart.id
            self.verticalScrollBar().setValue(0)
            self.findings.show_findings(())
            self.judgement.wish(_judge, chart)

    def _used_by(self, chart_id: str) -> int | None:
        from app.survey.kept_reading import ReadingFilter

        book = self._tools.model.book
        return None if book is None else book.count(ReadingFilter(chart_id=chart_id))

    def _show_quality(self, quality: "ChartQuality") -> None:
        self.findings.show_findings(quality.findings)
        for plot in self.plots:
            plot.show_charts([quality])
