"""The Samples page: kept readings, samples, sites and quality control of the open survey."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QStackedWidget, QTabWidget, QVBoxLayout, QWidget

from app.window.facts_table import Fact, FactsTable
from app.window.hand_over import HandOver, no_survey
from app.window.labels import heading, muted
from app.window.page import Page, Tools, make_action
from app.window.quality_tab import QualityTab
from app.window.readings_tab import ReadingsTab
from app.window.theme import SPACE
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QAction

    from app.survey.sample import Sample
    from app.survey.site import Site
    from app.tasks.add_table import Listed

SAMPLE_HEADINGS = (
    "Label", "Kind", "Site", "Taken on", "From cm", "To cm", "Texture", "By", "Notes",
)  # fmt: skip
SITE_HEADINGS = (
    "Name", "Land use", "Crop", "Area ha", "Latitude", "Longitude", "Elevation m", "Plan x m",
    "Plan y m", "Contamination", "Notes",
)  # fmt: skip
EMPTY = (
    "A survey keeps readings with their photos, samples and sites. Open one or make a new one in "
    "the menu Survey, then keep readings on the page Photos."
)


class SamplesPage(Page):
    """Everything that was kept."""

    name = "Samples"
    symbol_name = "samples"

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        self._hand_over = HandOver(tools, self)
        self._stale = True
        self.readings = ReadingsTab(tools)
        self._make_actions()
        self.stack = QStackedWidget()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.stack)
        empty = QWidget()
        box = QVBoxLayout(empty)
        box.setContentsMargins(4 * SPACE, 4 * SPACE, 4 * SPACE, 4 * SPACE)
        box.addWidget(heading("No survey is open"))
        box.addWidget(muted(EMPTY))
        box.addStretch()
        self.stack.addWidget(empty)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.stack.addWidget(self.tabs)
        self.tabs.addTab(self.readings, "Readings")
        self.samples = FactsTable("Samples", SAMPLE_HEADINGS)
        self.samples.doubleClicked.connect(self.edit_chosen)
        self.tabs.addTab(self.samples, "Samples")
        self.sites = FactsTable("Sites", SITE_HEADINGS)
        self.sites.doubleClicked.connect(self.edit_chosen)
        self.tabs.addTab(self.sites, "Sites")
        self.quality = QualityTab(tools)
        self.tabs.addTab(self.quality, "Quality control")
        self.tabs.currentChanged.connect(self._tab_changed)
        tools.model.survey_changed.connect(self._mark_stale)
        tools.model.readings_changed.connect(self._mark_stale)
        self.refresh()

    # -- building ---------------------------------------------------------------------------

    def _make_actions(self) -> None:
        def make(text: str, slot: Any, **named: Any) -> QAction:
            return make_action(self, text, slot, **named)

        self.export_action = make(
            "&Export…", lambda: self.ask_hand_over("xlsx"), symbol_name="export",
            shortcut="Ctrl+E",
        )  # fmt: skip
        self.report_action = make(
            "&Report…", lambda: self.ask_hand_over("html"), symbol_name="samples"
        )
        self.new_sample_action = make("New &sample…", self.new_sample, symbol_name="add")
        self.new_site_action = make("New s&ite…", self.new_site, symbol_name="map")
        self.edit_action = make("&Change the chosen one…", self.edit_chosen)
        self.import_samples = make("Import s&amples…", lambda: self.ask_import("samples"))
        self.import_sites = make("Import si&tes…", lambda: self.ask_import("sites"))
        self.relabel_action = make("&Correct the name…", self.readings.ask_relabel)
        self.withdraw_action = make("&Withdraw a reading…", self.readings.ask_withdrawal)
        self.check_action = make("Check the sur&vey", self.check_survey)
        self.backup_action = make("&Back up the survey…", self.ask_backup)

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the toolbar."""
        return (
            self.export_action, self.report_action, None, self.new_sample_action,
            self.new_site_action,
        )  # fmt: skip

    def menu_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the menu alone."""
        return (
            self.edit_action, self.import_samples, self.import_sites, None, self.relabel_action,
            self.withdraw_action, None, self.check_action, self.backup_action,
        )  # fmt: skip

    # -- showing ----------------------------------------------------------------------------

    def shown(self) -> None:
        """Bring everything up to date."""
        if self._stale:
            self.refresh()

    def _mark_stale(self) -> None:
        self._stale = True
        self.quality.is_stale = True
        if self.isVisible():
            self.refresh()

    def refresh(self) -> None:
        """Show what the survey holds now."""
        self._stale = False
        opened = self.tools.model.desk.survey
        self.stack.setCurrentIndex(0 if opened is None else 1)
        writable = opened is not None and opened.read_only_because is None
        for action in (
            self.export_action,
            self.report_action,
            self.check_action,
            self.backup_action,
        ):
            action.setEnabled(opened is not None)
        for action in (
            self.new_sample_action, self.new_site_action, self.edit_action, self.import_samples,
            self.import_sites, self.relabel_action, self.withdraw_action,
        ):  # fmt: skip
            action.setEnabled(writable)
        if opened is None:
            self.readings.refresh(None)
            return
        survey = opened.survey
        self.samples.put([_sample_row(sample) for sample in survey.samples])
        self.sites.put([_site_row(site) for site in survey.sites])
        self.tabs.setTabText(1, f"Samples ({len(survey.samples)})")
        self.tabs.setTabText(2, f"Sites ({len(survey.sites)})")
        self.readings.refresh(survey)
        self._tab_changed(self.tabs.currentIndex())

    def _tab_changed(self, place: int) -> None:
        if self.tabs.widget(place) is self.quality and self.quality.is_stale:
            self.quality.judge_quality()

    # -- doing ------------------------------------------------------------------------------

    def ask_hand_over(self, kind: str) -> None:
        """Ask what is to be written and where."""
        if self.tools.model.book is None:
            self.tools.messages.complain(no_survey())
        else:
            self._hand_over.ask(kind)

    def ask_import(self, what: Listed) -> None:
        """Let the user choose a table, then match its columns."""
        from app.records.tables_in import read_table
        from app.window.import_dialog import ImportDialog

        if self.tools.model.book is None:
            self.tools.messages.complain(no_survey())
            return
        path = self.tools.messages.ask_file(
            f"Import {what}", "import", "Tables (*.csv *.xlsx);;All files (*)"
        )
        if path is None:
            return
        try:
            table = read_table(path)
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        ImportDialog(table, what, self.tools, self).open()

    def new_sample(self) -> None:
        """Let the user add a sample."""
        self._edit_sample(None)

    def new_site(self) -> None:
        """Let the user add a site."""
        self._edit_site(None)

    def edit_chosen(self) -> None:
        """Let the user change the chosen sample or site."""
        opened = self.tools.model.desk.survey
        if opened is None or opened.read_only_because is not None:
            return
        if self.tabs.currentWidget() is self.samples:
            row = self.samples.chosen_row()
            if row is not None:
                self._edit_sample(opened.survey.samples[row])
        elif self.tabs.currentWidget() is self.sites:
            row = self.sites.chosen_row()
            if row is not None:
                self._edit_site(opened.survey.sites[row])

    def _edit_sample(self, sample: Any) -> None:
        from app.window.field_forms import sample_form

        opened = self.tools.model.desk.survey
        if opened is None:
            return
        dialog = sample_form(sample, tuple(site.name for site in opened.survey.sites), self)
        dialog.accepted.connect(lambda: self._write("add_samples", dialog.made))
        dialog.open()

    def _edit_site(self, site: Any) -> None:
        from app.window.field_forms import site_form

        dialog = site_form(site, self)
        dialog.accepted.connect(lambda: self._write("add_sites", dialog.made))
        dialog.open()

    def _write(self, how: str, thing: Any) -> None:
        book, model = self.tools.model.book, self.tools.model
        if book is None:
            return
        try:
            getattr(book, how)(
                [thing], person=model.desk.person, now=datetime.now().astimezone(), replace=True
            )
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        model.refresh_survey()

    def check_survey(self) -> None:
        """Check database and photos on the work bench."""
        from app.tasks.survey_care import check_survey

        self._care("Checking the survey", check_survey, self._tell_health)

    def _tell_health(self, health: Any) -> None:
        faults = [*health.database, *(f"{fault}" for fault in health.photos)]
        if faults:
            self.tools.messages.complain(
                TintwellError(
                    f"{len(faults)} faults: " + "; ".join(map(str, faults[:5])),
                    what_to_do="Restore a backup, or put the named photos back.",
                )
            )
        else:
            self.tools.messages.tell("Database and photos are sound.")

    def ask_backup(self) -> None:
        """Let the user choose where a copy of the survey goes."""
        from app.tasks.survey_care import back_up_survey

        opened = self.tools.model.desk.survey
        if opened is None:
            return
        stamp = datetime.now().strftime("%Y-%m-%d")
        target = self.tools.messages.ask_new_file(
            "Back up the survey", "backup", f"{opened.survey.name} {stamp}", "Folder (*)"
        )
        if target is not None:
            self._care("Backing up", lambda book: back_up_survey(book, target), self._tell_backup)

    def _tell_backup(self, faults: Sequence[Any]) -> None:
        said = "The survey was backed up."
        if faults:
            said = f"The survey was backed up without {len(faults)} photos that are damaged."
        self.tools.messages.tell(said)

    def _care(self, title: str, work: Any, then: Any) -> None:
        book = self.tools.model.book
        if book is None:
            self.tools.messages.complain(no_survey())
            return
        open_book = book.open_again

        def task() -> Any:
            with open_book() as other:
                return (yield from work(other))

        self.tools.bench.start(
            title, task(), on_finished=then, on_failed=self.tools.messages.complain
        )


def _sample_row(sample: Sample) -> tuple[Fact, ...]:
    return (
        sample.label, sample.kind, sample.site,
        None if sample.taken_on is None else sample.taken_on.isoformat(),
        sample.depth_top_cm, sample.depth_bottom_cm, sample.texture, sample.taken_by, sample.notes,
    )  # fmt: skip


def _site_row(site: Site) -> tuple[Fact, ...]:
    words = {None: None, True: "suspected", False: "not suspected"}
    return (
        site.name, site.land_use, site.crop, site.area_ha, site.latitude_deg, site.longitude_deg,
        site.elevation_m, site.map_x_m, site.map_y_m, words[site.suspected_contamination],
        site.notes,
    )  # fmt: skip
