"""Quality control of the open survey, and its groups held against each other."""

from __future__ import annotations

import gc
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QByteArray, QObject, Qt, QTimer
from PySide6.QtSvgWidgets import QSvgWidget
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.window.facts_table import FactsTable, sort_key
from app.window.labels import muted, subheading
from app.window.page import Tools
from app.window.theme import SPACE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QShowEvent

    from app.exports.drawings import Drawing
    from app.tasks.judge_quality import Judged
    from app.tasks.step import Task
    from app.window.facts_table import Fact

    Block = tuple[str, Sequence[str], Sequence[Sequence[Fact]]]
    Drawn = tuple[str, Drawing]
    Laid = tuple[int, Sequence[Drawn], Sequence[Block], Sequence[Block]]

HEADINGS = {
    "n": "n",
    "s": "s",
    "mean_is": "Kind of mean",
    "low_90": "From (90 %)",
    "high_90": "To (90 %)",
    "scatter_low_90": "By scatter from",
    "scatter_high_90": "By scatter to",
    "mean_half_width_of_one_90": "± of one (90 %)",
    "outlier_reading": "Outlier",
    "drift_per_30_days": "Drift in 30 days",
    "drift_low_90": "Drift from (90 %)",
    "drift_high_90": "Drift to (90 %)",
    "s_repeatability": "s of one person",
    "s_between": "s between people",
    "s_reproducibility": "s of all",
    "bias_low_95": "Bias from (95 %)",
    "bias_high_95": "Bias to (95 %)",
    "limit_low_95": "Limit from (95 %)",
    "limit_high_95": "Limit to (95 %)",
    "mandel_h": "Mandel's h",
}
"""Where the name of a column is not its words."""

ROW_PX, MOST_PX = 27, 320
MEASURED_ROWS = 24
"""Rows that the width of a column goes by; more than are seen at once would take too long."""
NO_QUALITY = (
    "There is nothing to judge yet: read a sample twice, keep a check standard or a blank, or let "
    "two people read the same samples."
)
NO_GROUPS = (
    "Nobody shares a sample yet. Let each group keep its readings of the same samples under its "
    "own code (Edit, Preferences); known values of the samples are entered in the menu Samples."
)


