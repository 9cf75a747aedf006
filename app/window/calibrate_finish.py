"""The last step of a new chart: what is left to do, and the button that makes it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_quality import Verdict
from app.window.chart_detail import SCREEN
from app.window.chart_plots import PlotLibrary
from app.window.labels import heading, muted, plain, subheading
from app.window.theme import SPACE

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
        self.verdict = Verdict(library)
        column.addWidget(self.verdict.swatches)
        plots = QHBoxLayout()
        plots.setSpacing(2 * SPACE)
        for plot in self.verdict.plots:
            plot.setMinimumHeight(260)
            plot.setMaximumHeight(400)
            plots.addWidget(plot, 1)
        column.addLayout(plots)
        column.addWidget(subheading("How good it is"))
        column.addWidget(self.verdict.findings)
        column.addWidget(self.verdict.warning)
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
        self.verdict.show(quality)
