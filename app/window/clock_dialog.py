"""Asks for the samples of a bench clock and the minutes of its method."""

from collections.abc import Sequence
from dataclasses import replace
from uuid import uuid4

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDoubleSpinBox,
    QFormLayout,
    QLineEdit,
    QWidget,
)

from app.bench_clock import BenchClock
from app.survey.method import Method
from app.window.dialog_buttons import OK, take_or_cancel
from app.window.labels import muted

FIRST = Method(
    name="bench",
    settling_from_min=10,
    settling_to_min=60,
    color_from_min=2,
    color_to_min=10,
)
"""What a new clock proposes (common practice); the indicator's own instructions come first."""


class ClockDialog(QDialog):
    """Asks for the samples of a batch and its method's minutes; also of one that runs.

    Parameters
    ----------
    names : str
        Samples that are proposed.
    methods : tuple of Method
        Those of the open survey.
    clock : BenchClock or None
        One that is there already; its times stay.
    """

    def __init__(
        self,
        names: str,
        methods: Sequence[Method] = (),
        clock: BenchClock | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("New clock" if clock is None else "Change the clock")
        self._clock, self._methods = clock, (FIRST, *methods)
        form = QFormLayout(self)
        self.names = QLineEdit(names if clock is None else ", ".join(clock.samples))
        self.names.setPlaceholderText("Sample names, with commas between them")
        form.addRow("&Samples", self.names)
        self.method = QComboBox()
        self.method.addItems(["proposed times", *(method.name for method in methods)])
        form.addRow("&Method", self.method)
        self.minutes: dict[str, QDoubleSpinBox] = {}
        for name, words in (
            ("settling_from_min", "Settling, at least"),
            ("settling_to_min", "Settling, at most"),
            ("color_from_min", "Color, at least"),
            ("color_to_min", "Color, at most"),
        ):
            box = QDoubleSpinBox()
            box.setRange(0, 24 * 60)
            box.setDecimals(1)
            box.setSuffix(" min")
            box.setSpecialValueText("not set")
            form.addRow(words, box)
            self.minutes[name] = box
        form.addRow(muted("The indicator's own instructions come first."))
        self.method.currentIndexChanged.connect(lambda place: self._propose(self._methods[place]))
        there = FIRST if clock is None else clock.method
        self.method.setCurrentIndex(max(0, self.method.findText(there.name)))
        self._propose(there)
        buttons = take_or_cancel(self, self._check, OK)
        self.problem = muted()
        form.addRow(self.problem)
        form.addRow(buttons)

    def _propose(self, method: Method) -> None:
        for name, box in self.minutes.items():
            box.setValue(getattr(method, name) or 0)

    def samples(self) -> tuple[str, ...]:
        """Return the names that were typed."""
        return tuple(name for part in self.names.text().split(",") if (name := part.strip()))

    def clock(self) -> BenchClock:
        """Return the clock; ValueError where the words make none."""
        minutes = {name: box.value() or None for name, box in self.minutes.items()}
        method = replace(self._methods[self.method.currentIndex()], **minutes)  # type: ignore[arg-type]
        if self._clock is not None:
            return replace(self._clock, samples=self.samples(), method=method)
        return BenchClock(id=uuid4().hex, samples=self.samples(), method=method)

    def _check(self) -> None:
        if not self.samples():
            self.problem.setText("Name at least one sample.")
            return
        for what in ("settling", "color"):
            low, high = (self.minutes[f"{what}_{end}_min"].value() for end in ("from", "to"))
            if high and low > high:
                self.problem.setText(f"The longest {what} time is shorter than the shortest.")
                return
        self.accept()
