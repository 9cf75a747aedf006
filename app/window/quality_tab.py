"""Quality control of the open survey: replicates, check standards, people, other instruments."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.window.facts_table import FactsTable
from app.window.labels import muted, subheading
from app.window.page import Tools
from app.window.theme import SPACE

if TYPE_CHECKING:
    from collections.abc import Sequence


class QualityTab(QScrollArea):
    """Judges the survey when it is looked at, off the screen's thread."""

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tools = tools
        self.is_stale = True
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        inside = QWidget()
        self._blocks = QVBoxLayout(inside)
        self._blocks.setSpacing(SPACE)
        self.setWidget(inside)

    def judge_quality(self) -> None:
        """Judge the survey's quality on the work bench."""
        from app.tasks.judge_quality import judge_quality

        book = self.tools.model.book
        if book is None:
            return
        self.is_stale = False
        self.tools.bench.start(
            "Judging the quality",
            judge_quality(book.open_again),
            on_finished=self._show_quality,
            on_failed=self.tools.messages.complain,
        )

    def _show_quality(self, blocks: Sequence[Sequence[Sequence[Any]]]) -> None:
        while (item := self._blocks.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        filled = [block for block in blocks if len(block) > 2]
        if not filled:
            self._blocks.addWidget(
                muted(
                    "There is nothing to judge yet: read a sample twice, keep a check standard or "
                    "a blank, or let two people read the same samples."
                )
            )
        for title, headings, *rows in filled:
            said = subheading(str(title[0]))
            said.setWordWrap(True)
            self._blocks.addWidget(said)
            table = FactsTable(str(title[0]))
            table.put(
                [[c if isinstance(c, float | int | None) else str(c) for c in r] for r in rows],
                [str(text).replace("_", " ") for text in headings],
            )
            table.setFixedHeight(min(320, 34 + 27 * (len(rows) + 1)))
            self._blocks.addWidget(table)
        self._blocks.addStretch()
