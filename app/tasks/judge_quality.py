"""The quality control of a whole survey, and its groups compared."""

from collections.abc import Callable
from dataclasses import dataclass

from app.records.record_book import RecordBook
from app.survey.class_view import ClassView, class_view
from app.survey.quality import Quality, Result, quality_of, result_of
from app.tasks.step import Step, Task

STEP = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What all readings that stand say together.

    Parameters
    ----------
    quality : Quality
        Replicates, check standards, people, other instruments.
    groups : ClassView
        Whoever measured the same samples, compared.
    """

    quality: Quality
    groups: ClassView


def judge_quality(open_book: Callable[[], RecordBook]) -> Task[Judged]:
    """Put all readings that stand together and judge them.

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
        survey = book.survey()
        return Judged(quality=quality_of(survey, results), groups=class_view(survey, results))


def compare_groups(book: RecordBook) -> ClassView:
    """Compare whoever kept readings, code by code, on the samples that two or more measured."""
    found = (result_of(kept) for kept in book.each_reading())
    return class_view(book.survey(), [result for result in found if result is not None])
