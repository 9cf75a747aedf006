"""Which readings, in which order: filters and sorting as SQL."""

from typing import Any, get_args

from app.records.times import to_text
from app.survey.kept_reading import ReadingFilter, SortKey

STANDING = (
    "r.id NOT IN (SELECT corrects FROM readings WHERE corrects IS NOT NULL "
    "UNION ALL SELECT id FROM readings WHERE withdrawn = 1)"
)

_COLUMN_OF: dict[SortKey, str] = {
    "kept": "id",
    "sample": "sample",
    "photo": "photo_name",
    "quantity": "quantity",
    "value": "value",
    "status": "status",
    "confidence": "confidence",
    "taken": "taken_at",
    "person": "person",
}
_SAME = ("quantity", "status", "role", "person")
_SEARCHED = ("sample", "replicate", "photo_name")


def page_of_ids(wanted: ReadingFilter, sort: SortKey, *, descending: bool) -> tuple[str, list[Any]]:
    """Return the query for a page of numbers, which lacks the values of LIMIT and OFFSET.

    Two ways are quick: to go through the index that sorts, which holds what is filtered by; or to
    find few rows by another index and sort those. A plus sign before a column keeps SQLite from
    using its index, and so decides.
    """
    if sort not in get_args(SortKey):
        raise ValueError(f"sort must be one of {', '.join(get_args(SortKey))}, got {sort!r}")
    span = wanted.kept_from is not None or wanted.kept_before is not None
    few = wanted.sample is not None or wanted.photo is not None or span
    walking = sort != "kept" and not few
    where, values = condition(wanted, plus="+" if walking else "")
    way = "DESC" if descending else "ASC"
    column, number = f"r.{_COLUMN_OF[sort]}", "r.id"
    if sort != "kept" and few:
        column, number = f"+{column}", "+r.id"
    order = f"{column} {way}" if sort == "kept" else f"{column} {way}, {number} {way}"
    sql = f"SELECT r.id FROM readings AS r WHERE {where} ORDER BY {order} LIMIT ? OFFSET ?"
    return sql, values


def condition(wanted: ReadingFilter, *, plus: str = "") -> tuple[str, list[Any]]:
    """Return what follows WHERE, and the values of its marks."""
    parts: list[str] = ["1"]
    values: list[Any] = []
    if wanted.only_standing:
        parts.append(STANDING)
    for name in _SAME:
        value = getattr(wanted, name)
        if value is not None:
            parts.append(f"{plus}r.{name} = ?")
            values.append(value)
    if wanted.sample is not None:
        parts.append("r.sample = ?")
        values.append(wanted.sample)
    if wanted.photo is not None:
        parts.append("r.photo = (SELECT number FROM photos WHERE sha256 = ?)")
        values.append(wanted.photo)
    if wanted.chart_id is not None:
        parts.append(f"{plus}r.chart IN (SELECT number FROM charts WHERE id = ?)")
        values.append(wanted.chart_id)
    if wanted.site is not None:
        parts.append(f"{plus}r.sample IN (SELECT label FROM samples WHERE site = ?)")
        values.append(wanted.site)
    if wanted.text:
        like = "LIKE ? ESCAPE '\\'"
        parts.append(f"({' OR '.join(f'r.{column} {like}' for column in _SEARCHED)})")
        values += [_containing(wanted.text)] * len(_SEARCHED)
    for sign, moment in ((">=", wanted.kept_from), ("<", wanted.kept_before)):
        if moment is not None:
            parts.append(f"r.kept_at {sign} ?")
            values.append(to_text(moment))
    return " AND ".join(parts), values


def _containing(text: str) -> str:
    for character in ("\\", "%", "_"):
        text = text.replace(character, f"\\{character}")
    return f"%{text}%"
