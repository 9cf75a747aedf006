"""Hands the survey over: a workbook, a table, a map file, or a report."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QCheckBox, QComboBox, QDialog, QFormLayout, QWidget

from app.tasks.step import Task
from app.window.advice_controls import BY_SITE, say_region
from app.window.dialog_buttons import take_or_cancel
from app.window.labels import muted
from app.window.page import Tools
from app.window.preferences import Preferences
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.tasks.interpret_survey import AdviceOrder

KINDS = {
    "xlsx": "Spreadsheet (XLSX): readings, samples, sites, charts, quality",
    "csv": "Table (CSV): one line a reading",
    "geojson": "Map file (GeoJSON)",
    "html": "Report (HTML): one file for any browser",
    "pdf": "Report (PDF): pages to print",
}


class HandOverDialog(QDialog):
    """Asks what is wanted."""

    def __init__(self, kind: str, preferences: Preferences, parent: QWidget | None = None) -> None:
        from app.soil.crops import shipped_crops
        from app.soil.region import region_names

        super().__init__(parent)
        self.setWindowTitle("Hand over the survey")
        form = QFormLayout(self)
        self.kind = QComboBox()
        for key, words in KINDS.items():
            self.kind.addItem(words, key)
        self.kind.setCurrentIndex(self.kind.findData(kind))
        form.addRow("&What", self.kind)
        self.positions = QCheckBox("Tell where the sites lie")
        self.pictures = QCheckBox("Show the tube of each reading (first 500)")
        self.mark = QCheckBox("Begin with the mark that some spreadsheet programs need for UTF-8")
        self.names = QCheckBox("Name people (their codes stand there anyway)")
        self.paper = QComboBox()
        self.paper.addItem("A4", "a4")
        self.paper.addItem("US Letter", "letter")
        for box in (self.positions, self.pictures, self.mark, self.names):
            form.addRow("", box)
        form.addRow("&Paper", self.paper)
        self.advice = QCheckBox("With advice on lime and fertilizer")
        form.addRow("", self.advice)
        self.crop = QComboBox()
        self.crop.addItem(BY_SITE)
        self.crop.addItems([crop.name for crop in shipped_crops()])
        self.crop.setCurrentIndex(max(0, self.crop.findText(preferences.crop)))
        form.addRow("&Crop", self.crop)
        self.region = QComboBox()
        for name in region_names():
            self.region.addItem(say_region(name), name)
        self.region.setCurrentIndex(max(0, self.region.findData(preferences.region)))
        form.addRow("&Region of the tables", self.region)
        form.addRow(
            muted("Positions and names stay out unless you ask. Withdrawn readings are marked.")
        )
        form.addRow(take_or_cancel(self, self.accept, "Choose the file…"))
        self.kind.currentIndexChanged.connect(self._fit)
        self.advice.toggled.connect(self._fit)
        self._fit()

    def _fit(self) -> None:
        kind = self.kind.currentData()
        self.pictures.setEnabled(kind == "xlsx")
        self.mark.setEnabled(kind == "csv")
        is_report = kind in ("html", "pdf")
        for part in (self.names, self.paper, self.advice):
            part.setEnabled(is_report)
        for choice in (self.crop, self.region):
            choice.setEnabled(is_report and self.advice.isChecked())

    def advice_order(self) -> AdviceOrder | None:
        """Return what the advice goes by; None where none is wanted."""
        from app.soil.crops import find_crop
        from app.tasks.advice_sheets import find_region
        from app.tasks.interpret_survey import AdviceOrder

        if not (self.advice.isEnabled() and self.advice.isChecked()):
            return None
        region = find_region([self.region.currentData()])
        name = self.crop.currentText()
        crop = None if name == BY_SITE else find_crop(name, own=region.crops)
        return AdviceOrder(crop=crop, region=region)


class HandOver(QObject):
    """Asks and writes."""

    def __init__(self, tools: Tools, parent: QWidget) -> None:
        super().__init__(parent)
        self._tools, self._window = tools, parent
        self._target = Path()

    def ask(self, kind: str) -> None:
        """Ask what is wanted, then where."""
        dialog = HandOverDialog(kind, self._tools.preferences, self._window)
        dialog.accepted.connect(lambda: self._ask_file(dialog))
        dialog.open()

    def _ask_file(self, dialog: HandOverDialog) -> None:
        survey, kind = self._tools.model.desk.survey, str(dialog.kind.currentData())
        if survey is None:
            return
        target = self._tools.messages.ask_new_file(
            "Hand over the survey", "export", f"{survey.survey.name}.{kind}", f"*.{kind}"
        )
        if target is not None:
            if target.suffix.casefold() != f".{kind}":
                target = target.with_name(f"{target.name}.{kind}")
            self.write(target, dialog)

    def write(self, target: Path, dialog: HandOverDialog) -> None:
        """Write the file; the file dialog has asked before one is replaced."""
        book = self._tools.model.book
        if book is None:
            return
        kind = target.suffix.casefold()
        task = (
            _reporting(book.open_again, target, dialog)
            if kind in (".html", ".pdf")
            else _exporting(book.open_again, target, dialog)
        )
        self._target = target
        self._tools.bench.start(
            f"Writing {target.name}",
            task,
            on_finished=self._tell,
            on_failed=self._tools.messages.complain,
        )

    def _tell(self, _: object) -> None:
        self._tools.messages.tell(f"Wrote {self._target}.")


def _exporting(open_book: Callable[..., object], target: Path, asked: HandOverDialog) -> Task[int]:
    """Read the dialog now, on the screen's thread; the rest runs on a thread of the pool."""
    from app.tasks.export_survey import ExportOrder, export_survey

    order = ExportOrder(
        target=target,
        with_positions=asked.positions.isChecked(),
        thumbnails=asked.pictures.isChecked() and target.suffix == ".xlsx",
        byte_order_mark=asked.mark.isChecked() and target.suffix == ".csv",
        replace=True,
    )

    def work() -> Task[int]:
        with open_book() as book:  # type: ignore[attr-defined]
            return (yield from export_survey(book, order))

    return work()


def _reporting(open_book: Callable[..., object], target: Path, asked: HandOverDialog) -> Task[int]:
    from app.exports.report_page import Paper, report_html
    from app.exports.whole_file import whole_file
    from app.tasks.report_survey import ReportOrder, report_survey

    order = ReportOrder(
        advice=asked.advice_order(),
        with_names=asked.names.isChecked(),
        with_positions=asked.positions.isChecked(),
    )
    paper: Paper = "letter" if asked.paper.currentData() == "letter" else "a4"

    def work() -> Task[int]:
        with open_book() as book:  # type: ignore[attr-defined]
            report = yield from report_survey(book, order, datetime.now().astimezone())
        if target.suffix.casefold() == ".pdf":
            from app.window.pdf_page import write_report_pdf

            return write_report_pdf(report, target, paper=paper)
        with whole_file(target) as part:
            part.write_text(report_html(report, paper=paper), encoding="utf-8")
        return 1

    return work()


def no_survey() -> TintwellError:
    """Return what is said where no survey is open."""
    return TintwellError(
        "No survey is open.", what_to_do="Open one or make a new one in the menu Survey."
    )
