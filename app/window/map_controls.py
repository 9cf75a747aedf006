"""What is to be on the map: test, background sites, which way the water goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QFormLayout,
    QListWidget,
    QListWidgetItem,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.window.labels import muted, subheading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.survey.survey import Survey
    from app.tasks.trace_source import MapOrder

WAYS = {
    "unknown": "not known",
    "arrow": "in a direction that I know",
    "heads": "from water levels in wells",
    "slope": "down the slope of the ground",
}
KINDS = {None: "all", "soil": "soil", "water": "water"}


class MapControls(QWidget):
    """Asks what a map shows.

    Signals
    -------
    changed()
        Anything was changed.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        box = QVBoxLayout(self)
        form = QFormLayout()
        self.quantity = QComboBox()
        self.quantity.setAccessibleName("Test on the map")
        form.addRow("&Test", self.quantity)
        self.kind = QComboBox()
        for kind, words in KINDS.items():
            self.kind.addItem(words, kind)
        form.addRow("Sam&ples of", self.kind)
        self.layer = QComboBox()
        self.layer.addItem("values", "values")
        self.layer.addItem("standard errors of kriging", "errors")
        form.addRow("&Ground shows", self.layer)
        self.way = QComboBox()
        for way, words in WAYS.items():
            self.way.addItem(words, way)
        form.addRow("&Water goes", self.way)
        self.degrees = QDoubleSpinBox()
        self.degrees.setRange(0, 359)
        self.degrees.setDecimals(0)
        self.degrees.setSuffix("° from north")
        self.degrees.setWrapping(True)
        form.addRow("T&owards", self.degrees)
        box.addLayout(form)
        self.heads = QTableWidget(0, 2)
        self.heads.setHorizontalHeaderLabels(["Well", "Water level, m"])
        self.heads.verticalHeader().hide()
        self.heads.horizontalHeader().setStretchLastSection(True)
        self.heads.setAccessibleName("Water levels, metres above one level")
        box.addWidget(self.heads)
        box.addWidget(subheading("Background sites"))
        box.addWidget(muted("Clean places, away from what is suspected."))
        self.background = QListWidget()
        self.background.setAccessibleName("Background sites")
        box.addWidget(self.background, 1)
        for choice in (self.quantity, self.kind, self.layer, self.way):
            choice.currentIndexChanged.connect(self._say_changed)
        self.degrees.valueChanged.connect(self._say_changed)
        self.heads.itemChanged.connect(self._say_changed)
        self.background.itemChanged.connect(self._say_changed)
        self._form = form
        self._fit()

    def offer(self, survey: Survey | None, quantities: Sequence[str]) -> None:
        """Offer what the survey has; what was chosen stays chosen."""
        boxes = (self.quantity, self.background, self.heads)
        for box in boxes:
            box.blockSignals(True)
        chosen, checked, heads = self.quantity.currentData(), set(self.checked()), self.levels()
        self.quantity.clear()
        for quantity in quantities:
            self.quantity.addItem("pH" if quantity == "ph" else quantity, quantity)
        self.quantity.setCurrentIndex(max(0, self.quantity.findData(chosen)))
        names = [] if survey is None else [site.name for site in survey.sites]
        self.background.clear()
        for name in names:
            item = QListWidgetItem(name)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            is_on = name in checked
            item.setCheckState(Qt.CheckState.Checked if is_on else Qt.CheckState.Unchecked)
            self.background.addItem(item)
        self.heads.setRowCount(len(names))
        for row, name in enumerate(names):
            well = QTableWidgetItem(name)
            well.setFlags(Qt.ItemFlag.ItemIsEnabled)
            self.heads.setItem(row, 0, well)
            level = heads.get(name)
            self.heads.setItem(row, 1, QTableWidgetItem("" if level is None else f"{level:g}"))
        for box in boxes:
            box.blockSignals(False)

    def checked(self) -> tuple[str, ...]:
        """Return the background sites."""
        items = (self.background.item(row) for row in range(self.background.count()))
        return tuple(i.text() for i in items if i.checkState() == Qt.CheckState.Checked)

    def levels(self) -> dict[str, float]:
        """Return the water levels that are numbers."""
        found = {}
        for row in range(self.heads.rowCount()):
            well, level = self.heads.item(row, 0), self.heads.item(row, 1)
            if well is None or level is None:
                continue
            try:
                found[well.text()] = float(level.text().replace(",", "."))
            except ValueError:
                continue
        return found

    def order(self) -> MapOrder:
        """Return what is asked."""
        from app.tasks.trace_source import MapOrder

        way = str(self.way.currentData())
        return MapOrder(
            quantity=str(self.quantity.currentData()),
            background=self.checked(),
            direction=self.degrees.value() if way == "arrow" else way,
            heads=self.levels() if way == "heads" else {},
            kind=self.kind.currentData(),
        )

    def _say_changed(self) -> None:
        self._fit()
        self.changed.emit()

    def _fit(self) -> None:
        way = self.way.currentData()
        self._form.setRowVisible(self.degrees, way == "arrow")
        self.heads.setVisible(way == "heads")
