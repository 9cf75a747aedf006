"""Moments as text that sorts: UTC, with the local offset beside it."""

from datetime import UTC, datetime, timedelta, timezone


def to_text(moment: datetime) -> str:
    """Write a moment in UTC, always to the microsecond, so that text order is time order.

    Examples
    --------
    >>> to_text(datetime(2026, 5, 1, 9, 30, tzinfo=timezone(timedelta(hours=2))))
    '2026-05-01T07:30:00.000000+00:00'
    """
    if moment.utcoffset() is None:
        raise ValueError("a moment must carry its offset from UTC")
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def offset_min(moment: datetime) -> int:
    """Local offset from UTC, whole minutes."""
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError("a moment must carry its offset from UTC")
    return round(offset / timedelta(minutes=1))


def to_moment(text: str, offset: int = 0) -> datetime:
    """Read a moment back, in its local time.

    Examples
    --------
    >>> to_moment("2026-05-01T07:30:00.000000+00:00", 120).isoformat()
    '2026-05-01T09:30:00+02:00'
    """
    moment = datetime.fromisoformat(text)
    return moment.astimezone(timezone(timedelta(minutes=offset))) if offset else moment
