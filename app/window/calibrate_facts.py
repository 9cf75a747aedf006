"""The first step of a new chart: what is measured, with which card, and how the tubes are made."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QFrame,
    QGridLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.tasks.chart_draft import DraftFacts
from app.window.calibrate_model import CalibrateModel
from app.window.chart_detail import PH_CAUTION
from app.window.labels import card, muted, subheading
from app.window.page import Tools
from app.window.theme import SPACE
from colorcore.errors import TintwellError

KINDS = (("Tubes of known value", "liquid"), ("A printed chart", "printed"))
QUANTITIES = (
    ("pH", "ph"), ("Nitrogen", "nitrogen"), ("Phosphorus", "phosphorus"),
    ("Potassium", "potassium"),
)  # fmt: skip
FORMS = {
    "nitrogen": ("NO3-N", "NO3"), "phosphorus": ("P", "P2O5"), "potassium": ("K", "K2O")
}  # fmt: skip
FORM_WORDS = {
    "NO3-N": "as nitrate nitrogen, NO3-N", "NO3": "as nitrate, NO3", "P": "as phosphorus, P",
    "P2O5": "as P2O5", "K": "as potassium, K", "K2O": "as K2O",
}  # fmt: skip
BASES = (("not known", ""), ("in the extract", "extract"), ("in the soil", "soil"))
RATIOS = ("", "1:1", "1:2.5", "1:5", "1:10")
UNITS = ("mg/L", "mg/kg", "ppm")
CARD_HINT = (
    "As the card's label says: percent (18 %) or a fraction (0.18). Many grey cards reflect 18 %. "
    "A tinted card has three, for red, green and blue: 18, 17.5, 17 %."
)
NUTRIENT_CAUTION = (
    "Make the standards in the same extractant as the samples, with the same times for the color "
    "to develop. Phosphate buffers are no blanks for a phosphorus test."
)
SAFETY = (
    "Wear goggles and gloves with buffers, indicators and extractants; some dyes stain and some "
    "are harmful. Follow the safety sheet of each bottle."
)


class FactsForm(QScrollArea):
    """Fills in what is said of the chart.

    Signals
    -------
    kind_chosen(str)
        "liquid" or "printed".
    """

    kind_chosen = Signal(str)

    def __init__(self, tools: Tools, model: CalibrateModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools, self._model = tools, model
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        inside = QWidget()
        self.setWidget(inside)
        grid = QGridLayout(inside)
        grid.setContentsMargins(2 * SPACE, SPACE, 2 * SPACE, 2 * SPACE)
        grid.setSpacing(2 * SPACE)
        self.lines: dict[str, QLineEdit] = {}
        self._make_fields()
        grid.addWidget(self._essentials(), 0, 0)
        grid.addWidget(self._origin(), 0, 1)
        self.caution = muted()
        self.trouble = QLabel()
        self.trouble.setWordWrap(True)
        self.trouble.setAccessibleName("What is wrong with what was typed")
        grid.addWidget(self.trouble, 1, 0, 1, 2)
        grid.addWidget(self.caution, 2, 0, 1, 2)
        grid.addWidget(muted(SAFETY), 3, 0, 1, 2)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(4, 1)
        model.changed.connect(self.refresh)
        tools.model.charts_changed.connect(self._list_older)
        self._list_older()
        self.refresh()

    # -- building -----------------------------------------------------------------------------

    def _make_fields(self) -> None:
        self.kind = _list(KINDS)
        self.kind.activated.connect(lambda _: self.kind_chosen.emit(self.kind.currentData()))
        self.quantity = _list(QUANTITIES, typed=True)
        self.quantity.setToolTip("Choose, or type another quantity")
        self.form = _list(())
        self.unit = _list(tuple((unit, unit) for unit in UNITS), typed=True)
        self.basis = _list(BASES)
        self.ratio = _list(tuple((ratio, ratio) for ratio in RATIOS), typed=True)
        self.ratio.setToolTip("Soil to liquid, such as 1:2.5; blank is not known")
        self.older = _list(())
        self.older.setToolTip("The old chart is never changed; the new one says what it replaces")
        for key in ("name", "card", "indicator", "batch", "extractant", "method", "light_notes",
                    "check_again_on"):  # fmt: skip
            self.lines[key] = QLineEdit()
            self.lines[key].editingFinished.connect(partial(self._typed, key))
        self.lines["check_again_on"].setPlaceholderText("year-month-day, such as 2027-03-01")
        self.lines["extractant"].setPlaceholderText("such as 0.01 M calcium chloride")
        self.lines["light_notes"].setPlaceholderText("such as north window, noon")
        self.lines["name"].setPlaceholderText("such as Spring pH, batch 12")
        for box, take in (
            (self.quantity, self._take_quantity), (self.form, self._take_form),
            (self.unit, self._take_unit), (self.basis, self._take_basis),
            (self.ratio, self._take_ratio), (self.older, self._take_older),
        ):  # fmt: skip
            _hear(box, take)

    def _essentials(self) -> QFrame:
        frame, form = _form_card("What is measured")
        form.addRow("&Made from", self.kind)
        form.addRow("&Quantity", self.quantity)
        form.addRow("&Form", self.form)
        form.addRow("&Unit", self.unit)
        form.addRow("&Amount is", self.basis)
        form.addRow("Soil to &liquid", self.ratio)
        form.addRow("&Grey card reflects", self.lines["card"])
        box = frame.layout()
        assert isinstance(box, QVBoxLayout)
        box.insertWidget(2, muted(CARD_HINT))
        return frame

    def _origin(self) -> QFrame:
        frame, form = _form_card("What to remember (all optional)")
        form.addRow("Chart's &name", self.lines["name"])
        form.addRow("&Indicator", self.lines["indicator"])
        form.addRow("&Batch", self.lines["batch"])
        form.addRow("E&xtractant", self.lines["extractant"])
        form.addRow("&Method notes", self.lines["method"])
        form.addRow("Ligh&t", self.lines["light_notes"])
        form.addRow("&Check again on", self.lines["check_again_on"])
        form.addRow("Takes the &place of", self.older)
        return frame

    # -- what is said -------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show what is said; a field that is being typed in is left alone."""
        draft = self._model.draft
        facts = draft.facts
        for key, line in self.lines.items():
            if not line.hasFocus() or line.text() == "":
                line.setText(getattr(facts, key))
        is_ph = facts.quantity == "ph"
        self.kind.setCurrentIndex(self.kind.findData(draft.kind))
        _show(self.quantity, facts.quantity)
        self._list_forms(facts)
        self.unit.setEnabled(not is_ph)
        _show(self.unit, facts.unit)
        self.basis.setEnabled(not is_ph)
        _show(self.basis, facts.basis)
        _show(self.ratio, facts.ratio)
        _show(self.older, facts.supersedes)
        self.caution.setText(PH_CAUTION if is_ph else NUTRIENT_CAUTION)
        self.trouble.setText(self._fault(facts))
        self.trouble.setVisible(bool(self.trouble.text()))

    def _fault(self, facts: DraftFacts) -> str:
        from datetime import UTC, datetime

        try:
            facts.chart_facts("0" * 32, datetime.now(UTC))
        except TintwellError as error:
            return f"⚠  {error.what_happened} {error.what_to_do}"
        return ""

    def _list_forms(self, facts: DraftFacts) -> None:
        forms = FORMS.get(facts.quantity, ())
        self.form.clear()
        self.form.addItem("not known" if forms else "–", "")
        for form in forms:
            self.form.addItem(FORM_WORDS[form], form)
        self.form.setEnabled(bool(forms))
        _show(self.form, facts.form)

    def _list_older(self) -> None:
        self.older.clear()
        self.older.addItem("no other chart", "")
        for item in self._tools.model.desk.charts:
            made = f"{item.chart.created_at:%Y-%m-%d}"
            self.older.addItem(f"{item.chart.name}   ({made})", item.chart.id)
        _show(self.older, self._model.draft.facts.supersedes)

    def _say(self, **words: str) -> None:
        self._model.say_facts(replace(self._model.draft.facts, **words))

    def _typed(self, key: str) -> None:
        self._say(**{key: self.lines[key].text()})

    def _take_quantity(self) -> None:
        said = _said(self.quantity)
        was = self._model.draft.facts
        if said == was.quantity:
            return
        unit = "pH" if said == "ph" else "" if was.unit == "pH" else was.unit
        basis = "" if said == "ph" else was.basis
        self._say(quantity=said, form="", unit=unit, basis=basis)

    def _take_form(self) -> None:
        self._say(form=_said(self.form))

    def _take_unit(self) -> None:
        self._say(unit=_said(self.unit))

    def _take_basis(self) -> None:
        self._say(basis=_said(self.basis))

    def _take_ratio(self) -> None:
        self._say(ratio=_said(self.ratio))

    def _take_older(self) -> None:
        self._say(supersedes=_said(self.older))


