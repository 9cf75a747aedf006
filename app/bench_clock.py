"""The two clocks of a test, settling and color development, and what a photo's time tells."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal

from colorcore.reasons import Reason

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.survey.method import Method

Phase = Literal[
    "not begun", "settling", "add the indicator", "settled too long",
    "developing", "photograph now", "too late",
]  # fmt: skip

KNOWN_TO = timedelta(minutes=1)
"""A photo this close to the edge of its window is not held against anybody: minutes are what the
methods give."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchClock:
    """The clocks of one batch of tubes that were shaken, and coloured, together.

    Parameters
    ----------
    id : str
        Tells it from every other.
    samples : tuple of str
        Labels of the samples in the batch; at least one.
    method : Method
        How long it settles and develops.
    shaken_at, indicator_added_at : datetime or None
        When either clock was started, with its offset from UTC.
    """

    id: str
    samples: tuple[str, ...]
    method: Method
    shaken_at: datetime | None = None
    indicator_added_at: datetime | None = None

    def __post_init__(self) -> None:
        if not self.samples:
            raise ValueError("a clock needs at least one sample")
        for time in (self.shaken_at, self.indicator_added_at):
            if time is not None and time.utcoffset() is None:
                raise ValueError("times must carry their offset from UTC")


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockFace:
    """What a clock shows at a moment.

    Parameters
    ----------
    phase : str
        Where the batch stands.
    since : timedelta or None
        How long the running clock has run; None before the first one is started.
    left : timedelta or None
        Until the phase ends; None where its end is not known.
    """

    phase: Phase
    since: timedelta | None
    left: timedelta | None


def face_of(clock: BenchClock, now: datetime) -> ClockFace:
    """Return what a clock shows.

    Examples
    --------
    >>> from datetime import UTC
    >>> from app.survey.method import Method
    >>> start = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
    >>> ten = Method(name="ten minutes", settling_from_min=10, settling_to_min=30)
    >>> clock = BenchClock(id="1", samples=("A",), method=ten, shaken_at=start)
    >>> face = face_of(clock, start + timedelta(minutes=4))
    >>> face.phase, face.left
    ('settling', datetime.timedelta(seconds=360))
    """
    method = clock.method
    if clock.indicator_added_at is not None:
        return _face(
            now - clock.indicator_added_at, method.color_from_min, method.color_to_min,
            ("developing", "photograph now", "too late"),
        )  # fmt: skip
    if clock.shaken_at is not None:
        return _face(
            now - clock.shaken_at, method.settling_from_min, method.settling_to_min,
            ("settling", "add the indicator", "settled too long"),
        )  # fmt: skip
    return ClockFace(phase="not begun", since=None, left=None)


def _face(
    since: timedelta, first: float | None, last: float | None, phases: tuple[Phase, Phase, Phase]
) -> ClockFace:
    begin = timedelta(minutes=first or 0)
    if since < begin:
        return ClockFace(phase=phases[0], since=since, left=begin - since)
    if last is None:
        return ClockFace(phase=phases[1], since=since, left=None)
    end = timedelta(minutes=last)
    if since <= end:
        return ClockFace(phase=phases[1], since=since, left=end - since)
    return ClockFace(phase=phases[2], since=since, left=None)


def say_span(span: timedelta) -> str:
    """Write minutes and seconds as a clock does.

    Examples
    --------
    >>> say_span(timedelta(seconds=75)), say_span(timedelta(hours=2, seconds=5))
    ('1:15', '2:00:05')
    """
    seconds = int(span.total_seconds())
    hours, rest = divmod(seconds, 3600)
    if hours:
        return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
    return f"{rest // 60}:{rest % 60:02d}"


def photo_moment(
    taken_at: datetime | None, camera: str | None, offsets: Mapping[str, timedelta]
) -> datetime | None:
    """Return when a photo was taken by this machine's clock; None where that is not known.

    Parameters
    ----------
    taken_at : datetime or None
        As the file says; without a zone it is the camera's own local time.
    camera : str or None
        Make and model, as the file says.
    offsets : mapping of str to timedelta
        How far each camera's clock is ahead of this machine's.
    """
    if taken_at is None or camera is None or camera not in offsets:
        return None
    return taken_at.astimezone() - offsets[camera]


def timing_reasons(clock: BenchClock | None, moment: datetime | None) -> tuple[Reason, ...]:
    """Say whether a batch had settled when its indicator was added, and a photo was taken in time.

    Without a clock nothing is said; without a known moment that is said, and no warning is given.
    """
    if clock is None or clock.indicator_added_at is None:
        return ()
    return (*_settling_reasons(clock), *_color_reasons(clock, clock.indicator_added_at, moment))


def _settling_reasons(clock: BenchClock) -> tuple[Reason, ...]:
    """Both times are of this machine's clock, so no camera need be known."""
    if clock.shaken_at is None or clock.indicator_added_at is None:
        return ()
    settled = clock.indicator_added_at - clock.shaken_at
    first, last = clock.method.settling_from_min, clock.method.settling_to_min
    if first is not None and settled < timedelta(minutes=first) - KNOWN_TO:
        wants = f"at least {first:g} min"
    elif last is not None and settled > timedelta(minutes=last) + KNOWN_TO:
        wants = f"at most {last:g} min"
    else:
        return ()
    return (
        Reason(
            code="settling_time",
            text=f"The indicator was added {_minutes(settled)} after shaking; the method wants "
            f"{wants}.",
            what_to_do="Shake a new tube and let it settle as long as the method says.",
            weight="doubtful",
        ),
    )


def _color_reasons(
    clock: BenchClock, colored_at: datetime, moment: datetime | None
) -> tuple[Reason, ...]:
    method = clock.method
    if method.color_from_min is None and method.color_to_min is None:
        return ()
    if moment is None:
        return (
            Reason(
                code="time_not_known",
                text="When the photo was taken is not known, so its color development is not "
                "judged.",
                what_to_do="Photograph the window's clock once with this phone: that sets its "
                "offset.",
                weight="note",
            ),
        )
    after = moment - colored_at
    first = timedelta(minutes=method.color_from_min or 0)
    last = None if method.color_to_min is None else timedelta(minutes=method.color_to_min)
    if after < first - KNOWN_TO:
        side = "after" if after >= timedelta() else "before"
        return (
            Reason(
                code="read_too_early",
                text=f"The photo was taken {_minutes(abs(after))} {side} the indicator was added; "
                f"the method wants at least {_minutes(first)} after it.",
                what_to_do="Wait for the color to develop and photograph again.",
                weight="doubtful",
            ),
        )
    if last is not None and after > last + KNOWN_TO:
        return (
            Reason(
                code="read_too_late",
                text=f"The photo was taken {_minutes(after)} after the indicator was added; the "
                f"method wants at most {_minutes(last)}.",
                what_to_do="Prepare the tube again and photograph it in time.",
                weight="doubtful",
            ),
        )
    return ()


def _minutes(span: timedelta) -> str:
    return f"{span.total_seconds() / 60:.0f} min"
