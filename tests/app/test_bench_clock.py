"""The bench's clocks: phases of a batch, and photos judged by their own time."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from app.bench_clock import BenchClock, face_of, photo_moment, timing_reasons
from app.survey.method import Method

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
METHOD = Method(
    name="quick",
    settling_from_min=10,
    settling_to_min=30,
    color_from_min=2,
    color_to_min=10,
)
SHAKEN = BenchClock(id="1", samples=("A", "B"), method=METHOD, shaken_at=START)
COLORED = BenchClock(id="1", samples=("A",), method=METHOD, indicator_added_at=START)


@pytest.mark.parametrize(
    ("clock", "minutes", "phase"),
    [
        (SHAKEN, 9, "settling"),
        (SHAKEN, 10, "add the indicator"),
        (SHAKEN, 31, "settled too long"),
        (COLORED, 1, "developing"),
        (COLORED, 2, "photograph now"),
        (COLORED, 10.5, "too late"),
    ],
)
def test_phases_follow_the_method(clock: BenchClock, minutes: float, phase: str) -> None:
    """Each clock goes through its phases at the method's minutes."""
    assert face_of(clock, START + timedelta(minutes=minutes)).phase == phase


@pytest.mark.parametrize(
    ("minutes", "codes"),
    [(0.5, ["read_too_early"]), (1.5, []), (5, []), (10.9, []), (12, ["read_too_late"])],
)
def test_a_photo_outside_its_window_is_flagged(minutes: float, codes: list[str]) -> None:
    """The photo's own time tells; a minute at the edges is nobody's fault."""
    moment = START + timedelta(minutes=minutes)
    assert [r.code for r in timing_reasons(COLORED, moment)] == codes


@pytest.mark.parametrize(
    ("settled_min", "codes"),
    [(8, ["settling_time"]), (9.5, []), (20, []), (30.5, []), (33, ["settling_time"])],
)
def test_an_indicator_at_the_wrong_time_is_flagged(settled_min: float, codes: list[str]) -> None:
    """Both clocks are this machine's, so it is known whatever is known of the camera."""
    colored = START + timedelta(minutes=settled_min)
    clock = replace(SHAKEN, indicator_added_at=colored)
    in_time = colored + timedelta(minutes=5)
    assert [r.code for r in timing_reasons(clock, in_time)] == codes
    assert [r.code for r in timing_reasons(clock, None)] == [*codes, "time_not_known"]


def test_an_unknown_time_never_warns() -> None:
    """No time in the photo, or a camera whose clock is not known: a note, no doubt."""
    known = {"Camera 1": timedelta(hours=1)}
    for taken, camera in ((None, "Camera 1"), (START, None), (START, "Camera 2")):
        moment = photo_moment(taken, camera, known)
        assert [r.weight for r in timing_reasons(COLORED, moment)] == ["note"]
    assert photo_moment(START, "Camera 1", known) == START - timedelta(hours=1)


def test_nothing_is_said_where_no_clock_ran() -> None:
    """Without a clock, or before the indicator, a photo's time means nothing."""
    assert timing_reasons(None, START) == ()
    assert timing_reasons(SHAKEN, START) == ()
