"""What is done to a kept reading: named anew, read again, withdrawn; each with its reason."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QInputDialog, QWidget

from app.window.page import Tools
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.records.record_book import RecordBook
    from app.survey.kept_reading import KeptReading
    from app.tasks.step import Task
    from calibration.chart import Chart


class Corrections(QObject):
    """Asks for corrections of the chosen reading and writes them as new ones.

    Parameters
    ----------
    tools : Tools
        What the pages share.
    chosen : callable
        Gives the reading that is chosen, None where none is.
    window : QWidget
        Where the questions are asked.
    """

    def __init__(
        self, tools: Tools, chosen: Callable[[], KeptReading | None], window: QWidget
    ) -> None:
        super().__init__(window)
        self._tools, self._chosen, self._window = tools, chosen, window

    def ask_relabel(self) -> None:
        """Let the user say that a reading is of another sample, and why."""
        from app.tasks.correct_reading import relabel_reading

        kept, book, title = self._chosen(), self._tools.model.book, "Correct the name"
        if kept is None or book is None:
            return
        name, sure = QInputDialog.getText(
            self._window, title, "Sample of this reading", text=kept.line.entry.sample or ""
        )
        reason = self._ask_reason(title) if sure else None
        if reason is None:
            return
        person, now = self._tools.model.desk.person, datetime.now().astimezone()
        self._correct(
            lambda: relabel_reading(
                book, kept.id, sample=name, reason=reason, person=person, now=now
            )
        )

    def ask_withdrawal(self) -> None:
        """Let the user say that a reading no longer stands, and why."""
        kept, book = self._chosen(), self._tools.model.book
        if kept is None or book is None:
            return
        reason = self._ask_reason(f"Withdraw reading {kept.id}")
        if reason is None:
            return
        person, now = self._tools.model.desk.person, datetime.now().astimezone()
        self._correct(lambda: book.withdraw(kept.id, reason=reason, person=person, now=now))

    def ask_again(self) -> None:
        """Let the user read a kept tube again on a chart, and say why."""
        kept, book, title = self._chosen(), self._tools.model.book, "Read again"
        if kept is None or book is None:
            return
        charts = {f"{c.name} ({c.created_at:%Y-%m-%d %H:%M})": c for c in self._charts()}
        if not charts:
            self._tools.messages.tell("Open a chart on the page Charts first.")
            return
        name, sure = QInputDialog.getItem(
            self._window, title, "Read its tube again on the chart", list(charts), 0, False
        )
        reason = self._ask_reason(title) if sure else None
        if reason is None:
            return
        self._tools.bench.start(
            f"Reading {kept.id} again",
            _reading(book.open_again, kept.id, charts[name], reason, self._tools.model.desk.person),
            on_finished=self._tell,
            on_failed=self._tools.messages.complain,
        )

    def _charts(self) -> tuple[Chart, ...]:
        """Return the open charts, the newest first: it is the likeliest reason to read again."""
        charts = (item.chart for item in self._tools.model.desk.charts)
        return tuple(sorted(charts, key=lambda chart: chart.created_at, reverse=True))

    def _ask_reason(self, title: str) -> str | None:
        reason, sure = QInputDialog.getText(self._window, title, "Why?")
        return reason if sure else None

    def _correct(self, act: Callable[[], int]) -> None:
        try:
            self._tell(act())
        except TintwellError as error:
            self._tools.messages.complain(error)

    def _tell(self, number: int) -> None:
        self._tools.model.refresh_survey()
        self._tools.model.readings_changed.emit()
        self._tools.messages.tell(f"Noted as reading {number}; the old one stays in the history.")


def _reading(
    open_book: Callable[[], RecordBook], number: int, chart: Chart, reason: str, person: str
) -> Task[int]:
    from app.tasks.correct_reading import read_again
    from app.tasks.step import Step

    yield Step(done=0, total=1, note=chart.name)
    now = datetime.now().astimezone()
    with open_book() as book:
        return read_again(book, number, chart, reason=reason, person=person, now=now)
