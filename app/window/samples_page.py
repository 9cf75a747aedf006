"""The Samples page: kept readings and all that the open survey lists, judged and handed over."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QStackedWidget, QTabWidget, QVBoxLayout, QWidget

from app.window.empty_survey import EmptySurvey
from app.window.facts_table import FactsTable
from app.window.hand_over import HandOver, no_survey
from app.window.labels import muted
from app.window.listings import KNOWN, LISTINGS, SAMPLES, SITES, TESTS, Listing
from app.window.name_by_file import NameByFile
from app.window.page import Page, Tools, make_action
from app.window.quality_tab import QualityJudge
from app.window.readings_tab import ReadingsTab
from app.window.survey_care import SurveyCare
from app.window.theme import SPACE
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QAction

EMPTY = (
    "A survey keeps readings with their photos, samples and sites. Open one or make a new one, "
    "then keep readings on the page Photos."
)


class SamplesPage(Page):
    """Everything that was kept."""

    name = "Samples"
    symbol_name = "samples"

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        self._hand_over = HandOver(tools, self)
        self._stale = True
        self.care = SurveyCare(tools, self)
        self.by_file = NameByFile(tools, self)
        self.readings = ReadingsTab(tools)
        self._make_actions()
        self.read_only = muted()
        self.read_only.setContentsMargins(SPACE, SPACE, SPACE, 0)
        self.tabs = QTabWidget()
        self.tabs.setAccessibleName("What the survey holds")
        self.tabs.setDocumentMode(True)
        self.tabs.setUsesScrollButtons(True)
        self.tabs.addTab(self.readings, "Readings")
        self.tables: dict[str, FactsTable] = {}
        for listing in LISTINGS:
            table = FactsTable(listing.name, listing.headings)
            table.activated.connect(lambda _: self.edit_chosen())
            self.tables[listing.name] = table
            self.tabs.addTab(table, listing.name)
        self.judge = QualityJudge(tools, self)
        self.tabs.addTab(self.judge.quality, "Quality control")
        self.tabs.addTab(self.judge.groups, "Groups")
        self.tabs.currentChanged.connect(lambda _: self._tab_changed())
        full = QWidget()
        box = QVBoxLayout(full)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.read_only)
        box.addWidget(self.tabs, 1)
        self.stack = QStackedWidget()
        self.stack.addWidget(EmptySurvey(self, EMPTY))
        self.stack.addWidget(full)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.stack)
        tools.model.survey_changed.connect(self._mark_stale)
        tools.model.readings_changed.connect(self._mark_stale)
        self.refresh()

    # -- building ---------------------------------------------------------------------------

    def _make_actions(self) -> None:
        def make(text: str, slot: Any, **named: Any) -> QAction:
            return make_action(self, text, slot, **named)

        self.export_action = make(
            "&Export…", lambda: self._hand_over.ask("xlsx"), symbol_name="export",
            shortcut="Ctrl+E",
        )  # fmt: skip
        self.report_action = make(
            "&Report…", lambda: self._hand_over.ask("html"), symbol_name="samples"
        )
        corrections = self.readings.corrections
        symbols = {SAMPLES.name: "add", SITES.name: "map"}
        self.new_actions = {
            listing.name: make(
                f"New {listing.one}…", partial(self.edit, listing, None),
                symbol_name=symbols.get(listing.name),
            )
            for listing in LISTINGS
        }  # fmt: skip
        self.edit_action = make("&Change the chosen one…", self.edit_chosen)
        self.remove_action = make("Re&move the chosen one…", self.remove_chosen)
        self.import_actions = {
            listing.name: make(
                f"Import {listing.name.casefold()}…", partial(self.ask_import, listing)
            )
            for listing in LISTINGS
        }
        self.relabel_action = make("&Correct the name…", corrections.ask_relabel)
        self.again_action = make("Rea&d again on a chart…", corrections.ask_again)
        self.withdraw_action = make("&Withdraw a reading…", corrections.ask_withdrawal)

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the toolbar."""
        first = (self.new_actions[SAMPLES.name], self.new_actions[SITES.name])
        return self.export_action, self.report_action, None, *first

    def menu_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the menu alone."""
        others = [a for name, a in self.new_actions.items() if name not in ("Samples", "Sites")]
        return (
            *others, self.edit_action, self.remove_action, None, *self.import_actions.values(),
            self.by_file.action, None, self.relabel_action, self.again_action,
            self.withdraw_action, None, *self.care.actions(),
        )  # fmt: skip

    # -- showing ----------------------------------------------------------------------------

    def shown(self) -> None:
        """Bring everything up to date."""
        if self._stale:
            self.refresh()

    def _mark_stale(self) -> None:
        self._stale = True
        self.judge.is_stale = True
        if self.isVisible():
            self.refresh()

    def refresh(self) -> None:
        """Show what the survey holds now."""
        self._stale = False
        opened = self.tools.model.desk.survey
        self.stack.setCurrentIndex(0 if opened is None else 1)
        because = None if opened is None else opened.read_only_because
        for action in (self.export_action, self.report_action, self.by_file.action):
            action.setEnabled(opened is not None)
        for action in (
            *self.new_actions.values(), self.edit_action, self.remove_action,
            *self.import_actions.values(), self.relabel_action, self.again_action,
            self.withdraw_action,
        ):  # fmt: skip
            action.setEnabled(opened is not None and because is None)
        self.care.allow(opened)
        self.read_only.setVisible(because is not None)
        self.read_only.setText(f"Nothing can be written to this survey. {because}")
        if opened is None:
            self.readings.refresh(None)
            return
        for place, listing in enumerate(LISTINGS, start=1):
            things = listing.things(opened.survey)
            self.tables[listing.name].put([listing.row(thing) for thing in things])
            self.tabs.setTabText(place, f"{listing.name} ({len(things)})")
        self.readings.refresh(opened)
        self._tab_changed()

    def _tab_changed(self) -> None:
        if self.tabs.currentWidget() in (self.judge.quality, self.judge.groups):
            self.judge.judge()

    # -- doing ------------------------------------------------------------------------------

    def ask_import(self, listing: Listing) -> None:
        """Let the user choose a table, then match its columns."""
        from app.records.tables_in import read_table
        from app.window.import_dialog import ImportDialog

        if self.tools.model.book is None:
            self.tools.messages.complain(no_survey())
            return
        path = self.tools.messages.ask_file(
            f"Import {listing.name.casefold()}", "import", "Tables (*.csv *.xlsx);;All files (*)"
        )
        if path is None:
            return
        try:
            table = read_table(path)
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        ImportDialog(table, listing.listed, self.tools, self).open()

    def _chosen(self) -> tuple[Listing, Any] | None:
        """Return what is chosen in the list that is shown."""
        opened = self.tools.model.desk.survey
        listing = next(
            (one for one in LISTINGS if self.tables[one.name] is self.tabs.currentWidget()), None
        )
        row = None if listing is None else self.tables[listing.name].chosen_row()
        if opened is None or listing is None or row is None:
            return None
        return listing, listing.things(opened.survey)[row]

    def edit_chosen(self) -> None:
        """Let the user change what is chosen in the list."""
        chosen = self._chosen()
        if chosen is None:
            self.tools.messages.tell("Choose a line in one of the lists first.")
        elif self.edit_action.isEnabled():
            self.edit(*chosen)

    def edit(self, listing: Listing, thing: Any) -> None:
        """Let the user fill in one thing, a new one where there is none."""
        model = self.tools.model
        if model.desk.survey is None:
            return
        dialog = listing.form(thing, model.desk.survey.survey, model.desk.person, self)
        dialog.accepted.connect(lambda: self.keep(listing, dialog.made))
        dialog.open()

    def keep(self, listing: Listing, thing: Any) -> None:
        """Write one thing into the survey."""
        book, model = self.tools.model.book, self.tools.model
        if book is None:
            return
        try:
            listing.keep(book, thing, model.desk.person, datetime.now().astimezone())
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        model.refresh_survey()
        if listing is TESTS:
            model.clocks_changed.emit()  # they may know when it was shaken

    def remove_chosen(self) -> None:
        """Take away what is chosen, where nothing names it."""
        chosen, book, model = self._chosen(), self.tools.model.book, self.tools.model
        if chosen is None or book is None:
            self.tools.messages.tell("Choose a line in one of the lists first.")
            return
        listing, thing = chosen
        if listing is KNOWN:
            self.tools.messages.tell("A known value stays; a newer one takes its place.")
            return
        name = listing.row(thing)[0]
        if not self.tools.messages.ask(
            f"Remove the {listing.one} {name}?", "Readings are never removed.", "Remove"
        ):
            return
        try:
            book.remove(thing, person=model.desk.person, now=datetime.now().astimezone())
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        model.refresh_survey()
