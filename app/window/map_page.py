"""The Map page: sites on a plan, readings on them, what lies between, where a source may be."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QTabWidget,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from app.window.empty_survey import EmptySurvey
from app.window.hand_over import no_survey
from app.window.map_canvas import ZOOM_STEP, MapCanvas
from app.window.map_controls import MapControls
from app.window.page import Page, Tools, make_action
from app.window.plan_tab import PlanTab
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QAction

    from app.site_map.map_view import MapView

SOON_MS = 350
LEFT_PX = 300
EMPTY = (
    "A map needs an open survey with readings of samples, and sites that have a place: by degrees "
    "(Samples, New site), or put on a plan here."
)


class MapPage(Page):
    """Where the readings lie."""

    name = "Map"
    symbol_name = "map"

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        self._view: MapView | None = None
        self._turn = 0
        self._stale = True
        self._make_actions()
        self.stack = QStackedWidget()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.stack)
        self.stack.addWidget(EmptySurvey(self, EMPTY))
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(self._map_tab(), "Map")
        self.plan_tab = PlanTab(tools)
        self.plan_tab.taken.connect(self._show_plan)
        self.tabs.addTab(self.plan_tab, "Place the sites")
        self.stack.addWidget(self.tabs)
        self._soon = QTimer(self, singleShot=True, interval=SOON_MS)
        self._soon.timeout.connect(self.draw)
        self.controls.changed.connect(self._draw_soon)
        tools.model.survey_changed.connect(self._mark_stale)
        tools.model.readings_changed.connect(self._mark_stale)

    # -- building ---------------------------------------------------------------------------

    def _make_actions(self) -> None:
        def make(text: str, slot: Any, **named: Any) -> QAction:
            return make_action(self, text, slot, **named)

        self.save_action = make("&Save the map…", self.ask_save, symbol_name="export")
        self.plan_action = make(
            "&Plan from a picture…", lambda: self.plan_tab.ask_picture(), symbol_name="open"
        )
        self.photos_action = make(
            "Place sites &where photos were taken…",
            lambda: self.plan_tab.ask_photos(),
            tip="Sites without a position get that of the kept photos of their samples",
        )
        self.practice_action = make("P&ractice survey for a class…", self.ask_practice)
        self.fit_action = make("&Fit", lambda: self.canvas.fit(), symbol_name="fit")
        self.closer_action = make(
            "&Closer", lambda: self.canvas.zoom(ZOOM_STEP), symbol_name="closer"
        )
        self.farther_action = make(
            "F&arther", lambda: self.canvas.zoom(1 / ZOOM_STEP), symbol_name="farther"
        )

    def menu_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the menu alone."""
        return (self.photos_action, None, self.practice_action)

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the toolbar."""
        return (
            self.save_action, self.plan_action, None, self.fit_action, self.closer_action,
            self.farther_action,
        )  # fmt: skip

    def _map_tab(self) -> QWidget:
        splitter = QSplitter()
        self.controls = MapControls()
        self.canvas = MapCanvas()
        self.words = QTextBrowser()
        self.words.setOpenLinks(False)
        self.words.setAccessibleName("What the map says")
        left = QSplitter(Qt.Orientation.Vertical)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(self.controls)
        left.addWidget(area)
        left.addWidget(self.words)
        left.setSizes([380, 320])
        left.setMinimumWidth(LEFT_PX)
        self.controls.setMaximumWidth(2 * LEFT_PX)
        splitter.addWidget(left)
        splitter.addWidget(self.canvas)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([LEFT_PX, 900])
        return splitter

    # -- showing ----------------------------------------------------------------------------

    def _mark_stale(self) -> None:
        self._stale = True
        if self.isVisible():
            self.refresh()

    def shown(self) -> None:
        """Bring the map up to date."""
        if self._stale:
            self.refresh()

    def refresh(self) -> None:
        """Show the open survey."""
        self._stale = False
        opened = self.tools.model.desk.survey
        self.stack.setCurrentIndex(0 if opened is None else 1)
        for action in self.page_actions():
            if action is not None:
                action.setEnabled(opened is not None)
        if opened is None:
            self.canvas.clear_map()
            self._view = None
            return
        survey = opened.survey
        kinds = [c.analyte.quantity for c in survey.charts if c.analyte.quantity is not None]
        self.controls.offer(survey, list(dict.fromkeys(kinds)))
        self.plan_tab.show_survey(opened)
        for action in (self.plan_action, self.photos_action):
            action.setEnabled(opened.read_only_because is None)
        self.draw()

    def _show_plan(self) -> None:
        self.tabs.setCurrentWidget(self.plan_tab)
        self.refresh()

    def _draw_soon(self) -> None:
        self._turn += 1  # a map still being made answers the old question
        self._soon.start()

    def draw(self) -> None:
        """Make the map on the work bench."""
        from app.tasks.trace_source import trace_source

        self._turn += 1  # a map of another survey, still being made, is not this one's
        book = self.tools.model.book
        if book is None or not self.controls.quantity.currentText():
            self._say_nothing("There are no readings in this survey yet.")
            return
        order, open_book, turn = self.controls.order(), book.open_again, self._turn
        colored = self.controls.coloring()

        def task() -> Any:
            with open_book() as other:
                view = yield from trace_source(other.survey(), other.each_reading(), order)
            return turn, colored(view)

        self.tools.bench.start(
            "Drawing the map", task(), on_finished=self._show, on_failed=self._fail
        )

    def _show(self, made: tuple[int, MapView]) -> None:
        from app.exports.map_words import map_html

        turn, view = made
        if turn != self._turn or self.tools.model.book is None:
            return  # something newer was asked for meanwhile
        self._view = view
        plan = self.plan_tab.plan if view.plane is None else None
        self.canvas.show_map(view, self.controls.layer.currentData(), plan)
        self.words.setHtml(map_html(view))
        self.save_action.setEnabled(True)
        self._mark(view)

    def _mark(self, view: MapView) -> None:
        """Mark a survey that looks for a source, so that no amounts are advised for its ground."""
        from app.tasks.trace_source import must_be_marked

        model, book = self.tools.model, self.tools.model.book
        opened = model.desk.survey
        if book is None or opened is None or opened.read_only_because is not None:
            return
        if not must_be_marked(opened.survey, view):
            return
        try:
            book.suspect_contamination(
                True, person=model.desk.person, now=datetime.now().astimezone()
            )
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        model.refresh_survey()
        self.tools.messages.tell(
            "The survey looks for a source: it is marked as suspected, and no amounts are advised."
        )

    def _fail(self, error: TintwellError) -> None:
        self._say_nothing(f"{error.what_happened} {error.what_to_do}")

    def _say_nothing(self, why: str) -> None:
        self._view = None
        self.canvas.clear_map()
        self.words.setPlainText(why)
        self.save_action.setEnabled(False)

    # -- doing ------------------------------------------------------------------------------

    def ask_save(self) -> None:
        """Let the user save the map."""
        if self._view is None:
            return
        target = self.tools.messages.ask_new_file(
            "Save the map", "export", f"{self._view.title} map.png",
            "Picture (*.png);;Drawing (*.svg);;Map file (*.geojson)",
        )  # fmt: skip
        if target is not None:
            self.save(target)

    def save(self, target: Path) -> None:
        """Write the map as its file's name says; positions only go out in pictures."""
        from app.exports.map_geojson import write_map_geojson
        from app.exports.map_picture import write_map_picture

        if self._view is None:
            return
        try:
            if target.suffix.casefold() == ".geojson":
                sure = self.tools.messages.ask(
                    "Let the file tell where the sites lie?",
                    "Without positions it holds the readings alone.",
                    "Tell the places",
                )
                write_map_geojson(self._view, target, with_positions=sure)
            else:
                write_map_picture(self._view, target, self.controls.layer.currentData())
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        self.tools.messages.tell(f"Wrote {target}.")

    def ask_practice(self) -> None:
        """Let a teacher hide a source among the sites of the open survey."""
        from app.tasks.site_readings import place_sites
        from app.window.practice_dialog import PracticeDialog

        opened = self.tools.model.desk.survey
        if opened is None:
            self.tools.messages.complain(no_survey())
            return
        try:
            places, _ = place_sites(opened.survey.sites)
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        PracticeDialog(places, self.tools, self).open()
