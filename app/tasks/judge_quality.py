"""The quality control of a whole survey, off the screen's thread."""

from collections.abc import Callable

from app.exports.quality_sheet import Block, quality_blocks
from app.records.record_book import RecordBook
from app.survey.quality import Result, quality_of, result_of
from app.tasks.step import Step, Task

STEP = 2_000


def judge_quality(open_book: Callable[[], RecordBook]) -> Task[tuple[Block, ...]]:
    """Put all readings that stand together and judge them, as blocks of rows.

    Parameters
    ----------
    open_book : callable
        Opens the survey for the thread that works.
    """
    with open_book() as book:
        total = book.count()
        results: list[Result] = []
        for done, kept in enumerate(book.each_reading()):
            if done % STEP == 0:
                yield Step(done=done, total=total, note="")
            result = result_of(kept)
            if result is not None:
                results.append(result)
        return quality_blocks(quality_of(book.survey(), results))
