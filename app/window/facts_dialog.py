"""A form for the facts of one thing; what cannot be right is said beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QComboBox, QDialog, QFormLayout, QLineEdit, QWidget

from app.window.dialog_buttons import SAVE, take_or_cancel
from app.window.labels import muted

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One line of the form.

    Parameters
    ----------
    name, words : str
        Of the value object's field, and as the user reads it.
    parse : callable
        Makes the value of the text that was typed; never called with blanks alone.
    choices : tuple of str
        Where only these are possible.
    fixed : bool
        Whether it cannot be changed any more.
    needed : bool
        Whether it may not be left blank.
    """

    name: str
    words: str
    parse: Callable[[str], Any] = str
    choices: tuple[str, ...] = ()
    fixed: bool = False
    needed: bool = False


def parse_number(text: str) -> float:
    """Read a number with a decimal point or comma.

    Examples
    --------
    >>> parse_number("2,5")
    2.5
    """
    return (
        float(text.replace(",", ".")) if text.count(",") <= 1 and "." not in text else float(text)
    )


class FactsDialog(QDialog):
    """Fills a value object; the object's own checks decide what is right."""

    def __init__(
        self,
        title: str,
        fields: Sequence[Field],
        there: Mapping[str, Any],
        make: Callable[..., Any],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.resize(420, 0)
        self._fields, self._make = tuple(fields), make
        self.made: Any = None
        form = QFormLayout(self)
        self.inputs: dict[str, QLineEdit | QComboBox] = {}
        for field in self._fields:
            value = there.get(field.name)
            text = "" if value is None else str(value)
            box: QLineEdit | QComboBox
            if field.choices:
                box = QComboBox()
                there_too = [text] if text and text not in field.choices else []
                box.addItems(["", *field.choices, *there_too])
                box.setCurrentText(text)
            else:
                box = QLineEdit(text)
            box.setEnabled(not field.fixed)
            box.setAccessibleName(field.words)
            form.addRow(field.words, box)
            self.inputs[field.name] = box
        self.problem = muted()
        form.addRow(self.problem)
        form.addRow(take_or_cancel(self, self.try_to_save, SAVE))

    def try_to_save(self) -> None:
        """Make the object and close, or say what cannot be right."""
        values: dict[str, Any] = {}
        for field in self._fields:
            box = self.inputs[field.name]
            typed = box.currentText() if isinstance(box, QComboBox) else box.text()
            text = " ".join(typed.split())
            if field.needed and not text:
                self._complain(f"Fill in: {field.words}.", box)
                return
            try:
                values[field.name] = field.parse(text) if text else None
            except ValueError:
                self._complain(f"'{text}' is no {field.words.casefold()}.", box)
                return
        try:
            self.made = self._make(**values)
        except (TypeError, ValueError) as error:
            self._complain(f"This cannot be right: {error}.", None)
            return
        self.accept()

    def _complain(self, text: str, box: QWidget | None) -> None:
        self.problem.setText(text)
        if box is not None:
            box.setFocus()
