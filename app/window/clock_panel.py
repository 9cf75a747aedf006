"""The bench's clocks beside any page: start them, see them run, be called when it is time."""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import uuid4

from PySide6.QtCore import QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QDialogButtonBox,
    QDoubleSpinBox,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.bench_clock import BenchClock, Phase, face_of, say_span
from app.survey.method import Method
from app.window.labels import card, muted, subheading
from app.window.page import Tools
from app.window.symbols import symbol
from app.window.theme import SPACE

CALLS: dict[Phase, str] = {
    "add the indicator": "has settled: add the indicator",
    "photograph now": "is ready: photograph it now",
    "too late": "was not photographed in time",
    "settled too long": "has settled longer than the method wants",
}
WORDS: dict[Phase, str] = {
    "not begun": "not shaken yet",
    "settling": "settling, ready in",
    "add the indicator": "settled: add the indicator",
    "settled too long": "settled too long",
    "developing": "color developing, ready in",
    "photograph now": "photograph now",
    "too late": "too late to photograph",
}
FIRST = Method(
    name="bench",
    settling_from_min=10,
    settling_to_min=60,
    color_from_min=2,
    color_to_min=10,
)
"""What a new clock proposes (common practice); the indicator's own instructions come first."""


def _now() -> datetime:
    return datetime.now(UTC)


class ClockRow(QWidget):
    """One batch: what it is, where it stands, and what can be done.

    Signals
    -------
    changed(BenchClock)
        A clock of it was started.
    removed(str)
        It is to be taken away.
    """

    changed = Signal(object)
    removed = Signal(str)

    def __init__(self, clock: BenchClock, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.clock = clock
        frame = card()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(frame)
        grid = QGridLayout(frame)
        names = ", ".join(clock.samples)
        title = subheading(names if len(names) < 40 else names[:38] + "…")
        title.setToolTip(names)
        self.time = QLabel()
        self.time.setObjectName("heading")
        self.phase = muted()
        self.start = QPushButton()
        self.start.clicked.connect(self._begin)
        remove = QPushButton(symbol("remove"), "Remove")
        remove.setObjectName("quiet")
        remove.clicked.connect(lambda: self.removed.emit(clock.id))
        grid.addWidget(title, 0, 0, 1, 2)
        grid.addWidget(self.time, 1, 0)
        grid.addWidget(self.phase, 1, 1)
        grid.addWidget(self.start, 2, 0)
        grid.addWidget(remove, 2, 1, Qt.AlignmentFlag.AlignRight)
        grid.setColumnStretch(1, 1)
        self.tick(_now())

    def tick(self, now: datetime) -> Phase:
        """Show the present; returns the phase."""
        face = face_of(self.clock, now)
        span = face.left if face.phase in ("settling", "developing") else face.since
        self.time.setText("–:––" if span is None else say_span(span))
        words = WORDS[face.phase]
        if face.left is not None and face.phase in ("add the indicator", "photograph now"):
            words = f"{words} (time for {say_span(face.left)} more)"
        self.phase.setText(words)
        shaken, colored = self.clock.shaken_at, self.clock.indicator_added_at
        self.start.setVisible(colored is None)
        self.start.setText("Shaken, start settling" if shaken is None else "Indicator added now")
        return face.phase

    def _begin(self) -> None:
        if self.clock.shaken_at is None:
            self.changed.emit(replace(self.clock, shaken_at=_now()))
        else:
            self.changed.emit(replace(self.clock, indicator_added_at=_now()))


class NewClockDialog(QDialog):
    """Asks for the samples of a batch and its method's minutes."""

    def __init__(self, names: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("New clock")
        form = QFormLayout(self)
        self.names = QLineEdit(names)
        self.names.setPlaceholderText("Sample names, with commas between them")
        form.addRow("&Samples", self.names)
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
            box.setValue(getattr(FIRST, name))
            form.addRow(words, box)
            self.minutes[name] = box
        form.addRow(muted("The indicator's own instructions come first."))
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self._check)
        buttons.rejected.connect(self.reject)
        self.problem = muted()
        form.addRow(self.problem)
        form.addRow(buttons)

    def samples(self) -> tuple[str, ...]:
        """Return the names that were typed."""
        return tuple(name for part in self.names.text().split(",") if (name := part.strip()))

    def clock(self) -> BenchClock:
        """Return the clock; ValueError where the words make none."""
        minutes = {name: box.value() or None for name, box in self.minutes.items()}
        method = Method(name="bench", **minutes)  # type: ignore[arg-type]
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


class ClockCode(QWidget):
    """The machine's time as a QR code, to be photographed by the phone."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumSize(220, 220)
        self.setAccessibleName("The time as a QR code")
        self._timer = QTimer(self, interval=500)
        self._timer.timeout.connect(self.update)
        self._timer.start()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw the code of this second, black on white in any look."""
        from app.tasks.sample_labels import clock_text, code_modules

        modules = code_modules(clock_text(_now()))
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor("white"))
        n = modules.shape[0] + 8
        side = min(self.width(), self.height()) / n
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor("black"))
        left, top = (self.width() - n * side) / 2, (self.height() - n * side) / 2
        for row, column in zip(*modules.nonzero(), strict=True):
            painter.drawRect(
                QRectF(left + (column + 4) * side, top + (row + 4) * side, side + 0.4, side + 0.4)
            )
        painter.end()


