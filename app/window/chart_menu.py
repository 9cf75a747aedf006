"""The button that says which charts photos are read against, and changes them."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QInputDialog, QMenu, QPushButton, QSizePolicy, QWidget

from app.window.page import Tools
from app.window.symbols import symbol
from colorcore.errors import TintwellError


class ChartButton(QPushButton):
    """Says what photos are read against.

    Signals
    -------
    asked(str)
        "open chart" or "calibrate".
    """

    asked = Signal(str)

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self.setIcon(symbol("charts"))
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.charts = QMenu("&Charts in use", self)
        self.charts.aboutToShow.connect(self.fill)
        self.setMenu(self.charts)
        tools.model.charts_changed.connect(self._name)
        self._name()

    def _name(self) -> None:
        names = [chart.name for chart in self._tools.model.desk.charts_in_use]
        said = f"Read against {' and '.join(names)}" if names else "No chart in use"
        self.setAccessibleName(said)
        self.setToolTip(f"{said}. Choose charts and the grey card's reflectance here.")
        room = max(self.width() - 70, 80)  # symbol and arrow take the rest
        self.setText(self.fontMetrics().elidedText(said, Qt.TextElideMode.ElideRight, room))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Write as much of the names as there is room for."""
        super().resizeEvent(event)
        self._name()

    def fill(self) -> None:
        """List the charts on the desk."""
        model = self._tools.model
        self.charts.clear()
        for chart in model.desk.charts:
            action = self.charts.addAction(chart.name)
            action.setCheckable(True)
            action.setChecked(chart.in_use)
            action.triggered.connect(lambda _, which=chart.chart.id: self.use(which))
        if not model.desk.charts:
            self.charts.addAction("No chart lies on the desk").setEnabled(False)
        self.charts.addSeparator()
        self.charts.addAction("&Open a chart…", lambda: self.asked.emit("open chart"))
        self.charts.addAction("&Calibrate a chart", lambda: self.asked.emit("calibrate"))
        self.charts.addSeparator()
        own = model.desk.card_reflectance
        said = "the chart's" if own is None else say_reflectance(own)
        self.charts.addAction(f"Card &reflectance: {said}…", self.ask_reflectance)

    def use(self, chart_id: str) -> None:
        """Read against a chart from now on, or no longer."""
        model = self._tools.model
        used = [chart.chart.id for chart in model.desk.charts_in_use]
        if chart_id in used:
            used.remove(chart_id)
        else:
            used.append(chart_id)
        model.use_charts(used)

    def ask_reflectance(self) -> None:
        """Ask for the reflectance of the grey card in the photos."""
        model = self._tools.model
        own = model.desk.card_reflectance
        text, said = QInputDialog.getText(
            self,
            "Card reflectance",
            "Reflectance of the grey card in these photos, as its label says: 0.18 is 18 %.\n"
            "Three numbers for a tinted card: R,G,B. Empty: the same card as the chart's.",
            text="" if own is None else say_reflectance(own),
        )
        if not said:
            return
        from app.terminal.words import parse_reflectance

        try:
            model.set_card_reflectance(parse_reflectance(text) if text.strip() else None)
        except TintwellError as error:
            self._tools.messages.complain(error)


def say_reflectance(reflectance: tuple[float, float, float]) -> str:
    """Write a card's reflectance, one number for a neutral card.

    Examples
    --------
    >>> say_reflectance((0.18, 0.18, 0.18)), say_reflectance((0.18, 0.18, 0.17))
    ('0.18', '0.18,0.18,0.17')
    """
    numbers = [f"{part:g}" for part in reflectance]
    return numbers[0] if len(set(numbers)) == 1 else ",".join(numbers)
