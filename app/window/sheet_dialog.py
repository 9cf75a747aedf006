"""Types the lines of a small sheet: laboratory values, products."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.tasks.typed_sheet import load_cells, save_cells
from app.window.dialog_buttons import SAVE, take_or_cancel
from app.window.labels import muted
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

SPARE_LINES = 5


class SheetDialog(QDialog):
    """A table to type in; what is saved is an ordinary CSV file."""

    def __init__(
        self,
        title: str,
        columns: Sequence[str],
        path: Path,
        samples: Sequence[str],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.resize(820, 420)
        self._path = path
        box = QVBoxLayout(self)
        box.addWidget(muted(f"One line each; leave blank what is not known. Kept in {path.name}."))
        self.table = QTableWidget()
        self.table.setAccessibleName(title)
        box.addWidget(self.table)
        self.problem = muted()
        box.addWidget(self.problem)
        buttons = take_or_cancel(self, self.save, SAVE)
        more = buttons.addButton("Another line", QDialogButtonBox.ButtonRole.ActionRole)
        more.clicked.connect(lambda: self.table.setRowCount(self.table.rowCount() + 1))
        box.addWidget(buttons)
        self._headings: tuple[str, ...] = tuple(columns)
        lines: Sequence[Sequence[str]] = ()
        try:
            self._headings, lines = load_cells(path, columns)
        except TintwellError as error:
            self.problem.setText(f"{error.what_happened} {error.what_to_do}")
            buttons.button(QDialogButtonBox.StandardButton.Save).setEnabled(False)
        if not lines and self._headings[0] == "sample":
            lines = [(label, *[""] * (len(self._headings) - 1)) for label in samples]
        self._fill(lines)

    def _fill(self, lines: Sequence[Sequence[str]]) -> None:
        self.table.setColumnCount(len(self._headings))
        self.table.setHorizontalHeaderLabels([name.replace("_", " ") for name in self._headings])
        self.table.setRowCount(len(lines) + SPARE_LINES)
        for row, line in enumerate(lines):
            for column, cell in enumerate(line):
                self.table.setItem(row, column, QTableWidgetItem(cell))
        self.table.resizeColumnsToContents()
        self.table.horizontalHeader().setStretchLastSection(True)

    def lines(self) -> list[list[str]]:
        """Return what was typed, without lines that name a thing and say nothing of it."""
        found = []
        for row in range(self.table.rowCount()):
            items = [self.table.item(row, column) for column in range(len(self._headings))]
            cells = ["" if item is None else item.text().strip() for item in items]
            if any(cells[1:]):
                found.append(cells)
        return found

    def save(self) -> None:
        """Write the sheet and close, or say why that cannot be."""
        if not self.lines():
            self.problem.setText("Nothing was typed yet.")
            return
        try:
            save_cells(self._path, self._headings, self.lines())
        except TintwellError as error:
            self.problem.setText(f"{error.what_happened} {error.what_to_do}")
            return
        self.accept()
