"""The Advice page: what each soil is, what the crop needs on it, what to buy."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QGuiApplication, QPdfWriter, QTextDocument
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from app.window.advice_controls import AdviceControls
from app.window.empty_survey import EmptySurvey
from app.window.facts_table import FactsTable
from app.window.page import Page, Tools, make_action
from app.window.theme import SPACE
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from PySide6.QtGui import QAction

    from app.soil.units import System
    from app.survey.sample_advice import SurveyAdvice

SOON_MS = 350
EMPTY = (
    "Advice is made from the kept readings of soil samples. Open a survey, keep readings in it on "
    "the page Photos, and write area and crop of the sites on the page Samples."
)
PAGE = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{title}</title>
<style>body {{ font: 11pt sans-serif; max-width: 46em; margin: 2em auto; padding: 0 1em }}</style>
</head><body>{body}</body></html>
"""
ALL_SAMPLES = "All samples"


class AdvicePage(Page):
    """From readings to decisions."""

    name = "Advice"
    symbol_name = "advice"

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        self._advice: SurveyAdvice | None = None
        self._turn = 0
        self._stale = True
        self.copy_action = make_action(
            self, "&Copy the advice", self.copy_text, symbol_name="export"
        )
        self.save_action = make_action(self, "&Save the advice…", self.ask_save, symbol_name="open")
        self.print_action = make_action(
            self, "&Print to PDF…", self.ask_print, symbol_name="samples"
        )
        self.stack = QStackedWidget()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.stack)
        self.stack.addWidget(EmptySurvey(self, EMPTY))
        self.stack.addWidget(self._whole())
        self._soon = QTimer(self, singleShot=True, interval=SOON_MS)
        self._soon.timeout.connect(self.ask)
        self.controls.changed.connect(lambda: self._soon.start())
        tools.model.survey_changed.connect(self._mark_stale)
        tools.model.readings_changed.connect(self._mark_stale)

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the toolbar."""
        return self.copy_action, self.save_action, self.print_action

    def _whole(self) -> QWidget:
        splitter = QSplitter()
        self.controls = AdviceControls(self.tools)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setWidget(self.controls)
        area.setMinimumWidth(self.controls.sizeHint().width() + 2 * SPACE)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        splitter.addWidget(area)
        right = QSplitter(Qt.Orientation.Vertical)
        self.overview = FactsTable("Overview of the samples")
        self.overview.selectionModel().selectionChanged.connect(lambda: self._say())
        right.addWidget(self.overview)
        below = QWidget()
        box = QVBoxLayout(below)
        box.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        row.setContentsMargins(SPACE, SPACE // 2, SPACE, 0)
        self.both_units = QCheckBox("Both systems of units")
        self.both_units.setChecked(True)
        self.steps = QCheckBox("How each number was worked out")
        for tick in (self.both_units, self.steps):
            tick.toggled.connect(lambda: self._say())
            row.addWidget(tick)
        row.addStretch()
        box.addLayout(row)
        self.words = QTextBrowser()
        self.words.setOpenLinks(False)
        self.words.setAccessibleName("Advice")
        box.addWidget(self.words)
        right.addWidget(below)
        right.setSizes([220, 460])
        splitter.addWidget(right)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([270, 900])
        return splitter

    # -- showing ----------------------------------------------------------------------------

    def _mark_stale(self) -> None:
        self._stale = True
        if self.isVisible():
            self.shown()

    def shown(self) -> None:
        """Bring the advice up to date."""
        opened = self.tools.model.desk.survey
        self.stack.setCurrentIndex(0 if opened is None else 1)
        self._allow()
        self.controls.use_folder(None if opened is None else opened.folder)
        if self._stale:
            self._stale = False
            self.ask()

    @property
    def _units(self) -> System | None:
        if self.both_units.isChecked():
            return None
        return self._preferred

    @property
    def _preferred(self) -> System:
        return "us" if self.tools.preferences.units == "us" else "si"

    def ask(self) -> None:
        """Work the advice out on the work bench."""
        from app.tasks.interpret_survey import interpret_survey

        book = self.tools.model.book
        if book is None:
            self._advice = None
            return
        try:
            order = self.controls.order()
        except TintwellError as error:
            self._fail(error)
            return
        self._turn += 1
        open_book, turn = book.open_again, self._turn

        def task() -> Any:
            with open_book() as other:
                survey = other.survey()
                advice = yield from interpret_survey(survey, other.each_reading(), order)
            return turn, advice

        self.tools.bench.start(
            "Working out the advice", task(), on_finished=self._take, on_failed=self._fail
        )

    def _take(self, made: tuple[int, SurveyAdvice]) -> None:
        from app.exports.advice_text import OVERVIEW, overview_row

        turn, advice = made
        if turn != self._turn or self.tools.model.book is None:
            return  # something newer was asked for meanwhile
        self._advice = advice
        rows = [overview_row(item, self._preferred) for item in advice.samples]
        self.overview.put([(ALL_SAMPLES, *[""] * (len(OVERVIEW) - 1)), *rows], OVERVIEW)
        self.overview.selectRow(1 if rows else 0)
        self._allow()
        self._say()

    def _fail(self, error: TintwellError) -> None:
        self._advice = None
        self.overview.put([])
        self.words.setPlainText(f"{error.what_happened} {error.what_to_do}")
        self._allow()

    def _say(self) -> None:
        from app.exports.advice_html import sample_html, shopping_html

        if self._advice is None:
            return
        row = self.overview.chosen_row()
        if not row:
            self.words.setHtml(shopping_html(self._advice, self._units))
            return
        item = self._advice.samples[row - 1]
        steps = self.steps.isChecked()
        self.words.setHtml(sample_html(item, self._advice, self._units, steps=steps))

    def _allow(self) -> None:
        for action in self.page_actions():
            if action is not None:
                action.setEnabled(self._advice is not None)

    def whole_html(self) -> str:
        """Return the advice of all samples, and what is bought for them."""
        from app.exports.advice_html import sample_html, shopping_html

        assert self._advice is not None
        steps = self.steps.isChecked()
        parts = [shopping_html(self._advice, self._units)]
        parts += [
            sample_html(item, self._advice, self._units, steps=steps)
            for item in self._advice.samples
        ]
        return "<hr>".join(parts)

    def ask_save(self) -> None:
        """Let the user save the advice as a page for a browser, or as text."""
        if self._advice is None:
            return
        target = self.tools.messages.ask_new_file(
            "Save the advice", "export", f"{self._advice.survey_name} advice.html",
            "Page (*.html);;Text (*.txt)",
        )  # fmt: skip
        if target is not None:
            self.save(target)

    def save(self, target: Path) -> None:
        """Write the advice as its file's name says."""
        from app.exports.advice_text import describe_advice
        from app.exports.whole_file import whole_file

        if self._advice is None:
            return
        if target.suffix.casefold() == ".txt":
            text = describe_advice(self._advice, units=self._units, steps=self.steps.isChecked())
        else:
            title = escape(f"Advice for {self._advice.survey_name}")
            text = PAGE.format(title=title, body=self.whole_html())
        try:
            with whole_file(target) as part:
                part.write_text(text, encoding="utf-8")
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        self.tools.messages.tell(f"Wrote {target}.")

    def ask_print(self) -> None:
        """Let the user make pages to print."""
        if self._advice is None:
            return
        target = self.tools.messages.ask_new_file(
            "Print to PDF", "export", f"{self._advice.survey_name} advice.pdf", "PDF (*.pdf)"
        )
        if target is not None:
            self.write_pdf(target)

    def write_pdf(self, target: Path) -> None:
        """Lay the advice out on pages."""
        from app.exports.whole_file import whole_file

        try:
            with whole_file(target) as part:
                writer = QPdfWriter(str(part))
                writer.setTitle("Advice")
                document = QTextDocument()
                document.setHtml(self.whole_html())
                document.print_(writer)
                del writer  # it writes the end of the file
        except TintwellError as error:
            self.tools.messages.complain(error)
            return
        self.tools.messages.tell(f"Wrote {target}.")

    def copy_text(self) -> None:
        """Copy the whole advice as text."""
        from app.exports.advice_text import describe_advice

        if self._advice is not None:
            text = describe_advice(self._advice, units=self._units, steps=self.steps.isChecked())
            QGuiApplication.clipboard().setText(text)
            self.tools.messages.tell("Copied the advice.")
