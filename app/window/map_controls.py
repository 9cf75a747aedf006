"""What is to be on the map: test, background sites, which way the water goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDial,
    QDoubleSpinBox,
    QFormLayout,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.window.labels import muted, subheading

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from app.site_map.map_view import MapView
    from app.survey.sample import Sample
    from app.survey.survey import Survey
    from app.tasks.trace_source import MapOrder

WAYS = {
    "unknown": "not known",
    "arrow": "in a direction that I know",
    "heads": "from water levels in wells",
    "slope": "down the slope of the ground",
}
KINDS = {None: "all", "soil": "soil", "water": "water"}


DIAL_PX, LIST_PX = 64, 110


def _depth(sample: Sample) -> tuple[float, float]:
    return sample.depth_top_cm or 0.0, sample.depth_bottom_cm or 0.0


def _refill(box: QComboBox, every: str, items: Mapping[str, object]) -> None:
    before = box.currentText()
    box.clear()
    box.addItem(every, None)
    for words, item in items.items():
        box.addItem(words, item)
    box.setCurrentIndex(max(0, box.findText(before)))


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
        from app.site_map.water_table import MATERIALS

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
        self.colors = QComboBox()
        self.colors.addItem("the even scale", False)
        self.colors.addItem("those of its chart", True)
        form.addRow("Sites' &colors", self.colors)
        self.day = QComboBox()
        form.addRow("Ta&ken on", self.day)
        self.below = QComboBox()
        form.addRow("&Depth", self.below)
        self.way = QComboBox()
        for way, words in WAYS.items():
            self.way.addItem(words, way)
        form.addRow("&Water goes", self.way)
        self.degrees = QDoubleSpinBox()
        self.degrees.setRange(0, 359)
        self.degrees.setDecimals(0)
        self.degrees.setSuffix("°")
        self.degrees.setToolTip("From north, by east")
        self.degrees.setWrapping(True)
        self.dial = QDial()
        self.dial.setRange(0, 359)
        self.dial.setWrapping(True)
        self.dial.setFixedSize(DIAL_PX, DIAL_PX)
        self.dial.setAccessibleName("Direction of the water, up is north")
        self.dial.setToolTip("Up is north")
        self.dial.valueChanged.connect(lambda turn: self.degrees.setValue((turn + 180) % 360))
        self.degrees.valueChanged.connect(lambda to: self.dial.setValue((round(to) + 180) % 360))
        self.dial.setValue(180)
        self.towards = QWidget()
        row = QHBoxLayout(self.towards)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.dial)
        row.addWidget(self.degrees, 1)
        form.addRow("T&owards", self.towards)
        self.material = QComboBox()
        self.material.addItem("not said", None)
        for material in MATERIALS:
            self.material.addItem(material.name, material)
        self.material.setToolTip("For the speed of groundwater and travel times between sites")
        form.addRow("F&lows through", self.material)
        box.addLayout(form)
        self.heads = QTableWidget(0, 2)
        self.heads.setHorizontalHeaderLabels(["Well", "Water level, m"])
        self.heads.verticalHeader().hide()
        self.heads.horizontalHeader().setStretchLastSection(True)
        self.heads.setEditTriggers(QTableWidget.EditTrigger.AllEditTriggers)
        self.heads.setMinimumHeight(140)
        self.heads.setAccessibleName("Water levels, metres above one level")
        box.addWidget(self.heads)
        box.addWidget(subheading("Background sites"))
        box.addWidget(muted("Clean places, away from what is suspected."))
        self.background = QListWidget()
        self.background.setAccessibleName("Background sites")
        box.addWidget(self.background, 1)
        for choice in self.findChildren(QComboBox):
            choice.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
            choice.setMinimumContentsLength(12)
        self.background.setMinimumHeight(LIST_PX)
        self.background.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        for choice in (
            self.quantity, self.kind, self.layer, self.way, self.colors, self.day, self.below,
            self.material,
        ):  # fmt: skip
            choice.currentIndexChanged.connect(self._say_changed)
        self.degrees.valueChanged.connect(self._say_changed)
        self.heads.itemChanged.connect(self._say_changed)
        self.background.itemChanged.connect(self._say_changed)
        self._form = form
        self._fit()

    def offer(self, survey: Survey | None, quantities: Sequence[str]) -> None:
        """Offer what the survey has; what was chosen stays chosen."""
        boxes = (self.quantity, self.background, self.heads, self.day, self.below)
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
        samples = () if survey is None else survey.samples
        days = sorted({s.taken_on for s in samples if s.taken_on is not None})
        _refill(self.day, "any day", {day.isoformat(): day for day in days})
        deep = sorted({_depth(s) for s in samples if s.depth_bottom_cm is not None})
        depths = {f"{top:g} to {bottom:g} cm": (top, bottom) for top, bottom in deep}
        _refill(self.below, "any depth", depths)
        self._form.setRowVisible(self.day, len(days) > 1)
        self._form.setRowVisible(self.below, len(depths) > 1)
        for box in boxes:
            box.blockSignals(False)

    def coloring(self) -> Callable[[MapView], MapView]:
        """Return what gives the sites the colors that are chosen."""
        by_chart = bool(self.colors.currentData())

        def colored(view: MapView) -> MapView:
            return view.in_chart_colors() if by_chart else view

        return colored

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
            material=self.material.currentData() if way == "heads" else None,
            taken_on=self.day.currentData(),
            depth_cm=self.below.currentData(),
        )

    def _say_changed(self) -> None:
        self._fit()
        self.changed.emit()

    def _fit(self) -> None:
        way = self.way.currentData()
        self._form.setRowVisible(self.towards, way == "arrow")
        self._form.setRowVisible(self.material, way == "heads")
        self.heads.setVisible(way == "heads")
