"""Asks what a tube of known value in the photo is."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFormLayout,
    QLabel,
    QLineEdit,
    QWidget,
)

from app.tube_reading import KnownTube
from app.window.dialog_buttons import OK, take_or_cancel
from app.window.labels import muted

if TYPE_CHECKING:
    from calibration.chart import Chart

HELP = (
    "Tubes of known value beside the samples tell Tintwell about the light: two of them help most "
    "under lamps."
)


class KnownTubeDialog(QDialog):
    """Asks for a value, its uncertainty, and which test it belongs to.

    Signals
    -------
    taken(KnownTube)
        The user said what it is.
    """

    taken = Signal(object)

    def __init__(
        self,
        tube: int,
        charts: "tuple[Chart, ...]",
        before: KnownTube | None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"Known value of tube {tube}")
        self.setMinimumWidth(400)
        self._tube, self._charts, self._before = tube, charts, before
        form = QFormLayout(self)
        form.addRow(muted(HELP))
        self.chart = QComboBox()
        for chart in charts:
            self.chart.addItem(f"{chart.name} ({chart.analyte.unit or 'no unit'})", chart.id)
        form.addRow("&Test", self.chart)
        self.value = QLineEdit()
        self.value.setPlaceholderText("such as 6.86")
        form.addRow("&Value", self.value)
        self.uncertainty = QLineEdit()
        self.uncertainty.setPlaceholderText("may stay empty")
        form.addRow("Standard &uncertainty", self.uncertainty)
        if before is not None:
            self.value.setText("" if before.value is None else f"{before.value:g}")
            if before.uncertainty is not None:
                self.uncertainty.setText(f"{before.uncertainty:g}")
        self.fault = QLabel()
        self.fault.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        form.addRow(self.fault)
        form.addRow(take_or_cancel(self, self._take, OK))
        self.value.setFocus()

    def _take(self) -> None:
        value, doubt = _number(self.value.text()), _number(self.uncertainty.text())
        if value is None:
            self.fault.setText("Give the value as a number.")
            return
        if self.uncertainty.text().strip() and (doubt is None or doubt <= 0):
            self.fault.setText("Give the uncertainty as a number above 0, or leave it empty.")
            return
        chart = next(item for item in self._charts if item.id == self.chart.currentData())
        analyte = replace(chart.analyte, ratio=None)
        self.taken.emit(
            KnownTube(tube=self._tube, value=value, label=None, uncertainty=doubt, analyte=analyte)
        )
        self.accept()


def _number(text: str) -> float | None:
    """Read a number with a point or a comma.

    Examples
    --------
    >>> _number("6,86"), _number("soap")
    (6.86, None)
    """
    from math import isfinite

    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if isfinite(value) else None
