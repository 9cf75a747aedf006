"""How good the chart is that is being made, while it is being made."""

from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QTabWidget, QVBoxLayout, QWidget

from app.tasks.chart_quality import ChartQuality
from app.window.calibrate_model import CalibrateModel
from app.window.chart_findings import Findings
from app.window.chart_plots import ChartPlot, PlotLibrary
from app.window.chart_swatches import SwatchStrip
from app.window.labels import muted, subheading
from app.window.theme import SPACE
from calibration.recipes import IONIC_STRENGTH_WARNING

TABS = ("&Curve", "&Value and color", "&Errors")


class Verdict:
    """What is shown of a chart as far as it goes; each step lays it out in its own way.

    Attributes
    ----------
    swatches, findings, warning, plots
        The widgets.
    """

    def __init__(self, library: PlotLibrary) -> None:
        self.swatches = SwatchStrip()
        self.findings = Findings()
        self.warning: QLabel = muted(IONIC_STRENGTH_WARNING)
        self.plots = [ChartPlot(kind, library) for kind in ("plane", "value", "error")]

    def show(self, quality: ChartQuality | None) -> None:
        """Show how good a chart is; None where there is none yet."""
        findings = () if quality is None else quality.findings
        self.findings.show_findings(findings)
        self.warning.setVisible(any("disodium" in finding.what_to_do for finding in findings))
        self.swatches.setVisible(quality is not None)
        if quality is not None:
            swatches = tuple(zip(quality.names, quality.colors, strict=True))
            analyte = quality.chart.analyte
            self.swatches.show_swatches(swatches, "pH" if analyte.is_ph else analyte.unit or "")
        for plot in self.plots:
            plot.show_charts(() if quality is None else (quality,))


class LiveQuality(QWidget):
    """Plots above, words below; both follow every value that is typed."""

    def __init__(
        self, model: CalibrateModel, library: PlotLibrary, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._model = model
        column = QVBoxLayout(self)
        column.setContentsMargins(SPACE, 0, SPACE, 0)
        column.setSpacing(SPACE)
        self.verdict = Verdict(library)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.setAccessibleName("Plots of the chart as far as it goes")
        for plot, name in zip(self.verdict.plots, TABS, strict=True):
            self.tabs.addTab(plot, name)
        column.addWidget(self.tabs, 3)
        column.addWidget(self.verdict.swatches)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setAccessibleName("What there is to say about the chart as far as it goes")
        inside = QWidget()
        area.setWidget(inside)
        box = QVBoxLayout(inside)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(subheading("So far"))
        self.trouble = muted()
        box.addWidget(self.trouble)
        box.addWidget(self.verdict.findings)
        box.addWidget(self.verdict.warning)
        box.addStretch()
        column.addWidget(area, 2)
        model.judged.connect(self._show)
        self._show()

    def _show(self) -> None:
        quality, trouble = self._model.quality, self._model.trouble
        words = "" if trouble is None else f"{trouble.what_happened} {trouble.what_to_do}"
        if quality is None and trouble is None:
            words = "Curve and errors appear here while values are typed."
        self.trouble.setText(words)
        self.trouble.setVisible(bool(words))
        self.verdict.show(quality)
