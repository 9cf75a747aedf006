"""Plots of charts in the colors of the present look: curve, value against color, errors."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPen
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.window.chart_labels import outer_anchors
from app.window.labels import subheading
from app.window.long_work import WorkBench
from app.window.theme import current_tones

if TYPE_CHECKING:
    from app.tasks.chart_quality import ChartQuality

PlotKind = Literal["plane", "value", "error"]
TITLES: dict[PlotKind, str] = {
    "plane": "Curve in the a*b* plane",
    "value": "Value against color",
    "error": "Errors",
}
TELLS: dict[PlotKind, str] = {
    "plane": "The line is the chart's curve, each mark a swatch with its value, each small dot a "
    "tube. A good curve is long, and does not come back to itself.",
    "value": "L* is lightness, a* runs from green to red, b* from blue to yellow. Where all three "
    "lines are flat, colors do not tell values apart.",
    "error": "Diamond: a swatch read from all the others. Dot: a tube against its own chart. Both "
    "lie near the line of a good chart.",
}
SYMBOLS = ("o", "s")  # of the first chart and the second


class PlotLibrary(QObject):
    """Loads the plotting library off the screen's thread.

    Signals
    -------
    ready()
        It can be used.
    """

    ready = Signal()
    _loaded = Signal()

    def __init__(self, bench: WorkBench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._asked = False
        self.is_ready = False
        self._loaded.connect(self._tell)

    def load(self) -> None:
        """Begin to load, once."""
        if not self._asked:
            self._asked = True
            self._bench.submit(_load).add_done_callback(lambda _: self._loaded.emit())

    def _tell(self) -> None:
        self.is_ready = True
        self.ready.emit()


def _load() -> None:
    """Load here what is used on the screen's thread: plots, and what making a chart needs."""
    import pyqtgraph  # noqa: F401

    import app.tasks.chart_quality
    import app.tasks.draft_file  # noqa: F401


