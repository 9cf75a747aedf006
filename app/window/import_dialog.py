"""Takes sites or samples from a table: which column is what, then what is added."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QVBoxLayout,
    QWidget,
)

from app.window.dialog_buttons import take_or_cancel
from app.window.facts_table import FactsTable
from app.window.field_forms import WORDS
from app.window.labels import muted, subheading
from app.wording import say_count
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.survey.import_tables import Listed
    from app.survey.table_rows import Table
    from app.window.page import Tools

SHOWN = 6
NOT_THERE = "not in the table"


class ImportDialog(QDialog):
    """The column-matching step: guesses are shown and can be changed."""

    def __init__(
        self, table: Table, what: Listed, tools: Tools, parent: QWidget | None = None
    ) -> None:
        from app.survey.import_tables import FIELDS
        from app.survey.table_rows import guess_columns

        super().__init__(parent)
        self.setWindowTitle(f"Import {what}")
        self.resize(760, 620)
        self._table, self._what, self._tools = table, what, tools
        box = QVBoxLayout(self)
        box.addWidget(subheading(f"{table.name}: {say_count(len(table.rows), 'row')}"))
        shown = FactsTable("The table's first rows")
        shown.put(
            [[None if c is None else str(c) for c in cells] for _, cells in table.rows[:SHOWN]],
            table.headings,
        )
        shown.setMaximumHeight(220)
        box.addWidget(shown)
        box.addWidget(muted("Say which column holds what; the guess comes from the headings."))
        form = QFormLayout()
        guess = guess_columns(table.headings, FIELDS[what]).columns
        self.columns: dict[str, QComboBox] = {}
        for field in FIELDS[what]:
            choice = QComboBox()
            choice.addItems([NOT_THERE, *table.headings])
            choice.setCurrentIndex(guess[field] + 1 if field in guess else 0)
            form.addRow(WORDS.get(field) or field.replace("_", " ").capitalize(), choice)
            self.columns[field] = choice
        box.addLayout(form)
        self.replacing = QCheckBox("Let the table change facts of what is there already")
        box.addWidget(self.replacing)
        self.problem = muted()
        box.addWidget(self.problem)
        box.addWidget(take_or_cancel(self, self.take, f"Import {what}"))

    def take(self) -> None:
        """Add what the table lists, or say which rows cannot be right; all of it or nothing."""
        from app.survey.table_rows import Table
        from app.tasks.add_table import AddOrder, add_table

        book = self._tools.model.book
        if book is None:
            return
        said = {f: c.currentText() for f, c in self.columns.items() if c.currentIndex() > 0}
        used = {choice.currentIndex() - 1 for choice in self.columns.values()}
        # a column that the user did not choose must not be guessed again
        headings = tuple(h if i in used else "" for i, h in enumerate(self._table.headings))
        table = Table(name=self._table.name, headings=headings, rows=self._table.rows)
        order = AddOrder(
            what=self._what, table=table, said=said, replace=self.replacing.isChecked()
        )
        try:
            added = add_table(
                book,
                order,
                person=self._tools.model.desk.person,
                now=datetime.now().astimezone(),
            )
        except TintwellError as error:
            self.problem.setText(f"{error.what_happened} {error.what_to_do}")
            return
        self._tools.model.refresh_survey()
        parts = [f"{added.new} added"]
        parts += [f"{added.same} there already"] if added.same else []
        parts += [f"{added.changed} changed"] if added.changed else []
        self._tools.messages.tell(f"{self._what.capitalize()}: {', '.join(parts)}.")
        self.accept()
