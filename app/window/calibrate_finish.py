"""The last step of a new chart: what is left to do, and the button that makes it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.window.calibrate_model import CalibrateModel
from app.window.chart_detail import SCREEN
from app.window.chart_findings import Findings
from app.window.chart_plots import ChartPlot, PlotLibrary
from app.window.chart_swatches import SwatchStrip
from app.window.labels import heading, muted, plain, subheading
from app.window.theme import SPACE
from calibration.standards import IONIC_STRENGTH_WARNING

WHAT_HAPPENS = (
    "The chart is saved as a file of its own and used at once. It is never changed afterwards: a "
    "better one is a new chart that takes its place."
)


class FinishStep(QScrollArea):
    """Shows the whole chart once more and makes it.

    Signals
    -------
    make_asked()
        The chart is to be made.
    """

    make_asked = Signal()

    def __init__(
        self, model: CalibrateModel, library: PlotLibrary, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._model = model
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        inside = QWidget()
        self.setWidget(inside)
        column = QVBoxLayout(inside)
        column.setContentsMargins(2 * SPACE, SPACE, 2 * SPACE, 2 * SPACE)
        column.setSpacing(2 * SPACE)
        row = QHBoxLayout()
        row.setSpacing(2 * SPACE)
        self.title = heading()
        row.addWidget(self.title)
        row.addStretch()
        self.make_button = QPushButton("&Make the chart, save and use it…")
        self.make_button.setObjectName("main")
        self.make_button.clicked.connect(self.make_asked)
        row.addWidget(self.make_button)
        column.addLayout(row)
        self.summary = plain()
        column.addWidget(self.summary)
        self.swatches = SwatchStrip()
        column.addWidget(self.swatches)
        plots = QHBoxLayout()
        plots.setSpacing(2 * SPACE)
        self.plots = [ChartPlot(kind, library) for kind in ("plane", "value", "error")]
        for plot in self.plots:
            plot.setMinimumHeight(260)
            plot.setMaximumHeight(400)
            plots.addWidget(plot, 1)
        column.addLayout(plots)
        column.addWidget(subheading("How good it is"))
        self.findings = Findings()
        column.addWidget(self.findings)
        self.warning = muted(IONIC_STRENGTH_WARNING)
        column.addWidget(self.warning)
        column.addWidget(muted(f"{WHAT_HAPPENS} {SCREEN}"))
        column.addStretch()
        model.judged.connect(self.refresh)
        model.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the chart as far as it goes."""
        quality, trouble = self._model.quality, self._model.trouble
        name = " ".join(self._model.draft.facts.name.split())
        self.title.setText(name or "A chart without a name")
        if quality is None:
            words = "" if trouble is None else f"{trouble.what_happened} {trouble.what_to_do}"
        else:
            tubes = len(quality.chart.measurements)
            what = "patches" if quality.chart.kind == "printed" else "tubes"
            words = f"{len(quality.chart.swatches)} swatches from {tubes} {what}."
        self.summary.setText(words)
        self.make_button.setEnabled(quality is not None and not self._model.is_judging)
        self.swatches.setVisible(quality is not None)
        self.findings.show_findings(() if quality is None else quality.findings)
        mixes = quality is not None and any("disodium" in f.what_to_do for f in quality.findings)
        self.warning.setVisible(mixes)
        if quality is not None:
            swatches = tuple(zip(quality.names, quality.colors, strict=True))
            analyte = quality.chart.analyte
            self.swatches.show_swatches(swatches, "pH" if analyte.is_ph else analyte.unit or "")
        for plot in self.plots:
            plot.show_charts(() if quality is None else (quality,))
