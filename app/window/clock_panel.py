"""The bench's clocks beside any page: start them, see them run, be called when it is time."""

from dataclasses import replace
from datetime import UTC, datetime

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QApplication,
    QGridLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSystemTrayIcon,
    QVBoxLayout,
    QWidget,
)

from app.bench_clock import BenchClock, Phase, face_of, say_span
from app.survey.method import Method
from app.window.clock_code import ClockCodeDialog
from app.window.clock_dialog import ClockDialog
from app.window.labels import card, muted, subheading
from app.window.page import Tools
from app.window.ring import ring
from app.window.symbols import symbol
from app.window.theme import SPACE
from colorcore.errors import TintwellError

CALLS: dict[Phase, str] = {
    "add the indicator": "has settled: add the indicator",
    "photograph now": "is ready: photograph it now",
    "too late": "was not photographed in time",
    "settled too long": "has settled longer than the method wants",
}
LEFT: dict[Phase, str] = {
    "settling": "until the soil has settled",
    "add the indicator": "left: add the indicator",
    "developing": "until the color is ready",
    "photograph now": "left: photograph now",
}
"""Under the time that is left."""

SINCE: dict[Phase, str] = {
    "not begun": "not shaken yet",
    "add the indicator": "since shaking: add the indicator",
    "settled too long": "since shaking: settled too long",
    "photograph now": "since the indicator: photograph now",
    "too late": "since the indicator: too late to photograph",
}
"""Under the time that has gone by, where none is left."""


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
    edit_asked(BenchClock)
        Its samples or minutes are to be changed.
    """

    changed = Signal(object)
    edit_asked = Signal(object)
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
        title.setWordWrap(True)
        self.time = QLabel()
        self.time.setObjectName("heading")
        self.phase = muted()
        self.start = QPushButton()
        self.start.clicked.connect(self._begin)
        remove = QPushButton(symbol("remove"), "")
        remove.setToolTip("Remove")
        remove.setObjectName("quiet")
        remove.clicked.connect(lambda: self.removed.emit(clock.id))
        edit = QPushButton("Change…")
        edit.setObjectName("quiet")
        edit.setAccessibleName(f"Change the clock of {names}")
        edit.clicked.connect(lambda: self.edit_asked.emit(self.clock))
        remove.setAccessibleName(f"Remove the clock of {names}")
        self.start.setAccessibleDescription(names)
        corner = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop
        grid.addWidget(title, 0, 0)
        grid.addWidget(remove, 0, 1, corner)
        grid.addWidget(self.time, 1, 0)
        grid.addWidget(edit, 1, 1, corner)
        grid.addWidget(self.phase, 2, 0, 1, 2)
        grid.addWidget(self.start, 3, 0, 1, 2)
        grid.setColumnStretch(0, 1)
        self.tick(_now())

    def tick(self, now: datetime) -> Phase:
        """Show the present; returns the phase."""
        face = face_of(self.clock, now)
        span = face.since if face.left is None else face.left
        self.time.setText("–:––" if span is None else say_span(span))
        self.phase.setText((SINCE if face.left is None else LEFT)[face.phase])
        shaken, colored = self.clock.shaken_at, self.clock.indicator_added_at
        self.start.setVisible(colored is None)
        self.start.setText("Shaken, start settling" if shaken is None else "Indicator added now")
        return face.phase

    def _begin(self) -> None:
        if self.clock.shaken_at is None:
            self.changed.emit(replace(self.clock, shaken_at=_now()))
        else:
            self.changed.emit(replace(self.clock, indicator_added_at=_now()))


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
        buttons = QVBoxLayout()  # side by side they would widen a small window
        new = QPushButton(symbol("add"), "New clock")
        new.clicked.connect(self.ask_clock)
        code = QPushButton(symbol("clock"), "Phone's clock")
        code.clicked.connect(self._show_code)
        buttons.addWidget(new)
        buttons.addWidget(code)
        column.addLayout(buttons)
        self.empty = muted(
            "No clock runs. Start one for a batch of samples: it calls you when the soil has "
            "settled and when the color is ready, and flags photos taken outside that time."
        )
        column.addWidget(self.empty)
        self._area = QScrollArea()
        self._area.setAccessibleName("Clocks")
        self._area.setWidgetResizable(True)
        self._area.setFrameShape(QScrollArea.Shape.NoFrame)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inside = QWidget()
        self._list = QVBoxLayout(inside)
        self._list.setContentsMargins(0, 0, 0, 0)
        self._list.setSpacing(SPACE)
        self._list.addStretch()
        self._area.setWidget(inside)
        column.addWidget(self._area, 1)
        self._timer = QTimer(self, interval=500)
        self._timer.timeout.connect(self.tick)
        tools.model.clocks_changed.connect(self._list_anew)
        tools.model.clocks_changed.connect(self._keep_times)
        self._tray: QSystemTrayIcon | None = None
        self._list_anew()

    def ask_clock(self) -> None:
        """Let the user set up a clock for samples."""
        line = self._tools.model.desk.chosen_line
        name = "" if line is None else line.entry.sample or ""
        dialog = ClockDialog(name, self._methods(), None, self)
        dialog.accepted.connect(
            lambda: self._tools.model.set_clocks((*self._tools.model.desk.clocks, dialog.clock()))
        )
        dialog.open()

    def _methods(self) -> tuple[Method, ...]:
        opened = self._tools.model.desk.survey
        return () if opened is None else opened.survey.methods

    def _ask_change(self, clock: BenchClock) -> None:
        dialog = ClockDialog("", self._methods(), clock, self)
        dialog.accepted.connect(lambda: self._change(dialog.clock()))
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
            row.edit_asked.connect(self._ask_change)
            self._list.insertWidget(place, row)
        widest = max((row.minimumSizeHint().width() for row in self._rows), default=0)
        self._area.setMinimumWidth(widest)
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

    def _keep_times(self) -> None:
        """Write the times of the clocks into the survey's tests of the same samples."""
        from app.tasks.keep_clocks import tests_by_clocks

        model, book = self._tools.model, self._tools.model.book
        opened = model.desk.survey
        if book is None or opened is None or opened.read_only_because is not None:
            return
        timed = tests_by_clocks(opened.survey, model.desk.clocks)
        if not timed:
            return
        try:
            book.add_tests(timed, person=model.desk.person, now=_now(), replace=True)
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        model.refresh_survey()
        self._tools.messages.tell(f"Noted the times of {len(timed)} tests in the survey.")

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
            ring()
        QApplication.alert(self.window(), 0)
        self._notify(text)
        self._tools.messages.tell(text)
        self.rang.emit(text)

    def _notify(self, text: str) -> None:
        """Show a note on the desktop where it has a place for one; the window may lie behind."""
        if not QSystemTrayIcon.isSystemTrayAvailable():
            return
        if self._tray is None:
            self._tray = QSystemTrayIcon(symbol("clock"), self)
            self._tray.messageClicked.connect(self._come_forward)
        self._tray.show()
        self._tray.showMessage("Tintwell", text, symbol("clock"))

    def _come_forward(self) -> None:
        self.window().raise_()
        self.window().activateWindow()
