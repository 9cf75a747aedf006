"""Parts of the reading pane: a large value, doubts with what to do, replicates side by side."""

from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.tube_reading import TubeReading
from app.window.labels import muted, plain, subheading
from app.window.standings import STANDING_WORDS, StandingMark
from app.window.theme import SPACE
from colorcore.reasons import Reason

if TYPE_CHECKING:  # the first window comes up without numpy
    from app.desk_replicates import Replicates

SMALLER_PT = 14
MOST_REPLICATES = 8


def large_value(said: str) -> str:
    """Return a value as rich text: the number large, its interval beside it smaller.

    Examples
    --------
    >>> large_value("pH 6.4 ± 0.3")
    'pH 6.4<span style="font-size:14pt; font-weight:400"> ± 0.3</span>'
    """
    cut = min((at for at in (said.find(" ±"), said.find(" (")) if at > 0), default=-1)
    if cut < 0:
        return escape(said)
    rest = escape(said[cut:])
    style = f"font-size:{SMALLER_PT}pt; font-weight:400"
    return f'{escape(said[:cut])}<span style="{style}">{rest}</span>'


def clear(box: QVBoxLayout | QGridLayout) -> None:
    """Take everything out of a layout."""
    while (item := box.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            widget.hide()
            widget.deleteLater()


class Doubts(QWidget):
    """Every reason with its weight, what was seen, and what to do about it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.setSpacing(SPACE)
        self._shown: tuple[Reason, ...] = ()

    def show_reasons(self, reasons: Iterable[Reason]) -> None:
        """Show these reasons, the heaviest first."""
        rank = ("refused", "doubtful", "note")
        ordered = tuple(sorted(dict.fromkeys(reasons), key=lambda r: rank.index(r.weight)))
        if ordered == self._shown:
            return
        self._shown = ordered
        clear(self._box)
        for reason in ordered:
            self._box.addWidget(_doubt(reason))
        self.setVisible(bool(ordered))


def _doubt(reason: Reason) -> QWidget:
    row = QWidget()
    box = QHBoxLayout(row)
    box.setContentsMargins(0, 0, 0, 0)
    box.setSpacing(SPACE)
    mark = StandingMark(18)
    mark.show_standing(reason.weight)
    mark.setToolTip(STANDING_WORDS[reason.weight])
    box.addWidget(mark, 0, Qt.AlignmentFlag.AlignTop)
    words = QVBoxLayout()
    words.setSpacing(2)
    words.addWidget(plain(reason.text))
    words.addWidget(muted(reason.what_to_do))
    box.addLayout(words, 1)
    return row


class ReplicateTable(QWidget):
    """Tubes of one sample with their mean; one that lies far off is shown, not hidden."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(SPACE // 2)
        self.title = subheading()
        self.title.setWordWrap(True)
        box.addWidget(self.title)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(2 * SPACE)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        box.addLayout(self._grid)
        self.summary = plain()
        box.addWidget(self.summary)

    def show_replicates(self, pooled: "Replicates | None") -> None:
        """Show what several tubes say together; hidden where there is only one."""
        self.setVisible(pooled is not None)
        clear(self._grid)
        if pooled is None:
            return
        from app.wording import say_value

        chart, together = pooled.chart, pooled.together
        self.title.setText(f"All tubes of {pooled.sample} on {chart.name}")
        for row, line in enumerate(pooled.lines[:MOST_REPLICATES]):
            where = QLabel(f"Tube {line.tube}, {Path(line.photo).stem}")
            where.setToolTip(line.photo)  # a long name is cut off
            where.setObjectName("muted")
            where.setMinimumWidth(60)
            value = QLabel(say_value(line.reading, chart))
            far = row == together.outlier
            value.setText(f"{value.text()}, far from the others" if far else value.text())
            for label in (where, value):
                label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            self._grid.addWidget(where, row, 0)
            self._grid.addWidget(value, row, 1, Qt.AlignmentFlag.AlignRight)
        self.summary.setText(_say_together(pooled))


def _say_together(pooled: "Replicates") -> str:
    from app.wording import decimals_for, say_interval, say_unit

    chart, together = pooled.chart, pooled.together
    before = "pH " if chart.analyte.is_ph else ""
    mean = say_interval(
        together.value, together.low, together.high, before=before, unit=say_unit(chart)
    )
    said = [f"Mean of {len(pooled.lines)}: <b>{escape(mean)}</b> (90 %)"]
    if pooled.s is not None:
        places = max(decimals_for(pooled.s), 1)
        said.append(f"s = {pooled.s:.{places}f}{say_unit(chart)}")
    if together.outlier is not None:
        said.append("one lies far from the others (Grubbs' test, 5 %); it is in the mean")
    if len(pooled.lines) > MOST_REPLICATES:
        said.append(f"{len(pooled.lines) - MOST_REPLICATES} more are not listed")
    if pooled.without_value:
        said.append(f"{pooled.without_value} more without a value")
    return "; ".join(said) + "."


def say_lab(lightness: float, a: float, b: float) -> str:
    """Write a color.

    Examples
    --------
    >>> say_lab(61.234, -3.0, 40.05)
    'L* 61.2  a* -3.0  b* 40.0 (CIELAB, D65)'
    """
    return f"L* {lightness:.1f}  a* {a:.1f}  b* {b:.1f} (CIELAB, D65)"


def facts_of(line: TubeReading) -> list[str]:
    """Return what else there is to know of a reading, a line each."""
    reading, seen = line.reading, line.measurement
    facts = [] if line.chart is None else [f"Chart: {line.chart.name}"]
    if reading.largest_term is not None:
        facts.append(f"Largest part of the uncertainty: {reading.largest_term}")
    if reading.nearest_by_color is not None and reading.color_distance is not None:
        facts.append(
            f"Nearest by color alone: {reading.nearest_by_color:g} "
            f"(ΔE₀₀ {reading.color_distance:.1f})"
        )
    if seen is not None:
        facts.append(say_lab(*seen.lab))
        if seen.outline == "by_hand":
            facts.append("Read by hand-set outline")
    return facts
