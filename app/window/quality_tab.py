"""Quality control of the open survey, and its groups held against each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QByteArray, QObject, QTimer
from PySide6.QtSvgWidgets import QSvgWidget
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.window.facts_table import FactsTable
from app.window.labels import muted, subheading
from app.window.page import Tools
from app.window.theme import SPACE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.survey.quality import Control
    from app.tasks.judge_quality import Judged
    from app.tasks.step import Task
    from app.window.facts_table import Fact

    Block = tuple[str, Sequence[str], Sequence[Sequence[Fact]]]

ROW_PX, MOST_PX = 27, 320
NO_QUALITY = (
    "There is nothing to judge yet: read a sample twice, keep a check standard or a blank, or let "
    "two people read the same samples."
)
NO_GROUPS = (
    "Nobody shares a sample yet. Let each group keep its readings of the same samples under its "
    "own code (Edit, Preferences); known values of the samples are entered in the menu Samples."
)


class BlocksPane(QScrollArea):
    """Tables and drawings below each other."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        inside = QWidget()
        self.blocks = QVBoxLayout(inside)
        self.blocks.setSpacing(SPACE)
        self.setWidget(inside)
        self._waiting: list[Block] = []
        self._next = QTimer(self, singleShot=True, interval=0)
        self._next.timeout.connect(self._add_next)

    def show_blocks(
        self,
        blocks: Sequence[Block],
        empty: str,
        controls: Sequence[Control] = (),
    ) -> None:
        """Show blocks of a title, headings and rows, where there are rows."""
        while (item := self.blocks.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        filled = [block for block in blocks if block[2]]
        if not filled:
            self.blocks.addWidget(muted(empty))
        for control in controls:
            self._add_control(control)
        self._waiting = filled
        self._add_next()

    def _add_next(self) -> None:
        """Add a table; the next one follows in the next turn, for thousands of lines take time."""
        if not self._waiting:
            self.blocks.addStretch()
            return
        title, headings, rows = self._waiting.pop(0)
        self._add_title(title)
        table = FactsTable(title)
        table.put(rows, headings)
        table.setFixedHeight(min(MOST_PX, ROW_PX * (len(rows) + 2)))
        self.blocks.addWidget(table)
        self._next.start()

    def _add_title(self, text: str) -> None:
        said = subheading(text)
        said.setWordWrap(True)
        self.blocks.addWidget(said)

    def _add_control(self, control: Control) -> None:
        from app.exports.drawings import draw_control

        drawing = draw_control(control)
        self._add_title(f"Control chart of {control.sample}, {control.quantity}")
        paper = QFrame()
        paper.setStyleSheet("background: white")  # the drawing is in ink, in any look
        paper.setFixedSize(drawing.width, drawing.height)
        picture = QSvgWidget(paper)
        picture.load(QByteArray(drawing.svg.encode()))
        picture.setFixedSize(drawing.width, drawing.height)
        picture.setAccessibleName(f"Control chart of {control.sample}")
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
        self._tools.bench.start(
            "Judging the quality",
            _blocks(judge_quality(book.open_again)),
            on_finished=self._show,
            on_failed=self._tools.messages.complain,
            on_stopped=self._mark_stale,
        )

    def _mark_stale(self) -> None:
        self.is_stale = True

    def _show(self, made: tuple[Sequence[Control], Sequence[Block], Sequence[Block]]) -> None:
        controls, quality, groups = made
        self.quality.show_blocks(quality, NO_QUALITY, controls)
        self.groups.show_blocks(groups, NO_GROUPS)


def _blocks(judging: Task[Judged]) -> Task[Any]:
    """Lay out what was judged, on the bench too: there may be thousands of lines."""
    from app.exports.quality_sheet import group_blocks, quality_blocks

    judged = yield from judging
    controls = [item for item in judged.quality.controls if item.limits is not None]
    quality, groups = (
        [_block(block) for block in blocks]
        for blocks in (quality_blocks(judged.quality), group_blocks(judged.groups))
    )
    return controls, quality, groups


def _block(block: Any) -> Block:
    (title,), headings, *rows = block
    cells = [[_cell(c) for c in row] for row in rows]
    return str(title), [str(text).replace("_", " ") for text in headings], cells


def _cell(cell: Any) -> Fact:
    if isinstance(cell, float | int | None):
        return cell
    return "pH" if cell == "ph" else str(cell)