class BlocksPane(QScrollArea):
    """Drawings and tables below each other, laid out when they are looked at."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        inside = QWidget()
        self.blocks = QVBoxLayout(inside)
        self.blocks.setSpacing(SPACE)
        self.setWidget(inside)
        self._waiting: list[Callable[[], None]] = []
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._add_next)

    def show_blocks(
        self, blocks: Sequence[Block], empty: str, controls: Sequence[Drawn] = ()
    ) -> None:
        """Show control charts, and blocks of a title, headings and rows where there are rows."""
        while (item := self.blocks.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        filled = [block for block in blocks if block[2]]
        if not filled:
            self.blocks.addWidget(muted(empty))
        self._waiting = [
            *(partial(self._add_drawing, *control) for control in controls),
            *(partial(self._add_table, *block) for block in filled),
            self.blocks.addStretch,
        ]
        if self.isVisible():
            self._next.start()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        """Lay out what came while nobody looked."""
        super().showEvent(event)
        self._next.start()

    def _add_next(self) -> None:
        """Add one thing; the next follows in the next turn, for thousands of lines take time."""
        if self._waiting:
            self._waiting.pop(0)()
            self._next.start()

    def _add_table(
        self, title: str, headings: Sequence[str], rows: Sequence[Sequence[Fact]]
    ) -> None:
        self._add_title(title)
        table = FactsTable(title)
        table.horizontalHeader().setResizeContentsPrecision(MEASURED_ROWS)
        table.sortByColumn(-1, Qt.SortOrder.AscendingOrder)  # they come in order
        table.put(rows, headings)
        table.setFixedHeight(min(MOST_PX, ROW_PX * (len(rows) + 2)))
        self.blocks.addWidget(table)

    def _add_title(self, text: str) -> None:
        said = subheading(text)
        said.setWordWrap(True)
        self.blocks.addWidget(said)

    def _add_drawing(self, title: str, drawing: Drawing) -> None:
        self._add_title(title)
        paper = QFrame()
        paper.setStyleSheet("background: white")  # the drawing is in ink, in any look
        paper.setFixedSize(drawing.width, drawing.height)
        picture = QSvgWidget(paper)
        picture.load(QByteArray(drawing.svg.encode()))
        picture.setFixedSize(drawing.width, drawing.height)
        picture.setAccessibleName(title)
        self.blocks.addWidget(paper)


class QualityJudge(QObject):
    """Judges the survey when it is looked at, off the screen's thread.

    Attributes
    ----------
    quality, groups : BlocksPane
        What the two tabs show.
    is_stale : bool
        Whether readings came or went since.
    """

    def __init__(self, tools: Tools, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self._asked = 0
        self.is_stale = True
        self.quality = BlocksPane("Quality control")
        self.groups = BlocksPane("Groups")

    def judge(self) -> None:
        """Judge the survey on the work bench, where it was not since its last change."""
        from app.tasks.judge_quality import judge_quality

        book = self._tools.model.book
        if book is None or not self.is_stale:
            return
        self.is_stale = False
        self._asked += 1
        self._tools.bench.start(
            "Judging the quality",
            _blocks(judge_quality(book.open_again), self._asked),
            on_finished=self._show,
            on_failed=self._tools.messages.complain,
            on_stopped=self._mark_stale,
        )

    def _mark_stale(self) -> None:
        self.is_stale = True

    def _show(self, made: Laid) -> None:
        asked, controls, quality, groups = made
        if asked != self._asked or self.is_stale:
            return  # the survey has changed since, and is judged again when it is looked at
        self.quality.show_blocks(quality, NO_QUALITY, controls)
        self.groups.show_blocks(groups, NO_GROUPS)


def _blocks(judging: Task[Judged], asked: int) -> Task[Laid]:
    """Judge, and lay out what was judged, on the bench: there may be thousands of lines.

    `asked` comes back with it: which of the questions it answers.

    Meanwhile nothing looks for cycles: readings make none, and one search through 100,000 of them
    would hold up the screen's thread, too, for up to 0.2 seconds.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        judged = yield from judging
        return (asked, *_laid_out(judged))
    finally:
        if was_on:
            gc.enable()


def _laid_out(judged: Judged) -> tuple[Sequence[Drawn], Sequence[Block], Sequence[Block]]:
    from app.exports.drawings import draw_control
    from app.exports.quality_sheet import group_blocks, quality_blocks

    controls = [
        (f"Control chart of {item.sample}, {_cell(item.quantity)}", draw_control(item))
        for item in judged.quality.controls
        if item.limits is not None
    ]
    quality, groups = (
        [_block(block) for block in blocks]
        for blocks in (quality_blocks(judged.quality), group_blocks(judged.groups))
    )
    return controls, quality, groups


def _block(block: Any) -> Block:
    """Lay out one block for the screen: columns that say nothing are left out."""
    (title,), headings, *rows = block
    said = [place for place in range(len(headings)) if any(row[place] is not None for row in rows)]
    cells = sorted(
        (tuple(_cell(row[place]) for place in said) for row in rows),
        key=lambda row: sort_key(row[0]),
    )
    return str(title), [_heading(headings[place]) for place in said], tuple(cells)


def _heading(name: str) -> str:
    return HEADINGS.get(name) or name.replace("_", " ").capitalize()


def _cell(cell: Any) -> Fact:
    if isinstance(cell, float):
        return float(f"{cell:.3g}")  # further digits are not read off a screen
    if isinstance(cell, int | None):
        return cell
    return "pH" if cell == "ph" else str(cell)
