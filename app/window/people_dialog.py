"""Gives names to the codes that readings carry, and blanks them again."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.window.labels import muted
from app.window.page import Tools
from colorcore.errors import TintwellError


class PeopleDialog(QDialog):
    """One line a person: the code that readings know, and a name that may be blank."""

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Name people")
        self.resize(460, 380)
        self._tools = tools
        box = QVBoxLayout(self)
        box.addWidget(
            muted(
                "Readings know the code alone. A name that is blanked is overwritten in the survey "
                "too; backups and copies made before keep it."
            )
        )
        self.table = QTableWidget(0, 2)
        self.table.setHorizontalHeaderLabels(["Code", "Name"])
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        self.table.setAccessibleName("Codes and names")
        self.table.setTabKeyNavigation(False)
        box.addWidget(self.table)
        self.blank = QPushButton("Blank the chosen name")
        self.blank.clicked.connect(self.blank_chosen)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.addButton(self.blank, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)
        self._fill()
        self.table.cellChanged.connect(self._take)

    def _fill(self) -> None:
        book = self._tools.model.book
        persons = () if book is None else book.persons()
        self.table.blockSignals(True)
        self.table.setRowCount(len(persons))
        for row, person in enumerate(persons):
            code = QTableWidgetItem(person.code)
            code.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
            self.table.setItem(row, 0, code)
            self.table.setItem(row, 1, QTableWidgetItem(person.name or ""))
        self.table.blockSignals(False)
        if persons and self.table.currentRow() < 0:
            self.table.setCurrentCell(0, 1)

    def blank_chosen(self) -> None:
        """Take the name of the chosen person out of the survey."""
        item = self.table.item(self.table.currentRow(), 1)
        if item is not None:
            item.setText("")

    def _take(self, row: int, column: int) -> None:
        code, name = self.table.item(row, 0), self.table.item(row, 1)
        model, book = self._tools.model, self._tools.model.book
        if column != 1 or code is None or name is None or book is None:
            return
        try:
            book.name_person(
                code.text(),
                name.text().strip() or None,
                person=model.desk.person,
                now=datetime.now().astimezone(),
            )
        except (TintwellError, ValueError) as error:
            wrong = TintwellError(str(error), what_to_do="Use another name.")
            self._tools.messages.complain(error if isinstance(error, TintwellError) else wrong)
        self._fill()
        model.refresh_survey()
