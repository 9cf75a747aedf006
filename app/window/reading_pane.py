"""What the chosen tube says: value, confidence, swatches, doubts, replicates."""

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.desk import DeskPhoto
from app.tube_reading import TubeReading
from app.window.desk_model import DeskModel
from app.window.labels import heading, muted, plain, subheading
from app.window.reading_parts import Doubts, ReplicateTable, facts_of, large_value, say_lab
from app.window.reading_swatches import SwatchLadder, swatch_rows
from app.window.standings import STANDING_WORDS, StandingMark
from app.window.symbols import symbol
from app.window.theme import SPACE, SURROUND
from colorcore.reasons import Reason

WIDTH = 330
PATCH_PX = 90
SCREEN_NOTE = "The screen is no measuring instrument: colors on it are for orientation."
NO_CHART = (
    "No chart is in use, so the color was measured but not read. Calibrate a chart from tubes of "
    "known value, or open one that you made before."
)
LATER_MS = 300  # replicates on other photos may come in quickly while photos are read


class ReadingPane(QScrollArea):
    """Shows the reading that lies on the desk.

    Signals
    -------
    asked(str)
        "calibrate" or "open chart".
    """

    asked = Signal(str)

    def __init__(self, desk: DeskModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.setAccessibleName("Reading of the chosen tube")
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumWidth(WIDTH - 30)
        inside = QWidget()
        self.setWidget(inside)
        self._box = QVBoxLayout(inside)
        self._box.setContentsMargins(2 * SPACE, SPACE, 2 * SPACE, 2 * SPACE)
        self._box.setSpacing(SPACE)
        self._make_head()
        self._make_body()
        self._box.addStretch()
        self._later = QTimer(self, singleShot=True, interval=LATER_MS)
        self._later.timeout.connect(self._show_replicates)
        desk.chosen_changed.connect(self._show)
        desk.photo_changed.connect(self._hear)
        desk.photos_changed.connect(self._later.start)
        desk.charts_changed.connect(self._show)
        self._show()

    def _make_head(self) -> None:
        row = QHBoxLayout()
        row.setSpacing(SPACE)
        self.mark = StandingMark(22)
        self.standing = subheading()
        self.place = QLabel()
        self.place.setObjectName("muted")
        row.addWidget(self.mark)
        row.addWidget(self.standing)
        row.addStretch()
        row.addWidget(self.place)
        self._box.addLayout(row)
        self.sample = heading()
        self.sample.setWordWrap(True)
        self.value = QLabel()
        self.value.setObjectName("reading")
        self.value.setWordWrap(True)
        self.value.setTextFormat(Qt.TextFormat.RichText)
        self.value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.value.setAccessibleName("Value with its 90 % interval")
        self.interval = muted("with its 90 % interval")
        self.confidence = plain()
        self.alternatives = plain()
        for widget in (self.sample, self.value, self.interval, self.confidence, self.alternatives):
            self._box.addWidget(widget)

    def _make_body(self) -> None:
        self.doubts = Doubts()
        self._box.addWidget(self.doubts)
        self.swatches = SwatchLadder()
        self._box.addWidget(self.swatches)
        self.patch = QFrame()
        self.patch.setFixedHeight(PATCH_PX)
        self.patch.setAccessibleName("The measured color")
        self._box.addWidget(self.patch)
        self.screen_note = muted(SCREEN_NOTE)
        self._box.addWidget(self.screen_note)
        self.notes = Doubts()
        self._box.addWidget(self.notes)
        self.replicates = ReplicateTable()
        self._box.addWidget(self.replicates)
        self.facts = muted()
        self._box.addWidget(self.facts)
        self.no_chart = QWidget()
        box = QVBoxLayout(self.no_chart)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(plain(NO_CHART))
        for text, picture, errand in (
            ("Calibrate a chart", "charts", "calibrate"),
            ("Open a chart…", "open", "open chart"),
        ):
            button = QPushButton(symbol(picture), text)
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            button.clicked.connect(lambda _=False, errand=errand: self.asked.emit(errand))
            box.addWidget(button)
        self._box.addWidget(self.no_chart)

    # -- showing ------------------------------------------------------------------------------

    def _hear(self, path: object) -> None:
        if path == self._desk.desk.chosen:
            self._show()
        elif not self._later.isActive():
            self._later.start()

    def _show(self) -> None:
        desk = self._desk.desk
        photo = desk.chosen_photo
        if photo is None:
            return
        line = _line_of(photo, desk.tube)
        standing = photo.standing if line is None else line.reading.status
        self.mark.show_standing(standing)
        self.standing.setText(STANDING_WORDS[standing])
        count = 0 if photo.look is None else len(photo.look.tubes)
        self.place.setText(f"Tube {desk.tube} of {count}" if desk.tube and count else "")
        self.no_chart.setVisible(not desk.charts_in_use)
        if line is None:
            self._show_unread(photo, desk.tube)
        else:
            self._show_line(line)
        self._show_replicates()

    def _show_unread(self, photo: DeskPhoto, tube: int | None) -> None:
        look = photo.look
        for widget in (self.sample, self.value, self.interval, self.confidence, self.alternatives):
            widget.hide()
        self.swatches.show_rows((), None)
        self._show_reasons(() if look is None else look.reasons)
        seen = None
        if look is not None and tube is not None and tube <= len(look.measurements):
            seen = look.measurements[tube - 1]
        for part in (self.patch, self.screen_note, self.facts):
            part.setVisible(seen is not None)
        if seen is None:
            return
        from app.exports.screen_color import screen_color

        self.facts.setText(say_lab(*seen.lab))
        self.patch.setStyleSheet(
            f"background: #{screen_color(seen.lab)}; border: {SPACE}px solid {SURROUND};"
        )

    def _show_line(self, line: TubeReading) -> None:
        from app.wording import say_confidence, say_swatch, say_value

        reading, chart, entry = line.reading, line.chart, line.entry
        named = entry.sample or ""
        if entry.replicate:
            named = f"{named}, {entry.replicate}" if named else f"Replicate {entry.replicate}"
        if entry.role == "in_frame":
            named = "Tube of known value"
        elif entry.role == "blank":
            named = named or "Blank"
        self.sample.setText(named)
        self.sample.setVisible(bool(named))
        refused = reading.status == "refused" or chart is None
        said = "no value" if chart is None else say_value(reading, chart)
        self.value.setText(large_value(said))
        self.value.show()
        self.interval.setVisible(not refused and reading.value is not None)
        self.confidence.setVisible(reading.confidence is not None)
        self.confidence.setText(
            f"Nearest swatch <b>{say_swatch(reading)}</b>: {say_confidence(reading.confidence)}"
        )
        self._show_alternatives(line)
        self._show_reasons(reading.reasons)
        rows, measured = swatch_rows(line)
        self.patch.hide()
        self.swatches.show_rows(rows, measured)
        self.screen_note.setVisible(bool(rows))
        self.facts.setText("\n".join(facts_of(line)))
        self.facts.show()

    def _show_reasons(self, reasons: tuple[Reason, ...]) -> None:
        """Show what weighs on the reading above the swatches, what is only to be known below."""
        self.doubts.show_reasons(r for r in reasons if r.weight != "note")
        self.notes.show_reasons(r for r in reasons if r.weight == "note")

    def _show_alternatives(self, line: TubeReading) -> None:
        from app.wording import say_interval, say_unit

        reading, chart = line.reading, line.chart
        self.alternatives.setVisible(bool(reading.alternatives) and chart is not None)
        if chart is None:
            return
        before = "pH " if chart.analyte.is_ph else ""
        said = [
            say_interval(a.value, a.low, a.high, before=before, unit=say_unit(chart))
            + f", {100 * a.probability:.0f} %"
            for a in reading.alternatives
        ]
        self.alternatives.setText("Possible values:\n" + "\n".join(said))

    def _show_replicates(self) -> None:
        from app.desk_replicates import replicates_of

        line = self._desk.desk.chosen_line
        self.replicates.show_replicates(
            None
            if line is None or line.entry.role != "sample"
            else replicates_of(self._desk.desk, line.entry.sample, line.reading.chart_id)
        )


def _line_of(photo: DeskPhoto, tube: int | None) -> TubeReading | None:
    """Return the line of a tube, or the one that says why a photo has none."""
    if photo.look is None or not photo.look.lines:
        return None
    return photo.line(tube) or photo.look.lines[0]