class ClockCodeDialog(QDialog):
    """Shows the time to be photographed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("The phone's clock")
        self.resize(420, 480)
        box = QVBoxLayout(self)
        box.addWidget(
            muted(
                "Photograph this code with the phone and add the photo like any other. Tintwell "
                "then knows how far the phone's clock is off, and can tell which photos were "
                "taken too early or too late."
            )
        )
        box.addWidget(ClockCode(), 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)


class ClockPanel(QWidget):
    """All clocks of the desk.

    Signals
    -------
    rang(str)
        A batch has come to its time.
    """

    rang = Signal(str)

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self._rows: list[ClockRow] = []
        self._phases: dict[str, Phase] = {}
        column = QVBoxLayout(self)
        buttons = QHBoxLayout()
        new = QPushButton(symbol("add"), "New clock")
        new.clicked.connect(self.ask_clock)
        code = QPushButton(symbol("clock"), "Phone's clock")
        code.clicked.connect(self._show_code)
        buttons.addWidget(new)
        buttons.addWidget(code)
        buttons.addStretch()
        column.addLayout(buttons)
        self.empty = muted(
            "No clock runs. Start one for a batch of samples: it calls you when the soil has "
            "settled and when the color is ready, and flags photos taken outside that time."
        )
        column.addWidget(self.empty)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        inside = QWidget()
        self._list = QVBoxLayout(inside)
        self._list.setContentsMargins(0, 0, 0, 0)
        self._list.setSpacing(SPACE)
        self._list.addStretch()
        area.setWidget(inside)
        column.addWidget(area, 1)
        self._timer = QTimer(self, interval=500)
        self._timer.timeout.connect(self.tick)
        tools.model.clocks_changed.connect(self._list_anew)
        self._list_anew()

    def ask_clock(self) -> None:
        """Let the user set up a clock for samples."""
        line = self._tools.model.desk.chosen_line
        name = "" if line is None else line.entry.sample or ""
        dialog = NewClockDialog(name, self)
        dialog.accepted.connect(
            lambda: self._tools.model.set_clocks((*self._tools.model.desk.clocks, dialog.clock()))
        )
        dialog.open()

    def _show_code(self) -> None:
        ClockCodeDialog(self).open()

    def _list_anew(self) -> None:
        for row in self._rows:
            row.hide()
            row.deleteLater()
        clocks = self._tools.model.desk.clocks
        self._rows = [ClockRow(clock) for clock in clocks]
        for place, row in enumerate(self._rows):
            row.changed.connect(self._change)
            row.removed.connect(self._remove)
            self._list.insertWidget(place, row)
        self.empty.setVisible(not clocks)
        self._phases = {clock.id: face_of(clock, _now()).phase for clock in clocks}
        if clocks:
            self._timer.start()
        else:
            self._timer.stop()

    def _change(self, changed: BenchClock) -> None:
        clocks = self._tools.model.desk.clocks
        self._tools.model.set_clocks(changed if c.id == changed.id else c for c in clocks)

    def _remove(self, clock_id: str) -> None:
        clocks = self._tools.model.desk.clocks
        self._tools.model.set_clocks(clock for clock in clocks if clock.id != clock_id)

    def tick(self) -> None:
        """Show the present and call where a batch has come to a new phase."""
        now = _now()
        for row in self._rows:
            phase = row.tick(now)
            if phase != self._phases.get(row.clock.id) and phase in CALLS:
                self._ring(f"{', '.join(row.clock.samples)} {CALLS[phase]}.")
            self._phases[row.clock.id] = phase

    def _ring(self, text: str) -> None:
        if self._tools.preferences.sound:
            QApplication.beep()
        QApplication.alert(self.window(), 0)
        self._tools.messages.tell(text)
        self.rang.emit(text)
