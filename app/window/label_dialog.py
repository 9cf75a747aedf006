"""Asks for the names that go on printed labels."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFormLayout,
    QPlainTextEdit,
    QSpinBox,
    QWidget,
)

from app.window.dialog_buttons import take_or_cancel
from app.window.labels import muted
from app.window.messages import Messages
from colorcore.errors import TintwellError

MOST_REPLICATES = 9


class LabelDialog(QDialog):
    """Names, replicates and paper; saves a PDF to be printed."""

    def __init__(
        self, names: Sequence[str], messages: Messages, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Print labels")
        self.resize(480, 520)
        self._messages = messages
        form = QFormLayout(self)
        form.addRow(
            muted(
                "A label beside the tubes names them in the photo. One label names all tubes of "
                "its photo; of several, each tube takes the nearest."
            )
        )
        self.names = QPlainTextEdit("\n".join(names))
        self.names.setPlaceholderText("One sample name on each line")
        self.names.setTabChangesFocus(True)
        form.addRow("&Samples", self.names)
        self.replicates = QSpinBox()
        self.replicates.setRange(0, MOST_REPLICATES)
        self.replicates.setSpecialValueText("not numbered")
        form.addRow("&Replicates of each", self.replicates)
        self.paper = QComboBox()
        self.paper.addItem("A4", False)
        self.paper.addItem("US Letter", True)
        form.addRow("&Paper", self.paper)
        form.addRow(take_or_cancel(self, self._save, "Save as PDF…"))

    def wanted(self) -> tuple[tuple[str, str | None], ...]:
        """Return sample and replicate of every label."""
        lines = [line.strip() for line in self.names.toPlainText().splitlines()]
        count = self.replicates.value()
        numbers = [str(number) for number in range(1, count + 1)] if count else [None]
        return tuple((name, number) for name in lines if name for number in numbers)

    def _save(self) -> None:
        if not self.wanted():
            self._messages.complain(
                TintwellError("There is no name for a label.", what_to_do="Write one on each line.")
            )
            return
        path = self._messages.ask_new_file("Labels", "labels", "labels.pdf", "PDF (*.pdf)")
        if path is not None:
            self.write(path)

    def write(self, path: Path) -> None:
        """Write the labels and close."""
        from app.window.label_sheet import write_label_sheet

        try:
            pages = write_label_sheet(self.wanted(), path, letter=self.paper.currentData())
        except TintwellError as error:
            self._messages.complain(error)
            return
        except OSError as error:
            self._messages.complain(
                TintwellError(
                    f"{path} cannot be written ({error.strerror}).",
                    what_to_do="Choose another folder.",
                )
            )
            return
        self._messages.tell(f"Wrote {len(self.wanted())} labels on {pages} pages to {path.name}.")
        self.accept()
