"""The Charts page: charts on the desk, one of them in detail, two compared, a new one made."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QSplitter, QStackedWidget, QVBoxLayout, QWidget

from app.desk import DeskChart
from app.window.chart_compare import ChartCompare
from app.window.chart_detail import ChartDetail
from app.window.chart_empty import NoCharts
from app.window.chart_list import ChartListView, ChartTable
from app.window.chart_plots import PlotLibrary
from app.window.page import Page, Tools, make_action
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.window.calibrate_pane import CalibratePane
    from calibration.chart import Chart

KINDS = "Charts (*.json)"


class ChartsPage(Page):
    """Charts."""

    name = "Charts"
    symbol_name = "charts"

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        self._chosen: str | None = None
        self.pane: CalibratePane | None = None
        self._library = PlotLibrary(tools.bench, self)
        self.table = ChartTable(tools.model, self)
        self.list = ChartListView(self.table)
        self.detail = ChartDetail(tools, self._library)
        self.compare = ChartCompare(tools, self._library)
        self.empty = NoCharts()
        self._make_actions()
        self.split = QSplitter(Qt.Orientation.Vertical)
        self.split.setChildrenCollapsible(False)
        self.split.addWidget(self.list)
        self.split.addWidget(self.detail)
        self.split.setStretchFactor(1, 1)
        self.split.setSizes([150, 600])
        self.stack = QStackedWidget()
        for widget in (self.empty, self.split, self.compare):
            self.stack.addWidget(widget)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.stack)
        self.empty.asked.connect(self._go_way)
        self.compare.left.connect(self.show_list)
        self.list.selectionModel().currentChanged.connect(self._choose)
        tools.model.charts_changed.connect(self._take_charts)
        tools.model.survey_changed.connect(self._show_chosen)
        tools.model.readings_changed.connect(self._show_chosen)
        shape = tools.preferences.state("charts")
        if shape is not None:
            self.split.restoreState(shape)
        self._take_charts()

    def _make_actions(self) -> None:
        self.new_action = make_action(
            self, "&New chart", self.calibrate, symbol_name="add", shortcut="Ctrl+Shift+N",
            tip="Make a chart from photos of tubes of known value, or of a printed chart",
        )  # fmt: skip
        self.open_action = make_action(
            self, "&Open chart…", self.ask_charts, symbol_name="open", shortcut="Ctrl+Shift+C"
        )
        self.save_action = make_action(
            self, "&Save chart…", self.ask_save, symbol_name="export", shortcut="Ctrl+S",
            tip="Save the chosen chart as a file; another chart's file is never replaced",
        )  # fmt: skip
        self.use_action = make_action(
            self, "&Use", self._toggle_use, symbol_name="accepted", shortcut="Ctrl+U",
            checkable=True, tip="Read photos against the chosen chart, or no longer",
        )  # fmt: skip
        self.keep_action = make_action(
            self, "&Keep in survey", self.keep, symbol_name="keep", shortcut="Ctrl+Shift+K",
            tip="Keep the chosen chart in the open survey",
        )  # fmt: skip
        self.compare_action = make_action(
            self, "&Compare", self.show_compare, symbol_name="charts", shortcut="Ctrl+Shift+M",
            tip="Lay the chosen chart beside another one",
        )  # fmt: skip
        self.remove_action = make_action(
            self, "&Remove from desk", self.remove, symbol_name="remove",
            tip="Take the chosen chart off the desk; its file stays",
        )  # fmt: skip

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what is done with charts."""
        return (
            self.new_action, self.open_action, None, self.use_action, self.save_action,
            self.keep_action, self.compare_action, None, self.remove_action,
        )  # fmt: skip

    # -- which part is shown ------------------------------------------------------------------

    def shown(self) -> None:
        """Load what plots need; ask whether a chart that was being made is taken up again."""
        self._library.load()
        self._enable()

    def show_list(self) -> None:
        """Show the charts, or what to do where there are none."""
        there = bool(self.table.charts)
        self.stack.setCurrentWidget(self.split if there else self.empty)
        if there:
            self.list.setFocus()
        self._enable()

    def calibrate(self) -> None:
        """Show the making of a chart."""
        if self.pane is None:
            from app.window.calibrate_pane import CalibratePane

            self.pane = CalibratePane(self.tools, self._library)
            self.pane.left.connect(self.show_list)
            self.pane.model.made.connect(self.take_made)
            self.stack.addWidget(self.pane)
            self.pane.take_up_draft()
        self.stack.setCurrentWidget(self.pane)
        self.pane.begin()
        self._enable()

    def show_compare(self) -> None:
        """Compare the chosen chart with the one before it, or the next."""
        charts = [item.chart.id for item in self.table.charts]
        chosen = self.list.chosen
        if chosen is None or len(charts) < 2:
            self.tools.messages.tell("Two charts must lie on the desk to be compared.")
            return
        others = [ident for ident in charts if ident != chosen.chart.id]
        other = chosen.chart.supersedes
        self.compare.show_charts(chosen.chart.id, other if other in others else others[-1])
        self.stack.setCurrentWidget(self.compare)
        self.compare.boxes[0].setFocus()
        self._enable()

    def _go_way(self, way: str) -> None:
        ways = {"new": self.calibrate, "open": self.ask_charts}
        if way in ways:
            ways[way]()
        else:
            self.asked.emit(way)

    # -- the chosen chart ---------------------------------------------------------------------

    def _take_charts(self) -> None:
        self.list.choose(self._chosen)
        self._show_chosen()
        if self.stack.currentWidget() in (self.empty, self.split):
            there = bool(self.table.charts)
            self.stack.setCurrentWidget(self.split if there else self.empty)
        elif self.stack.currentWidget() is self.compare and len(self.table.charts) < 2:
            self.show_list()
        self._enable()

    def _choose(self) -> None:
        chosen = self.list.chosen
        if chosen is not None and chosen.chart.id != self._chosen:
            self._chosen = chosen.chart.id
            self._show_chosen()
        self._enable()

    def _show_chosen(self) -> None:
        chosen = self.list.chosen
        if chosen is not None:
            self.detail.show_chart(chosen)

    def _enable(self) -> None:
        shown = self.stack.currentWidget()
        self.setFocusProxy(self.list if shown in (None, self.split) else shown)
        chosen = self.list.chosen
        listed = chosen is not None and self.stack.currentWidget() is self.split
        for action in (self.save_action, self.use_action, self.remove_action):
            action.setEnabled(listed)
        self.compare_action.setEnabled(listed and len(self.table.charts) > 1)
        survey = self.tools.model.desk.survey
        self.keep_action.setEnabled(
            listed and survey is not None and survey.read_only_because is None
        )
        self.use_action.setChecked(listed and chosen is not None and chosen.in_use)

    def _toggle_use(self) -> None:
        chosen = self.list.chosen
        if chosen is not None:
            self.table.use(chosen, not chosen.in_use)

    # -- files --------------------------------------------------------------------------------

    def ask_charts(self) -> None:
        """Let the user choose charts to open."""
        for path in self.tools.messages.ask_files("Open charts", "charts", KINDS):
            self.open_chart(path)

    def open_chart(self, path: Path) -> None:
        """Lay a chart's file on the desk."""
        from calibration.chart_file import load_chart

        try:
            chart = load_chart(path)
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        self._chosen = chart.id
        self.tools.model.add_chart(chart, path)
        self.show_list()
        self.tools.messages.tell(f"Opened the chart '{chart.name}'.")

    def ask_save(self) -> None:
        """Let the user name a file for the chosen chart."""
        chosen = self.list.chosen
        if chosen is not None:
            path = self.save(chosen.chart)
            if path is not None:
                self.tools.model.add_chart(chosen.chart, path, in_use=chosen.in_use)

    def save(self, chart: "Chart") -> Path | None:
        """Save a chart where the user says; None where it was not saved."""
        from calibration.chart_file import save_chart

        proposed = "".join(c if c.isalnum() or c in " -_" else "-" for c in chart.name)
        path = self.tools.messages.ask_new_file(
            "Save chart", "charts", f"{proposed.strip() or 'chart'}.json", KINDS
        )
        if path is None:
            return None
        path = path if path.suffix else path.with_suffix(".json")
        try:
            save_chart(chart, path)
        except TintwellError as error:
            self.tools.messages.complain(error)
            return None
        self.tools.messages.tell(f"Saved the chart as {path}.")
        return path

    def keep(self) -> None:
        """Keep the chosen chart in the open survey."""
        chosen, book = self.list.chosen, self.tools.model.book
        if chosen is None or book is None:
            return
        try:
            book.keep_chart(chosen.chart)
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        self.tools.model.refresh_survey()
        self.tools.messages.tell(f"Kept the chart '{chosen.name}' in the survey.")

    def take_made(self, chart: "Chart") -> None:
        """Save a chart that was made, lay it on the desk in use, and forget its draft."""
        path = self.save(chart)
        if path is None:
            self.tools.messages.tell("The chart was not saved; its draft is still there.")
            return
        assert self.pane is not None
        self._chosen = chart.id
        older = [c for c in self.table.charts if c.chart.id == chart.supersedes and c.in_use]
        self.tools.model.add_chart(chart, path)
        for item in older:
            self.table.use(item, in_use=False)
        self.pane.finished()
        self.show_list()

    def remove(self) -> None:
        """Take the chosen chart off the desk; where it would be lost, ask first."""
        chosen = self.list.chosen
        if chosen is None or not (self._is_safe(chosen) or self._may_lose(chosen)):
            return
        self._chosen = None
        self.tools.model.remove_chart(chosen.chart.id)
        self.tools.messages.tell(f"Took the chart '{chosen.name}' off the desk.")

    def _is_safe(self, item: DeskChart) -> bool:
        survey = self.tools.model.desk.survey
        kept = () if survey is None else survey.survey.charts
        in_file = item.path is not None and item.path.is_file()
        return in_file or any(chart.id == item.chart.id for chart in kept)

    def _may_lose(self, item: DeskChart) -> bool:
        return self.tools.messages.ask(
            f"Take the chart '{item.name}' off the desk?",
            "It is saved in no file and in no open survey, so it would be lost.",
            "Take off the desk",
        )

    def closing(self) -> None:
        """Save the draft and remember the shape of the page."""
        self.tools.preferences.remember_state("charts", self.split.saveState())
        if self.pane is not None:
            self.pane.closing()
