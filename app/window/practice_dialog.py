"""A made-up spill for a class: samples to mix, and how the groups did."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QDoubleSpinBox,
    QFormLayout,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.site_map.practice_mix import HIGHEST_PH, LEAST_PH
from app.window.labels import muted
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.site_map.plane import Point
    from app.site_map.practice import PracticePlan
    from app.window.page import Tools

ACIDS = {"citric acid": "citric", "vinegar": "vinegar"}
NUMBERS = (
    ("source_x", "Source, metres to the right", -10_000.0, 10_000.0, 0.0, 1),
    ("source_y", "Source, metres up", -10_000.0, 10_000.0, 0.0, 1),
    ("flow", "Water flows towards, degrees", 0.0, 359.0, 90.0, 0),
    ("reach", "It falls to a third within, metres", 0.1, 10_000.0, 1.0, 1),
    ("spread", "Half-width at the source, metres", 0.1, 10_000.0, 1.0, 1),
    ("source_ph", "pH at the source", LEAST_PH, 6.5, 3.5, 1),
    ("background_ph", "pH of clean places", 6.0, HIGHEST_PH, 7.0, 1),
    ("noise", "Scatter of the samples, pH", 0.0, 1.0, 0.1, 2),
)


def _first_values(places: Sequence[Point]) -> dict[str, float]:
    """Return a source in the middle of the sites, and how far it spreads, by how they lie."""
    span = max((math.dist(a, b) for a in places for b in places), default=0.0)
    x, y = (sum(place[i] for place in places) / max(len(places), 1) for i in (0, 1))
    return {"source_x": x, "source_y": y, "reach": span / 3 or 1.0, "spread": span / 20 or 1.0}


class PracticeDialog(QDialog):
    """Hides a source among the sites of the open survey; nothing is written to the survey."""

    def __init__(
        self, places: dict[str, Point], tools: Tools, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Practice survey")
        self.resize(860, 620)
        self._places, self._tools = places, tools
        row = QHBoxLayout(self)
        left = QVBoxLayout()
        row.addLayout(left, 1)
        left.addWidget(
            muted(
                "Hide a source among the sites of this survey. Mix samples from the recipe, let "
                "the class read and trace them, then compare the groups with the truth. Practice "
                "samples are liquids or washed quartz sand, never soil of the field."
            )
        )
        form = QFormLayout()
        self.numbers: dict[str, QDoubleSpinBox] = {}
        first_values = _first_values(tuple(places.values()))
        for name, words, low, high, first, places_after in NUMBERS:
            box = QDoubleSpinBox()
            box.setRange(low, high)
            box.setDecimals(places_after)
            box.setValue(first_values.get(name, first))
            form.addRow(words, box)
            self.numbers[name] = box
        self.acid = QComboBox()
        for words, key in ACIDS.items():
            self.acid.addItem(words, key)
        form.addRow("Acid", self.acid)
        self.seed = QSpinBox()
        self.seed.setRange(0, 9999)
        self.seed.setToolTip("The same number gives the same practice survey again.")
        form.addRow("Number of the exercise", self.seed)
        left.addLayout(form)
        left.addWidget(muted("Clean sites (background)"))
        self.background = QListWidget()
        self.background.setAccessibleName("Clean sites")
        for name in places:
            item = QListWidgetItem(name)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Unchecked)
            self.background.addItem(item)
        left.addWidget(self.background, 1)
        right = QVBoxLayout()
        row.addLayout(right, 2)
        self.words = QPlainTextEdit()
        self.words.setReadOnly(True)
        self.words.setAccessibleName("Recipe, or how the groups did")
        right.addWidget(self.words)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.make = QPushButton("Make the samples")
        self.make.setObjectName("main")
        self.make.clicked.connect(self.show_recipe)
        compare = QPushButton("Compare the groups…")
        compare.setToolTip("A table with the columns group, site, ph, suspect, x_m and y_m")
        compare.clicked.connect(self._ask_answers)
        copy = QPushButton("Copy")
        copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(self.words.toPlainText()))
        for button in (self.make, compare, copy):
            buttons.addButton(button, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.rejected.connect(self.reject)
        right.addWidget(buttons)

    def plan(self) -> PracticePlan:
        """Return the exercise.

        Raises
        ------
        TintwellError
            If sites or clean sites are missing.
        """
        from app.site_map.practice import PracticePlan

        items = (self.background.item(i) for i in range(self.background.count()))
        clean = tuple(i.text() for i in items if i.checkState() == Qt.CheckState.Checked)
        value = {name: box.value() for name, box in self.numbers.items()}
        return PracticePlan(
            sites=tuple(self._places.items()),
            background=clean,
            source=(value["source_x"], value["source_y"]),
            flow_deg=value["flow"],
            reach_m=value["reach"],
            spread_m=value["spread"],
            source_ph=value["source_ph"],
            background_ph=value["background_ph"],
            noise_ph=value["noise"],
            seed=self.seed.value(),
        )

    def show_recipe(self) -> None:
        """Say what each site reads and how that is mixed."""
        from app.site_map.practice import practice_doubts, practice_values
        from app.site_map.practice_mix import recipe
        from app.terminal.practice import ACIDS as MIXED

        try:
            plan = self.plan()
            names = [name for name, _ in plan.sites]
            values = practice_values(plan)
            lines = recipe(names, values, MIXED[self.acid.currentData()], 100.0)
        except TintwellError as error:
            self.words.setPlainText(f"{error.what_happened} {error.what_to_do}")
            return
        title = "Practice samples (keep this page from the class)"
        self.words.setPlainText("\n".join([title, *practice_doubts(plan, values), "", *lines]))

    def _ask_answers(self) -> None:
        path = self._tools.messages.ask_file(
            "What the groups found", "practice", "Tables (*.csv *.xlsx);;All files (*)"
        )
        if path is None:
            return
        from app.records.tables_in import read_table
        from app.site_map.practice import judge_answers, practice_values
        from app.terminal.practice import read_answers

        try:
            plan = self.plan()
            answers = read_answers(read_table(path))
            results = judge_answers(plan, practice_values(plan), answers)
        except TintwellError as error:
            self.words.setPlainText(f"{error.what_happened} {error.what_to_do}")
            return
        self.words.setPlainText("\n\n".join(result.said for result in results))
