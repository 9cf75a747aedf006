"""Checks name what is wrong; backups are whole surveys; restoring brings all of it back."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from app.records.errors import RecordsDamagedError, RecordsError
from app.records.record_book import RecordBook, create_survey, open_survey, restore_survey
from app.survey.kept_reading import ReadingFilter
from tests.app.sample_surveys import LATER, NOW, make_line, write_photo


@pytest.fixture
def book(tmp_path: Path) -> Iterator[RecordBook]:
    """Give a survey of three photos, open to write."""
    with create_survey(tmp_path / "survey", id="s", now=NOW) as made:
        lines = [
            make_line(write_photo(tmp_path, f"{name}.jpg", name.encode() * 1000))
            for name in ("one", "two", "three")
        ]
        made.keep_readings(lines, "P1", NOW)
        made.withdraw(3, reason="undone", person="P1", now=NOW)
        yield made


def shelved(book: RecordBook, number: int) -> Path:
    """Return the file of a reading's photo."""
    path = book.photo_path(book.reading(number).line.sha256 or "")
    assert path is not None
    return path


def test_a_sound_survey(book: RecordBook) -> None:
    """Every photo is a step, and nothing is found."""
    work, steps = book.checking(), []
    while True:
        try:
            steps.append(next(work))
        except StopIteration as end:
            health = end.value
            break
    assert steps == [(1, 3, "one.jpg"), (2, 3, "three.jpg"), (3, 3, "two.jpg")]
    assert health.is_sound
    assert health.unused == ()


def test_damaged_missing_and_unused_photos_are_named(book: RecordBook) -> None:
    """By the names the user gave them."""
    shelved(book, 1).write_bytes(b"one" * 999 + b"0ne")
    shelved(book, 2).unlink()
    (book.folder / "photos" / "stray.jpg").write_bytes(b"x")
    health = book.check()
    assert not health.is_sound
    assert [(fault.name, fault.what) for fault in health.photos] == [
        ("one.jpg", "damaged"),
        ("two.jpg", "missing"),
    ]
    assert health.unused == ("stray.jpg",)
    assert health.database == ()


def test_a_lost_photo_comes_back_when_it_is_kept_again(book: RecordBook, tmp_path: Path) -> None:
    """Keeping another reading of the same photo fills the gap."""
    shelved(book, 2).unlink()
    book.keep_readings([make_line(tmp_path / "two.jpg")], "P1", NOW)
    assert book.check().is_sound


def test_guards_that_were_taken_away_are_named(book: RecordBook) -> None:
    """So are rows that name what is not there, lost details and charts that were changed."""
    book.close()
    with closing(sqlite3.connect(book.folder / "survey.sqlite")) as db, db:
        db.execute("DROP TRIGGER readings_never_changed")
        db.execute("DROP TRIGGER charts_never_changed")
        db.execute("DROP TRIGGER reading_details_never_deleted")
        db.execute("UPDATE readings SET value = 9, chart = 77 WHERE id = 1")
        db.execute("UPDATE charts SET text = replace(text, '5.0', '5.5')")
        db.execute("DELETE FROM reading_details WHERE reading = 2")
    with open_survey(book.folder) as again:
        said = " ".join(again.check().database)
    assert "lacks readings_never_changed" in said
    assert "Row 1 of readings names a row of charts that is not there" in said
    assert "1 readings have lost their details" in said
    assert "The chart 'Bench, May' is not as it was kept" in said


def test_a_torn_database_is_said_to_be_damaged(book: RecordBook) -> None:
    """Pages of zeros in the middle are found, at opening or by the check."""
    book.close()
    path = book.folder / "survey.sqlite"
    content = bytearray(path.read_bytes())
    content[8192:40960] = bytes(40960 - 8192)
    path.write_bytes(content)
    assert is_found_out(book.folder)


def is_found_out(folder: Path) -> bool:
    """Whether opening or checking a survey shows that it is damaged."""
    try:
        with open_survey(folder) as again:
            return not again.check().is_sound
    except RecordsDamagedError:
        return True


@pytest.mark.parametrize(
    ("table", "change"),
    [
        ("reading_details", "measurement = '{}' WHERE reading = 2"),
        ("readings", "color_distance = 9e999 WHERE id = 2"),  # infinite
        ("readings", "low = 99 WHERE id = 2"),
        (
            "reading_details",
            """measurement = '{"lab": ["red", 0, 0], "box": [0, 0, 1, 1]}' WHERE reading = 2""",
        ),
    ],
)
def test_a_row_that_cannot_be_right_is_named(book: RecordBook, table: str, change: str) -> None:
    """Somebody changed it by hand; the error says which one."""
    book.close()
    with closing(sqlite3.connect(book.folder / "survey.sqlite")) as db, db:
        db.execute(f"DROP TRIGGER {table}_never_changed")
        db.execute(f"UPDATE {table} SET {change}")
    with open_survey(book.folder) as again:
        assert again.reading(1).id == 1
        with pytest.raises(RecordsDamagedError, match="Reading 2 of the survey cannot be right"):
            again.readings()


def test_a_backup_is_a_survey(book: RecordBook, tmp_path: Path) -> None:
    """It opens by itself, holds every photo, and is not written over."""
    target = tmp_path / "backup"
    assert book.backup(target) == ()
    with open_survey(target) as copy:
        everything = ReadingFilter(only_standing=False)
        assert copy.readings(everything) == book.readings(everything)
        assert copy.survey() == book.survey()
        assert copy.check().is_sound
    with pytest.raises(RecordsError, match="already"):
        book.backup(target)


def test_a_backup_names_the_photos_it_lacks(book: RecordBook, tmp_path: Path) -> None:
    """It is made all the same."""
    shelved(book, 1).write_bytes(b"other bytes")
    (fault,) = book.backup(tmp_path / "backup")
    assert (fault.name, fault.what) == ("one.jpg", "damaged")
    with open_survey(tmp_path / "backup") as copy:
        assert [fault.what for fault in copy.check().photos] == ["missing"]


def test_a_backup_that_is_stopped_leaves_nothing(book: RecordBook, tmp_path: Path) -> None:
    """Neither a folder nor a part of one."""
    before = set(tmp_path.iterdir())
    work = book.backing_up(tmp_path / "backup")
    next(work)
    work.close()
    assert set(tmp_path.iterdir()) == before


def test_restoring(book: RecordBook, tmp_path: Path) -> None:
    """The backup stays as it is, and the event is written down."""
    book.backup(tmp_path / "backup")
    with restore_survey(tmp_path / "backup", tmp_path / "new", person="P2", now=LATER) as restored:
        assert restored.readings() == book.readings()
        assert restored.check().is_sound
        assert restored.events()[-1].what == "restored"
    with pytest.raises(RecordsError, match="already"):
        restore_survey(tmp_path / "backup", tmp_path / "new", person="P2", now=LATER)
    with pytest.raises(RecordsError, match="no survey"):
        restore_survey(tmp_path / "nowhere", tmp_path / "x", person="P2", now=LATER)
