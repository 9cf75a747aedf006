"""Sites, samples, methods, tests and persons: rows in, value objects out."""

import json
import sqlite3
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any, Generic, TypeVar

from app.records.errors import NOT_RIGHT, RecordsDamagedError, RecordsError
from app.records.times import to_text
from app.survey.method import Method, Test
from app.survey.person import Event, Person
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site

Thing = TypeVar("Thing", Site, Sample, Method, Test, Person, KnownValue, Event)
NAMED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Table(Generic[Thing]):
    """How one kind of value object lies in the database: a column a field.

    Parameters
    ----------
    name, word : str
        The table, and what one of its rows is called.
    kind : type
        The value object.
    key : str
        The column that names a row.
    points_to : tuple of (str, str, str)
        Columns that name a row of another table: column, table, its key.
    readers : dict
        How a column that is no plain text or number is read.
    """

    name: str
    word: str
    kind: type[Thing]
    key: str
    points_to: tuple[tuple[str, str, str], ...]
    readers: dict[str, Callable[[Any], object]]


SITES = Table(
    name="sites",
    word="site",
    kind=Site,
    key="name",
    points_to=(),
    readers={"suspected_contamination": bool},
)
SAMPLES = Table(
    name="samples",
    word="sample",
    kind=Sample,
    key="label",
    points_to=(("site", "sites", "name"),),
    readers={"taken_on": date.fromisoformat},
)
METHODS = Table(
    name="methods",
    word="method",
    kind=Method,
    key="name",
    points_to=(),
    readers={"subtract_blank": bool},
)
TESTS = Table(
    name="tests",
    word="test",
    kind=Test,
    key="id",
    points_to=(("sample", "samples", "label"), ("method", "methods", "name")),
    readers={
        "shaken_at": datetime.fromisoformat,
        "indicator_added_at": datetime.fromisoformat,
    },
)
PERSONS = Table(name="persons", word="person", kind=Person, key="code", points_to=(), readers={})
KNOWN_VALUES = Table(
    name="known_values",
    word="known value",
    kind=KnownValue,
    key="id",
    points_to=(("sample", "samples", "label"),),
    readers={"noted_at": datetime.fromisoformat},
)
EVENTS = Table(
    name="events",
    word="event",
    kind=Event,
    key="id",
    points_to=(),
    readers={"at": datetime.fromisoformat},
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What became of rows that were added.

    Parameters
    ----------
    new, same, changed : int
        New ones, ones that were there already as they are, and ones that were replaced.
    """

    new: int
    same: int
    changed: int


def _columns(kind: Any) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))


def _cell(value: object) -> object:
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    return int(value) if isinstance(value, bool) else value


def read_all(db: sqlite3.Connection, table: Table[Thing], *, where: str = "") -> tuple[Thing, ...]:
    """Every row of a table as a value object, in the order of the key."""
    sql = f"SELECT {', '.join(_columns(table.kind))} FROM {table.name} {where} ORDER BY {table.key}"
    return tuple(_thing(table, row) for row in db.execute(sql))


def _thing(table: Table[Thing], row: Sequence[Any]) -> Thing:
    cells = dict(zip(_columns(table.kind), row, strict=True))
    try:
        for column, read in table.readers.items():
            cells[column] = None if cells[column] is None else read(cells[column])
        return table.kind(**cells)
    except NOT_RIGHT as error:
        raise RecordsDamagedError(
            f"A {table.word} of the survey cannot be right ({error}).",
            what_to_do="Restore a backup, or correct the database by hand.",
        ) from error


def insert(db: sqlite3.Connection, table: Table[Thing], thing: Thing) -> None:
    """Write one value object as a new row."""
    columns = _columns(table.kind)
    marks = ", ".join("?" * len(columns))
    db.execute(
        f"INSERT INTO {table.name} ({', '.join(columns)}) VALUES ({marks})",
        [_cell(getattr(thing, column)) for column in columns],
    )


def insert_numbered(db: sqlite3.Connection, table: Table[Thing], thing: Thing) -> None:
    """Write one value object as a new row of a table that numbers its rows."""
    columns = _columns(table.kind)
    marks = ", ".join("?" * len(columns))
    db.execute(
        f"INSERT INTO {table.name} (id, {', '.join(columns)}) "
        f"VALUES ((SELECT coalesce(max(id), 0) + 1 FROM {table.name}), {marks})",
        [_cell(getattr(thing, column)) for column in columns],
    )


def add(
    db: sqlite3.Connection,
    table: Table[Thing],
    things: Sequence[Thing],
    *,
    person: str,
    now: datetime,
    replace: bool = False,
) -> Added:
    """Add value objects to a table, inside a transaction; changes are written down as events.

    Raises
    ------
    RecordsError
        If a name is there already with other facts and `replace` is not given, if a name stands
        twice, or if something is pointed to that is not in the survey.
    """
    keys = [str(getattr(thing, table.key)) for thing in things]
    doubled = [key for key, times in Counter(keys).items() if times > 1]
    if doubled:
        raise RecordsError(
            f"{_listed(table.word, doubled)} there more than once.",
            what_to_do="Give each one its own name.",
        )
    check_pointers(db, table, things)
    present = {str(getattr(thing, table.key)): thing for thing in read_all(db, table)}
    other = [
        key
        for key, thing in zip(keys, things, strict=True)
        if key in present and present[key] != thing
    ]
    if other and not replace:
        raise RecordsError(
            f"{_listed(table.word, other)} already in the survey with other facts.",
            what_to_do="Give one of the two another name, or make their facts agree; where a table "
            "is added, --replace lets it win.",
        )
    new = 0
    for key, thing in zip(keys, things, strict=True):
        if key not in present:
            insert(db, table, thing)
            new += 1
        elif present[key] != thing:
            _change(db, table, present[key], thing)
            note(db, person, now, f"{table.word} changed", key, present[key], thing)
    if new:
        note(db, person, now, f"{table.name} added", str(new))
    return Added(new=new, same=len(things) - new - len(other), changed=len(other))


def _listed(word: str, names: Sequence[str]) -> str:
    """Name some things, as the start of a sentence about them."""
    shown = ", ".join(f"'{name}'" for name in names[:NAMED])
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    several = len(names) > 1
    return f"The {word}{'s' if several else ''} {shown}{more} {'are' if several else 'is'}"


def check_pointers(db: sqlite3.Connection, table: Table[Thing], things: Sequence[Thing]) -> None:
    """Refuse things that name something which is not in the survey."""
    for column, other, key in table.points_to:
        there = {name for (name,) in db.execute(f"SELECT {key} FROM {other}")}
        named = dict.fromkeys(getattr(thing, column) for thing in things)
        missing = [name for name in named if name is not None and name not in there]
        if missing:
            raise RecordsError(
                f"{_listed(column, missing)} not in the survey.",
                what_to_do=f"Add the {other} first, or correct the names.",
            )


def _change(db: sqlite3.Connection, table: Table[Thing], old: Thing, new: Thing) -> None:
    columns: list[str] = [name for name in _columns(table.kind) if name != table.key]
    db.execute(
        f"UPDATE {table.name} SET {', '.join(f'{column} = ?' for column in columns)} "
        f"WHERE {table.key} = ?",
        [*(_cell(getattr(new, column)) for column in columns), getattr(old, table.key)],
    )


def remove(
    db: sqlite3.Connection, thing: Site | Sample | Method | Test, *, person: str, now: datetime
) -> None:
    """Take away a row that nothing points to; what it was is written down as an event."""
    table: Any = next(t for t in (SITES, SAMPLES, METHODS, TESTS) if t.kind is type(thing))
    key = getattr(thing, table.key)
    if thing not in read_all(db, table):
        raise RecordsError(
            f"The {table.word} '{key}' is not in the survey as it was.",
            what_to_do="Look at what is there now.",
        )
    try:
        db.execute(f"DELETE FROM {table.name} WHERE {table.key} = ?", [key])
    except sqlite3.IntegrityError as error:
        raise RecordsError(
            f"The {table.word} '{key}' is in use, so it stays.",
            what_to_do="Samples, tests and kept readings that name it keep it in the survey.",
        ) from error
    note(db, person, now, f"{table.word} removed", key, thing, None)


def read_known_values(db: sqlite3.Connection) -> tuple[KnownValue, ...]:
    """Read the newest known value of each sample, quantity, unit and source."""
    newest = (
        "WHERE id IN (SELECT max(id) FROM known_values GROUP BY sample, quantity, unit, source)"
    )
    return read_all(db, KNOWN_VALUES, where=newest)


def name_person(db: sqlite3.Connection, code: str, name: str | None) -> None:
    """Give a person a name, or blank it."""
    ensure_person(db, code)
    db.execute("UPDATE persons SET name = ? WHERE code = ?", [name, code])


def note(
    db: sqlite3.Connection,
    person: str,
    now: datetime,
    what: str,
    subject: str,
    before: Any = None,
    after: Any = None,
) -> None:
    """Write down an event."""
    event = Event(
        at=now,
        person=person,
        what=what,
        subject=subject,
        before=None if before is None else _as_json(before),
        after=None if after is None else _as_json(after),
    )
    to_text(event.at)  # refuses a moment without its offset
    insert_numbered(db, EVENTS, event)


def _as_json(thing: Any) -> str:
    data = {field.name: _cell(getattr(thing, field.name)) for field in fields(thing)}
    return json.dumps(data, ensure_ascii=False)


def ensure_person(db: sqlite3.Connection, code: str) -> None:
    """Make a person known by the code alone."""
    db.execute("INSERT INTO persons (code) VALUES (?) ON CONFLICT DO NOTHING", [code])
