"""Which readings, in which order: filters and sorting as SQL."""

from typing import Any, get_args

from app.records.times import to_text
from app.survey.kept_reading import ReadingFilter, SortKey

STANDING = (
    "r.id NOT IN (SELECT corrects FROM readings WHERE corrects IS NOT NULL "
    "UNION ALL SELECT id FROM readings WHERE withdrawn = 1)"
)

_COLUMN_OF: dict[SortKey, str] = {
    "kept": "r.id",
    "sample": "r.sample",
    "photo": "r.photo_name",
    "quantity": "r.quantity",
    "value": "r.value",
    "status": "r.status",
    "confidence": "r.confidence",
    "taken": "r.taken_at",
    "person": "r.person",
}
_SAME = ("sample", "quantity", "status", "role", "chart_id", "person", "photo")


def condition(wanted: ReadingFilter) -> tuple[str, list[Any]]:
    """Return what follows WHERE, and the values of its marks."""
    parts, values = ["1"], []
    if wanted.only_standing:
        parts.append(STANDING)
    for name in _SAME:
        value = getattr(wanted, name)
        if value is not None:
            parts.append(f"r.{name} = ?")
            values.append(value)
    if wanted.site is not None:
        parts.append("r.sample IN (SELECT label FROM samples WHERE site = ?)")
        values.append(wanted.site)
    if wanted.text:
        like = "LIKE ? ESCAPE '\\'"
        columns = ("r.sample", "r.replicate", "r.photo_name")
        parts.append(f"({' OR '.join(f'{c} {like}' for c in columns)})")
        values += [_containing(wanted.text)] * len(columns)
    for sign, moment in ((">=", wanted.kept_from), ("<", wanted.kept_before)):
        if moment is not None:
            parts.append(f"r.kept_at {sign} ?")
            values.append(to_text(moment))
    return " AND ".join(parts), values


def _containing(text: str) -> str:
    for character in ("\\", "%", "_"):
        text = text.replace(character, f"\\{character}")
    return f"%{text}%"


def order(sort: SortKey, *, descending: bool) -> str:
    """Return what follows ORDER BY: the column, then the order of keeping."""
    if sort not in get_args(SortKey):
        raise ValueError(f"sort must be one of {', '.join(get_args(SortKey))}, got {sort!r}")
    way = "DESC" if descending else "ASC"
    column = _COLUMN_OF[sort]
    return f"r.id {way}" if column == "r.id" else f"{column} {way}, r.id {way}"
