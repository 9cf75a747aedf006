"""Kept readings: found, filtered, sorted, traced, corrected with a reason."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLineEdit,
    QSplitter,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.window.facts_table import dress_table
from app.window.kept_corrections import Corrections
from app.window.kept_pane import KeptPane
from app.window.kept_table_model import KeptTableModel
from app.window.labels import muted
from app.window.page import Tools
from app.window.photo_pictures import PhotoPictures
from app.wording import say_count

if TYPE_CHECKING:
    from app.desk import OpenSurvey
    from app.survey.kept_reading import KeptReading

TYPING_MS = 250
ANY = "any"
WIDTHS = (60, 150, 50, 110, 170, 60, 130, 170, 50, 130, 60)


class ReadingsTab(QWidget):
    """All readings of the open survey."""

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tools = tools
        self._pictures = PhotoPictures(tools.bench, self)
        box = QVBoxLayout(self)
        row = QHBoxLayout()
        self.search = QLineEdit()
        self.search.setPlaceholderText("Find a sample, replicate or photo")
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName("Find readings")
        self.quantity = QComboBox()
        self.quantity.setAccessibleName("Test")
        self.standing = QComboBox()
        self.standing.setAccessibleName("Standing")
        self.standing.addItems([ANY, "accepted", "doubtful", "refused"])
        self.all_rows = QCheckBox("Withdrawn too")
        self.all_rows.setToolTip("Also readings that were withdrawn or replaced")
        self.count = muted()
        self.count.setWordWrap(False)
        row.addWidget(self.search, 1)
        for words, box_ in (("Test", self.quantity), ("Standing", self.standing)):
            label = muted(words)
            label.setWordWrap(False)
            row.addWidget(label)
            row.addWidget(box_)
        row.addWidget(self.all_rows)
        row.addWidget(self.count)
        box.addLayout(row)
        self.readings = KeptTableModel()
        self.table = QTableView()
        self.table.setAccessibleName("Kept readings")
        self.table.setModel(self.readings)
        dress_table(self.table)
        for column, width in enumerate(WIDTHS):
            self.table.setColumnWidth(column, width)
        self.table.setSortingEnabled(True)
        self.table.sortByColumn(0, Qt.SortOrder.DescendingOrder)
        self.table.selectionModel().currentRowChanged.connect(self._show_chosen)
        self.table.activated.connect(lambda _: self.show_photo())
        copy = QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self.table)
        copy.setContext(Qt.ShortcutContext.WidgetShortcut)
        copy.activated.connect(self.copy_chosen)
        self.pane = KeptPane(self.tools)
        self.corrections = Corrections(tools, self.chosen, self)
        self.pane.relabel_asked.connect(self.corrections.ask_relabel)
        self.pane.again_asked.connect(self.corrections.ask_again)
        self.pane.withdraw_asked.connect(self.corrections.ask_withdrawal)
        self.pane.photo_asked.connect(self.show_photo)
        splitter = QSplitter()
        splitter.addWidget(self.table)
        splitter.addWidget(self.pane)
        splitter.setStretchFactor(0, 1)
        splitter.setCollapsible(1, False)
        box.addWidget(splitter, 1)
        self._typing = QTimer(self, singleShot=True, interval=TYPING_MS)
        self._typing.timeout.connect(self.ask_again)
        self.search.textChanged.connect(lambda: self._typing.start())
        for choice in (self.quantity, self.standing):
            choice.currentIndexChanged.connect(lambda: self.ask_again())
        self.all_rows.toggled.connect(lambda: self.ask_again())

    def refresh(self, opened: OpenSurvey | None) -> None:
        """Show what the survey holds now."""
        if opened is None:
            self.readings.ask(None, None)
            self.pane.show_reading(None)
            return
        survey = opened.survey
        self.pane.is_writable = opened.read_only_because is None
        kinds = [c.analyte.quantity for c in survey.charts if c.analyte.quantity is not None]
        chosen = self.quantity.currentData()
        self.quantity.blockSignals(True)
        self.quantity.clear()
        self.quantity.addItem(ANY, None)
        for kind in dict.fromkeys(kinds):
            self.quantity.addItem("pH" if kind == "ph" else kind, kind)
        self.quantity.setCurrentIndex(max(0, self.quantity.findData(chosen)))
        self.quantity.blockSignals(False)
        self.ask_again()

    def ask_again(self) -> None:
        """Show the readings that the filters want."""
        from app.survey.kept_reading import ReadingFilter

        standing = self.standing.currentText()
        wanted = ReadingFilter(
            text=self.search.text().strip() or None,
            quantity=self.quantity.currentData(),
            status=None if standing == ANY else standing,  # type: ignore[arg-type]
            only_standing=not self.all_rows.isChecked(),
        )
        self.readings.ask(self.tools.model.book, wanted)
        number = self.readings.rowCount()
        self.count.setText(f"{number} reading" + ("" if number == 1 else "s"))
        self.pane.show_reading(None)
        if number:
            self.table.selectRow(0)

    def chosen(self) -> KeptReading | None:
        """Return the reading that is chosen."""
        return self.readings.reading_at(self.table.currentIndex().row())

    def _show_chosen(self) -> None:
        self.pane.show_reading(self.chosen())

    def copy_chosen(self) -> None:
        """Copy the chosen readings as text that a spreadsheet takes."""
        from app.exports.clipboard import clipboard_text

        opened = self.tools.model.desk.survey
        rows = sorted(index.row() for index in self.table.selectionModel().selectedRows())
        kept = [reading for row in rows if (reading := self.readings.reading_at(row)) is not None]
        if opened is not None and kept:
            QGuiApplication.clipboard().setText(clipboard_text(opened.survey, kept))
            self.tools.messages.tell(f"Copied {say_count(len(kept), 'reading')}.")

    def show_photo(self) -> None:
        """Show the photo of the chosen reading large."""
        from app.window.kept_photo_dialog import KeptPhotoDialog

        kept, book = self.chosen(), self.tools.model.book
        if kept is None or book is None:
            return
        path = None if kept.line.sha256 is None else book.photo_path(kept.line.sha256)
        if path is None:
            self.tools.messages.tell("This reading has no photo.")
            return
        title = f"{kept.line.photo}, tube {kept.line.tube}"
        KeptPhotoDialog(path, title, self._pictures, self).open()
