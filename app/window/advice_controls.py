"""What an advice goes by: crop, region, what the soil was shaken in, the user's own sheets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.window.labels import muted, subheading
from app.window.page import Tools
from app.window.symbols import symbol

if TYPE_CHECKING:
    from app.tasks.interpret_survey import AdviceOrder
    from app.window.preferences import Preferences

BY_SITE = "what each site says"
MEDIA = {
    None: "as method or chart say",
    "water": "water",
    "cacl2": "calcium chloride",
    "kcl": "potassium chloride",
}
LEAST = {
    None: "cheapest, where all prices are known",
    "excess": "least more than is wanted",
}
RULES = {None: "I do not know", True: "allowed", False: "forbidden"}
SHEETS = {
    "products": ("Products", "name, grade, price, bag size; limes with CCE and fineness"),
    "laboratory": ("Laboratory", "sample, method, value: buffer pH, exchangeable acidity"),
    "grounds": (
        "Ground",
        "sample, area, bulk density, recent lime, whether it fizzes with vinegar",
    ),
    "tables": ("Own tables", "with source, region, year and unit at their head"),
}

TYPED = {
    "products": (
        "name", "grade", "bag_kg", "price", "cce", "fineness", "fineness_by", "pass_4", "pass_8",
        "pass_20", "pass_60", "pass_100", "sulphur",
    ),
    "laboratory": ("sample", "method", "value", "uncertainty", "quantity", "unit", "form"),
    "grounds": (
        "sample", "area_m2", "bulk_density", "moisture_percent", "recent_lime_kg_per_ha",
        "months_since_lime", "fizzes", "phosphorus", "suspected_contamination",
    ),
}  # fmt: skip
"""Sheets that can be typed in place, and their columns."""


def say_region(name: str) -> str:
    """Write a region's name for people.

    Examples
    --------
    >>> say_region("england_wales")
    'England Wales'
    """
    return name.replace("_", " ").title()


class SheetButton(QWidget):
    """Chooses a sheet of the user's own, and lets go of it again.

    Signals
    -------
    changed()
        Another sheet, or none, is chosen.
    """

    changed = Signal()

    def __init__(self, purpose: str, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.path: Path | None = None
        self._purpose, self._tools = purpose, tools
        name, holds = SHEETS[purpose]
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        self.choose = QPushButton("Choose…")
        self.choose.setToolTip(f"A CSV file: {holds}")
        self.choose.setAccessibleName(f"Choose a sheet: {name}")
        self.choose.clicked.connect(self._ask)
        self.type = QPushButton("Type…")
        self.type.setToolTip("Type the lines here; they are kept in the survey's folder")
        self.type.setAccessibleName(f"Type the lines: {name}")
        self.type.clicked.connect(self._type)
        self.drop = QPushButton(symbol("remove"), "")
        self.drop.setAccessibleName(f"Without the sheet: {name}")
        self.drop.setToolTip("Do without it")
        self.drop.clicked.connect(lambda: self.take(None))
        row.addWidget(self.choose, 1)
        row.addWidget(self.type)
        row.addWidget(self.drop)
        self.drop.hide()
        self.type.setVisible(purpose in TYPED)

    def _type(self) -> None:
        from app.window.sheet_dialog import SheetDialog

        opened = self._tools.model.desk.survey
        if opened is None:
            return
        path = self.path or opened.folder / f"{self._purpose}.csv"
        samples = [sample.label for sample in opened.survey.samples]
        dialog = SheetDialog(SHEETS[self._purpose][0], TYPED[self._purpose], path, samples, self)
        dialog.accepted.connect(lambda: self.take(path))
        dialog.open()

    def _ask(self) -> None:
        name, _ = SHEETS[self._purpose]
        path = self._tools.messages.ask_file(name, "advice", "Tables (*.csv);;All files (*)")
        if path is not None:
            self.take(path)

    def take(self, path: Path | None) -> None:
        """Use a sheet, or none."""
        self.path = path
        self.choose.setText("Choose…" if path is None else path.name)
        self.drop.setVisible(path is not None)
        self.changed.emit()


class AdviceControls(QWidget):
    """Asks what an advice goes by.

    Signals
    -------
    changed()
        Anything was changed.
    """

    changed = Signal()

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        from app.soil.crops import shipped_crops
        from app.soil.region import region_names

        box = QVBoxLayout(self)
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        self.crop = QComboBox()
        self.crop.addItem(BY_SITE)
        self.crop.addItems([crop.name for crop in shipped_crops()])
        self.crop.setEditable(True)
        self.crop.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.crop.setAccessibleName("Crop")
        form.addRow("&Crop", self.crop)
        self.all_crops = QCheckBox("Rank all crops for this soil")
        form.addRow(self.all_crops)
        self.region = QComboBox()
        for name in region_names():
            self.region.addItem(say_region(name), name)
        form.addRow("&Region of the tables", self.region)
        self.region_hint = muted(
            "Nobody has chosen a region yet. Amounts differ from place to place: choose yours, or "
            "the nearest, and see its sources at the end of the advice."
        )
        form.addRow(self.region_hint)
        self._remembered(tools.preferences)
        self.medium = QComboBox()
        for medium, words in MEDIA.items():
            self.medium.addItem(words, medium)
        form.addRow("&pH was measured in", self.medium)
        self.estimate = QCheckBox("Estimate the pH in water")
        form.addRow(self.estimate)
        self.phosphorus = QComboBox()
        for allowed, words in RULES.items():
            self.phosphorus.addItem(words, allowed)
        form.addRow("P&hosphorus by local rules", self.phosphorus)
        self.least = QComboBox()
        for aim, words in LEAST.items():
            self.least.addItem(words, aim)
        form.addRow("&Mix of fertilizers", self.least)
        box.addLayout(form)
        box.addWidget(subheading("Your own sheets"))
        sheets = QFormLayout()
        self.sheets = {purpose: SheetButton(purpose, tools) for purpose in SHEETS}
        for purpose, button in self.sheets.items():
            sheets.addRow(SHEETS[purpose][0], button)
            button.changed.connect(self.changed)
        box.addLayout(sheets)
        box.addWidget(
            muted("A color reading is never used as a buffer pH: only a laboratory's value is.")
        )
        box.addStretch()
        for choice in (self.crop, self.region, self.medium, self.phosphorus, self.least):
            choice.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
            choice.setMinimumContentsLength(12)
        for choice in (self.region, self.medium, self.phosphorus, self.least):
            choice.currentIndexChanged.connect(lambda: self.changed.emit())
        self.crop.currentIndexChanged.connect(lambda: self.changed.emit())
        line = self.crop.lineEdit()
        if line is not None:
            line.editingFinished.connect(lambda: self.changed.emit())
        for tick in (self.all_crops, self.estimate):
            tick.toggled.connect(lambda: self.changed.emit())

    def _remembered(self, preferences: Preferences) -> None:
        """Begin with what was chosen last, and remember what is chosen now."""
        self._preferences = preferences
        self._folder: Path | None = None
        self.region.setCurrentIndex(max(0, self.region.findData(preferences.region)))
        self.region_hint.setVisible(not preferences.region)
        if preferences.crop:
            self.crop.setCurrentText(preferences.crop)
        self.region.activated.connect(self._remember)
        self.changed.connect(self._remember_crop)

    def use_folder(self, folder: Path | None) -> None:
        """Use the sheets that were typed for a survey, and those of no other one."""
        if folder == self._folder:
            return
        before, self._folder = self._folder, folder
        self.blockSignals(True)
        for purpose in TYPED:
            button = self.sheets[purpose]
            if before is not None and button.path == before / f"{purpose}.csv":
                button.take(None)
            typed = None if folder is None else folder / f"{purpose}.csv"
            if button.path is None and typed is not None and typed.is_file():
                button.take(typed)
        self.blockSignals(False)

    def _remember(self) -> None:
        self._preferences.region = self.region.currentData()
        self.region_hint.hide()

    def _remember_crop(self) -> None:
        name = self.crop.currentText().strip()
        self._preferences.crop = "" if name == BY_SITE else name

    def order(self) -> AdviceOrder:
        """Return what is asked.

        Raises
        ------
        TintwellError
            If a sheet cannot be used or there is no such crop.
        """
        from app.soil.crops import find_crop, shipped_crops
        from app.tasks.advice_sheets import (
            find_region,
            read_grounds,
            read_laboratory,
            read_products,
        )
        from app.tasks.interpret_survey import AdviceOrder

        paths = {purpose: button.path for purpose, button in self.sheets.items()}
        own, products, laboratory, grounds = (
            paths["tables"], paths["products"], paths["laboratory"], paths["grounds"],
        )  # fmt: skip
        region = find_region([self.region.currentData(), *([] if own is None else [str(own)])])
        name = self.crop.currentText().strip()
        crop = None if name in ("", BY_SITE) else find_crop(name, own=region.crops)
        return AdviceOrder(
            crop=crop,
            compare=(*region.crops, *shipped_crops()) if self.all_crops.isChecked() else (),
            region=region,
            medium=self.medium.currentData(),
            estimate_water_ph=self.estimate.isChecked(),
            products=None if products is None else read_products(products),
            least=self.least.currentData(),
            laboratory=() if laboratory is None else read_laboratory(laboratory),
            grounds=() if grounds is None else read_grounds(grounds),
            phosphorus_allowed=self.phosphorus.currentData(),
        )
