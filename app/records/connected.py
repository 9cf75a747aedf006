"""An open survey: its connection, its rights, and how they are given back."""

import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from app.records.connection import connect, plainly, tidy_up, transaction
from app.records.errors import RecordsReadOnlyError
from app.records.opening import Opened
from calibration.chart import Chart
from calibration.chart_file import parse_chart


class Connected:
    """An open survey. It belongs to the thread that opened it; `open_again` serves another one.

    Attributes
    ----------
    folder : Path
        Where it lies.
    read_only_because : str or None
        Why nothing can be written, a sentence for the user; None where it can.
    upgraded_from : int or None
        The older format that it had when it was opened.
    """

    def __init__(self, folder: Path, opened: Opened) -> None:
        self.folder = folder
        self.read_only_because = opened.read_only_because
        self.upgraded_from = opened.upgraded_from
        self._db = opened.db
        (_, _, path), *_ = opened.db.execute("PRAGMA database_list").fetchall()
        self._path = Path(path)
        self._holding = opened.holding
        self._charts: dict[int, Chart] = {}
        self._is_open = True

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Move everything into the one file and let go of the survey; twice does no harm."""
        if not self._is_open:
            return
        self._is_open = False
        with plainly(self.folder), self._holding:
            if self.is_writable:
                tidy_up(self._db)

    def open_again(self) -> Self:
        """Open a second connection with the same rights; it belongs to the thread that calls this.

        Close it before this one: the lock is this one's.
        """
        with plainly(self.folder), ExitStack() as holding:
            db = connect(self._path, "rw" if self.is_writable else "ro")
            holding.callback(db.close)
            opened = Opened(
                db=db,
                read_only_because=self.read_only_because,
                upgraded_from=None,
                holding=holding.pop_all(),
            )
        return type(self)(self.folder, opened)

    @property
    def is_writable(self) -> bool:
        """Whether this window may write."""
        return self.read_only_because is None

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        if self.read_only_because is not None:
            raise RecordsReadOnlyError(
                f"Nothing can be written to the survey {self.folder}. {self.read_only_because}",
                what_to_do="Close the other window, or open a copy that may be written to.",
            )
        with plainly(self.folder), transaction(self._db):
            yield self._db

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with plainly(self.folder):
            yield self._db

    def _chart(self, number: int) -> Chart:
        if number not in self._charts:
            row = self._db.execute(
                "SELECT name, text FROM charts WHERE number = ?", [number]
            ).fetchone()
            if row is None:
                raise ValueError(f"chart {number} is not there")
            self._charts[number] = parse_chart(row[1], f"the chart '{row[0]}'")
        return self._charts[number]
