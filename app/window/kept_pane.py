"""One kept reading with its whole trace: photo, chart, person, version, what it corrects."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.window.labels import heading, muted, plain, subheading
from app.window.page import Tools
from app.window.theme import SPACE

if TYPE_CHECKING:
    from pathlib import Path

    from app.survey.kept_reading import KeptReading
    from calibration.chart import Chart

WIDTH = 290


class KeptPane(QWidget):
    """Shows where a number comes from.

    Signals
    -------
    relabel_asked(), again_asked(), withdraw_asked(), photo_asked()
        Its buttons.

    Attributes
    ----------
    is_writable : bool
        Whether the survey takes corrections.
    """

    relabel_asked = Signal()
    again_asked = Signal()
    withdraw_asked = Signal()
    photo_asked = Signal()
    _pictured = Signal(int, object)

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self._number: int | None = None
        self.is_writable = True
        self.setMinimumWidth(WIDTH)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        area = QScrollArea()
        area.setAccessibleName("The chosen reading")
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        inside = QWidget()
        area.setWidget(inside)
        outer.addWidget(area)
        box = QVBoxLayout(inside)
        box.setSpacing(SPACE)
        self.value = heading()
        self.value.setWordWrap(True)
        self.picture = QLabel()
        self.picture.setAccessibleName("The tube in its photo")
        self.facts = QGridLayout()
        self.facts.setHorizontalSpacing(2 * SPACE)
        self.facts.setVerticalSpacing(SPACE // 2)
        self.facts.setColumnStretch(1, 1)
        self.empty = muted("Choose a reading to see where it comes from.")
        self.reasons = plain()
        self.history = plain()
        for shown in (self.value, self.picture, self.empty):
            box.addWidget(shown)
        box.addLayout(self.facts)
        self._reasons_title = subheading("Doubts")
        self._history_title = subheading("History")
        for widget in (self._reasons_title, self.reasons, self._history_title, self.history):
            box.addWidget(widget)
        row = QHBoxLayout()
        self.relabel = QPushButton("Correct the name…")
        self.relabel.clicked.connect(self.relabel_asked)
        self.again = QPushButton("Read again…")
        self.again.setToolTip("Read its tube again from its photo, on a chart of the page Charts")
        self.again.clicked.connect(self.again_asked)
        self.withdraw = QPushButton("Withdraw…")
        self.withdraw.clicked.connect(self.withdraw_asked)
        self.photo = QPushButton("Show the photo")
        self.photo.clicked.connect(self.photo_asked)
        for button in (self.relabel, self.withdraw):
            row.addWidget(button)
        row.addStretch()
        above = QHBoxLayout()
        for button in (self.photo, self.again):
            above.addWidget(button)
        above.addStretch()
        box.addLayout(above)
        box.addLayout(row)
        box.addWidget(
            muted("A kept reading is never changed: a correction is a new one that names it.")
        )
        box.addStretch()
        self._pictured.connect(self._show_picture)
        self.show_reading(None)

    def show_reading(self, kept: KeptReading | None) -> None:
        """Show a reading; None says that none is chosen."""
        self._number = None if kept is None else kept.id
        for button in (self.relabel, self.withdraw):
            button.setEnabled(self.is_writable and kept is not None and kept.stands)
        has_photo = kept is not None and kept.line.sha256 is not None
        self.photo.setEnabled(has_photo)
        self.again.setEnabled(has_photo and self.relabel.isEnabled())
        self.picture.clear()
        self.empty.setVisible(kept is None)
        if kept is None:
            self.value.setText("")
            self._put_facts({})
            for widget in (self.reasons, self.history, self._reasons_title, self._history_title):
                widget.hide()
            return
        self._say(kept)
        book = self._tools.model.book
        path = (
            None if book is None or kept.line.sha256 is None else book.photo_path(kept.line.sha256)
        )
        if path is not None:
            self._tools.bench.submit(self._make_picture, path, kept)

    def _say(self, kept: KeptReading) -> None:
        from app.window.kept_table_model import cells_of
        from app.wording import say_confidence, say_value

        line, reading = kept.line, kept.line.reading
        self.value.setText("" if line.chart is None else say_value(reading, line.chart))
        seen = line.measurement
        taken = kept.taken_at
        by_hand = seen is not None and seen.outline == "by_hand"
        card_by_hand = line.hand is not None and line.hand.card is not None
        facts = {
            "Reading": f"{kept.id}, {cells_of(kept)[6]}",
            "Sample": " ".join(filter(None, (line.entry.sample, line.entry.replicate))),
            "Confidence": say_confidence(reading.confidence),
            "Largest doubt": reading.largest_term or "",
            "Chart": "" if line.chart is None else line.chart.name,
            "Standards": _standards(line.chart),
            "Photo": f"{line.photo}, tube {line.tube}",
            "Taken": "time not known" if taken is None else f"{taken:%Y-%m-%d %H:%M}",
            "Camera": "" if seen is None else seen.camera or "",
            "Region": "set by hand" if by_hand else "",
            "Grey card": "set by hand" if card_by_hand else "",
            "Kept": f"{kept.kept_at:%Y-%m-%d %H:%M} by {kept.person}",
            "Version": kept.software_version,
            "Fingerprint": "" if line.sha256 is None else f"{line.sha256[:16]}…",
        }
        self._put_facts({name: value for name, value in facts.items() if value})
        reasons = "\n\n".join(f"{r.text} {r.what_to_do}" for r in reading.reasons)
        self.reasons.setText(reasons)
        book = self._tools.model.book
        chain = () if book is None else book.history(kept.id)
        steps = "\n".join(
            f"{item.id}: {item.kept_at:%Y-%m-%d %H:%M} by {item.person}"
            + (f", {item.correction}" if item.correction else "")
            for item in chain
        )
        self.history.setText(steps if len(chain) > 1 else "")
        for title, text in (
            (self._reasons_title, self.reasons),
            (self._history_title, self.history),
        ):
            title.setVisible(bool(text.text()))
            text.setVisible(bool(text.text()))

    def _put_facts(self, facts: dict[str, str]) -> None:
        while (item := self.facts.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        for row, (name, value) in enumerate(facts.items()):
            title = muted(name)
            title.setWordWrap(False)
            self.facts.addWidget(title, row, 0, Qt.AlignmentFlag.AlignTop)
            self.facts.addWidget(plain(value), row, 1)

    @property
    def said(self) -> str:
        """All facts as text."""
        places = range(self.facts.count())
        items = (self.facts.itemAt(place) for place in places)
        widgets = (item.widget() for item in items if item is not None)
        return " ".join(widget.text() for widget in widgets if isinstance(widget, QLabel))

    def _make_picture(self, path: Path, kept: KeptReading) -> None:
        """Run on a thread of the pool."""
        from app.tasks.small_pictures import small_pictures

        made = small_pictures(path, (kept,))
        if made is not None:
            self._pictured.emit(kept.id, made.tubes.get(kept.id, made.photo))

    def _show_picture(self, number: int, data: bytes) -> None:
        if number == self._number:
            picture = QPixmap()
            picture.loadFromData(data)
            self.picture.setPixmap(
                picture.scaledToHeight(160, Qt.TransformationMode.SmoothTransformation)
            )


def _standards(chart: Chart | None) -> str:
    """Say what a chart was made from."""
    from app.wording import say_count

    if chart is None:
        return ""
    photos = {item.photo for item in chart.measurements}
    made = f"chart made on {chart.created_at:%Y-%m-%d}"
    return f"{len(chart.measurements)} in {say_count(len(photos), 'photo')}; {made}"