def _list(choices: tuple[tuple[str, str], ...], *, typed: bool = False) -> QComboBox:
    box = QComboBox()
    box.setEditable(typed)
    box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
    box.setMinimumContentsLength(12)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    for words, data in choices:
        box.addItem(words, data)
    return box


def _hear(box: QComboBox, take: Callable[[], None]) -> None:
    box.activated.connect(lambda _: take())
    line = box.lineEdit()
    if line is not None:
        line.editingFinished.connect(take)


def _said(box: QComboBox) -> str:
    at = box.findText(box.currentText())
    return str(box.itemData(at)) if at >= 0 else " ".join(box.currentText().split())


def _show(box: QComboBox, data: str) -> None:
    at = box.findData(data)
    if at >= 0:
        box.setCurrentIndex(at)
    elif box.isEditable():
        line = box.lineEdit()
        if line is None or not line.hasFocus():
            box.setEditText(data)
    else:
        box.setCurrentIndex(0)


def _form_card(title: str) -> tuple[QFrame, QFormLayout]:
    frame = card()
    box = QVBoxLayout(frame)
    box.setContentsMargins(2 * SPACE, 2 * SPACE, 2 * SPACE, 2 * SPACE)
    box.setSpacing(SPACE)
    box.addWidget(subheading(title))
    form = QFormLayout()
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    form.setVerticalSpacing(SPACE)
    box.addLayout(form)
    box.addStretch()
    return frame, form
