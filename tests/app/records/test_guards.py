"""The database itself refuses to change, delete or replace what is kept, whoever asks."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from itertools import product
from pathlib import Path

import pytest

from app.records.record_book import create_survey
from app.records.schema import KEPT_FOR_GOOD
from tests.app.sample_surveys import NOW, known_ph, make_lines, write_photo


@pytest.fixture
def db(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """Give a survey with something in every table, opened by some other program."""
    folder = tmp_path / "survey"
    with create_survey(folder, id="s", now=NOW) as book:
        book.keep_readings(make_lines(write_photo(tmp_path), (6.1, 6.2)), "P1", NOW)
        book.withdraw(1, reason="undone", person="P1", now=NOW)
        book.note("P1", NOW, "noted", "something")
        value = known_ph("A1", 6.0, "laboratory")
        book.add_known_values([value])
    with closing(sqlite3.connect(folder / "survey.sqlite")) as opened:
        yield opened


def content(db: sqlite3.Connection, table: str) -> list[tuple[object, ...]]:
    """Return every row of a table."""
    return db.execute(f"SELECT * FROM {table}").fetchall()


STATEMENTS = (
    "UPDATE {table} SET {column} = {column}",
    "UPDATE OR REPLACE {table} SET {column} = {column}",
    "UPDATE OR IGNORE {table} SET {column} = 7",
    "DELETE FROM {table}",
    "REPLACE INTO {table} SELECT * FROM {table}",
    "INSERT OR IGNORE INTO {table} SELECT * FROM {table}",
)


@pytest.mark.parametrize("recursive", ["ON", "OFF"])
def test_nothing_kept_is_changed(db: sqlite3.Connection, recursive: str) -> None:
    """Not by any kind of statement, whatever the connection is set to."""
    db.execute(f"PRAGMA recursive_triggers = {recursive}")
    for table, statement in product(KEPT_FOR_GOOD, STATEMENTS):
        before = content(db, table)
        assert before
        column = db.execute(f"SELECT name FROM pragma_table_info('{table}')").fetchone()[0]
        with pytest.raises(sqlite3.IntegrityError, match="is never changed or deleted"):
            db.execute(statement.format(table=table, column=column))
        assert content(db, table) == before


def test_a_unique_column_is_no_way_round(db: sqlite3.Connection) -> None:
    """A row with another number but the same fingerprint, or the same correction, is refused."""
    columns = ", ".join(
        name
        for (name,) in db.execute("SELECT name FROM pragma_table_info('readings')")
        if name != "id"
    )
    for table, sql in (
        ("photos", "SELECT 9, sha256, 'x', 'x', 1, 'x' FROM photos"),
        ("charts", "SELECT 9, fingerprint, 'x', 'x', 'x' FROM charts"),
    ):
        with pytest.raises(sqlite3.IntegrityError, match="is never changed"):
            db.execute(f"INSERT OR REPLACE INTO {table} {sql}")
    with pytest.raises(sqlite3.IntegrityError, match="is never changed"):
        db.execute(
            f"INSERT OR REPLACE INTO readings (id, {columns}) "
            f"SELECT 9, {columns} FROM readings WHERE corrects IS NOT NULL"
        )


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO sites (name, latitude_deg, longitude_deg) VALUES ('N', 99, 0)",
        "INSERT INTO sites (name, latitude_deg) VALUES ('N', 9)",
        "INSERT INTO sites (name, elevation_m) VALUES ('N', 'high')",
        "INSERT INTO samples (label, kind) VALUES ('A', 'rock')",
        "INSERT INTO samples (label, kind, site) VALUES ('A', 'soil', 'Nowhere')",
        "INSERT INTO survey (only_one, id, name, created_at, software_version) "
        "VALUES (2, 'x', 'x', 'x', 'x')",
        "INSERT INTO photos (number, sha256, file, name, bytes, kept_at) "
        "VALUES (9, 'short', 'x', 'x', 1, 'x')",
    ],
)
def test_the_database_refuses_nonsense(db: sqlite3.Connection, statement: str) -> None:
    """Types, ranges and references hold for other programs too."""
    db.execute("PRAGMA foreign_keys = ON")
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(statement)
