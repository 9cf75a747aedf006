"""Writes what the bench's clocks say into the tests of the same samples."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from app.bench_clock import BenchClock
from app.survey.method import Test
from app.survey.survey import Survey


def tests_by_clocks(survey: Survey, clocks: Iterable[BenchClock]) -> tuple[Test, ...]:
    """Return the tests that the clocks tell something new of, with their times.

    A test that was timed otherwise is left alone, and so is one of another method than the clock's.

    Parameters
    ----------
    survey : Survey
        Its tests and methods.
    clocks : iterable of BenchClock
        On the desk.
    """
    methods = {method.name for method in survey.methods}
    changed: dict[str, Test] = {}
    for clock in clocks:
        shaken, colored = _second(clock.shaken_at), _second(clock.indicator_added_at)
        for test in survey.tests:
            test = changed.get(test.id, test)
            other = clock.method.name in methods and test.method not in (None, clock.method.name)
            if test.sample not in clock.samples or other or shaken is None:
                continue
            if test.shaken_at not in (None, shaken) or test.indicator_added_at is not None:
                continue
            timed = replace(test, shaken_at=shaken, indicator_added_at=colored)
            if timed != test:
                changed[test.id] = timed
    return tuple(changed.values())


def _second(moment: datetime | None) -> datetime | None:
    return None if moment is None else moment.replace(microsecond=0)