class ChartPlot(QWidget):
    """One plot of one chart, or of two in the same axes."""

    def __init__(self, kind: PlotKind, library: PlotLibrary, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kind, self._library = kind, library
        self._qualities: tuple[ChartQuality, ...] = ()
        self._plot: Any = None
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        title = subheading(TITLES[kind])
        title.setToolTip(TELLS[kind])
        box.addWidget(title)
        self._place = box
        self._nothing = QLabel("Drawing…")
        self._nothing.setObjectName("muted")
        self._nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        box.addWidget(self._nothing, 1)
        self.setMinimumSize(220, 180)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setToolTip(TELLS[kind])
        library.ready.connect(self._draw)

    def show_charts(self, qualities: Sequence["ChartQuality"]) -> None:
        """Plot these charts."""
        self._qualities = tuple(qualities)
        self.setAccessibleName(f"{TITLES[self._kind]}: {self._words()}")
        self._draw()

    def _words(self) -> str:
        return "; ".join(
            f"{quality.chart.name}, swatches {', '.join(quality.names)}"
            for quality in self._qualities
        )

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        """Wear the new look."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and self._plot is not None:
            self._draw()

    def _draw(self) -> None:
        if not self._library.is_ready:
            self._library.load()
            return
        empty = not self._qualities
        self._nothing.setText("Nothing to draw yet." if empty else "")
        self._nothing.setVisible(empty)
        if self._plot is not None:
            self._plot.setVisible(not empty)
        if empty:
            return
        if self._plot is None:
            self._plot = _new_plot()
            self._place.addWidget(self._plot, 1)
        _clear(self._plot)
        draw = {"plane": _draw_plane, "value": _draw_values, "error": _draw_errors}
        draw[self._kind](self._plot, self._qualities)


def _new_plot() -> Any:
    import pyqtgraph as pg

    pg.setConfigOption("antialias", True)
    plot = pg.PlotWidget()
    plot.setMenuEnabled(False)
    plot.hideButtons()
    plot.setMouseEnabled(False, False)
    plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    plot.getViewBox().setDefaultPadding(0.17)  # room for the values beside the marks
    for side in ("left", "bottom"):
        plot.getAxis(side).enableAutoSIPrefix(False)
    plot.getPlotItem().layout.setContentsMargins(2, 6, 10, 2)
    return plot


def _clear(plot: Any) -> None:
    tones = current_tones()
    plot.clear()
    plot.setBackground(tones.base)
    plot.showGrid(x=True, y=True, alpha=0.15)
    for side in ("left", "bottom"):
        axis = plot.getAxis(side)
        axis.setPen(QColor(tones.line))
        axis.setTextPen(QColor(tones.text))


def _label_axes(plot: Any, bottom: str, left: str) -> None:
    style = {"color": current_tones().text, "font-size": "9pt"}
    plot.setLabel("bottom", bottom, **style)
    plot.setLabel("left", left, **style)


def _line_pen(number: int, width: float = 2.0) -> QPen:
    tones = current_tones()
    pen = QPen(QColor(tones.text if number == 0 else tones.accent), width)
    pen.setCosmetic(True)
    if number:
        pen.setStyle(Qt.PenStyle.DashLine)
    return pen


def _write(plot: Any, text: str, x: float, y: float, anchor: tuple[float, float]) -> None:
    import pyqtgraph as pg

    item = pg.TextItem(text, color=current_tones().text, anchor=anchor)
    font = QFont()
    font.setPointSizeF(9)
    item.setFont(font)
    plot.addItem(item, ignoreBounds=True)
    item.setPos(x, y)


def _mark(
    plot: Any, x: Sequence[float], y: Sequence[float], colors: Sequence[str], symbol: str, size: int
) -> None:
    import pyqtgraph as pg

    pen = pg.mkPen(QColor(current_tones().text), width=1.2)
    brushes = [pg.mkBrush(f"#{color}") for color in colors]
    spots = pg.ScatterPlotItem(
        x=list(x), y=list(y), symbol=symbol, size=size, pen=pen, brush=brushes
    )
    plot.addItem(spots)


def _draw_plane(plot: Any, qualities: Sequence["ChartQuality"]) -> None:
    plot.setAspectLocked(True)
    _label_axes(plot, "a*: green to red", "b*: blue to yellow")
    for number, quality in enumerate(qualities):
        a = [lab.a for _, lab in quality.curve]
        b = [lab.b for _, lab in quality.curve]
        plot.plot(a, b, pen=_line_pen(number))
        tubes = [item.measurement.lab for item in quality.chart.measurements]
        if len(qualities) == 1:
            plot.plot(
                [lab.a for lab in tubes], [lab.b for lab in tubes], pen=None, symbol="o",
                symbolSize=4, symbolPen=None, symbolBrush=QColor(current_tones().muted),
            )  # fmt: skip
        labs = [swatch.lab for swatch in quality.chart.swatches]
        _mark(plot, [lab.a for lab in labs], [lab.b for lab in labs], quality.colors,
              SYMBOLS[number], 13)  # fmt: skip
        anchors = outer_anchors([(lab.a, lab.b) for lab in labs])
        for name, lab, anchor in zip(quality.names, labs, anchors, strict=True):
            _write(plot, name, lab.a, lab.b, anchor)


def _draw_values(plot: Any, qualities: Sequence["ChartQuality"]) -> None:
    first = qualities[0].chart
    unit = "pH" if first.analyte.is_ph else first.analyte.unit or ""
    _label_axes(plot, _value_words(unit), "L*, a*, b*")
    for number, quality in enumerate(qualities):
        along = [value for value, _ in quality.curve]
        for channel, name in enumerate(("L*", "a*", "b*")):
            height = [lab[channel] for _, lab in quality.curve]
            pen = _line_pen(number, 1.6)
            if len(qualities) == 1:
                pen.setStyle(
                    (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine, Qt.PenStyle.DotLine)[channel]
                )
            plot.plot(along, height, pen=pen)
            _mark(plot, quality.positions, [s.lab[channel] for s in quality.chart.swatches],
                  quality.colors, SYMBOLS[number], 9)  # fmt: skip
            if number == 0:
                _write(plot, name, along[-1], height[-1], (-0.35, 0.5))
    low = min(quality.positions[0] for quality in qualities)
    high = max(quality.positions[-1] for quality in qualities)
    room = 0.06 * (high - low)
    plot.setXRange(low - room / 2, high + 2 * room, padding=0)
    _name_values(plot, qualities)


def _draw_errors(plot: Any, qualities: Sequence["ChartQuality"]) -> None:
    first = qualities[0].chart
    unit = "pH" if first.analyte.is_ph else first.analyte.unit or ""
    _label_axes(plot, _value_words(unit), "read minus known")
    tones = current_tones()
    plot.addLine(y=0, pen=QPen(QColor(tones.muted), 0))
    reach = 0.0
    for number, quality in enumerate(qualities):
        if len(qualities) == 1 and quality.residuals:
            plot.plot(
                [item.value for item in quality.residuals],
                [item.error for item in quality.residuals],
                pen=None, symbol="o", symbolSize=6, symbolPen=None,
                symbolBrush=QColor(tones.muted),
            )  # fmt: skip
        tested = quality.tested.swatches
        colors = [quality.colors[quality.positions.index(item.value)] for item in tested]
        _mark(plot, [item.value for item in tested], [item.error for item in tested], colors,
              "d" if number == 0 else "s", 13)  # fmt: skip
        reach = max([reach, *(abs(item.error) for item in tested)])
        reach = max([reach, *(abs(item.error) for item in quality.residuals)])
    reach = 1.25 * reach or 1.0
    plot.setYRange(-reach, reach, padding=0)
    _name_values(plot, qualities)


def _value_words(unit: str) -> str:
    return unit if unit == "pH" else f"value, {unit}" if unit else "value"


def _name_values(plot: Any, qualities: Sequence["ChartQuality"]) -> None:
    """Write labels under the axis where a chart has no values."""
    axis = plot.getAxis("bottom")
    quality = qualities[0]
    if quality.chart.has_values:
        axis.setTicks(None)
    else:
        axis.setTicks([list(zip(quality.positions, quality.names, strict=True))])
