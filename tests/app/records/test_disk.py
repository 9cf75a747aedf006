"""A full disk is said plainly, and nothing is half written."""

import os
from pathlib import Path

import pytest

from app.records.errors import NoRoomError
from app.records.record_book import create_survey, open_survey
from tests.app.sample_surveys import NOW, make_lines, write_photo


def test_a_full_database_keeps_nothing_of_a_batch(tmp_path: Path) -> None:
    """The error comes from SQLite itself, at its limit of pages."""
    photo = write_photo(tmp_path)
    with create_survey(tmp_path / "survey", id="s", now=NOW) as book:
        book.keep_readings(make_lines(photo, (6.0,)), "P1", NOW)
        (pages,) = book._db.execute("PRAGMA page_count").fetchone()
        book._db.execute(f"PRAGMA max_page_count = {pages + 20}")
        with pytest.raises(NoRoomError, match="is full") as caught:
            book.keep_readings(make_lines(photo, [6.0] * 500), "P1", NOW)
        assert "nothing of it was kept" in caught.value.what_to_do
        assert book.count() == 1
        book._db.execute("PRAGMA max_page_count = 1000000")
        book.keep_readings(make_lines(photo, (6.0, 6.1)), "P1", NOW)  # there is room again
        assert book.count() == 3
        assert book.check().is_sound


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs limits of POSIX")
def test_a_photo_that_does_not_fit_keeps_nothing(tmp_path: Path) -> None:
    """The system's own limit of a file's size stops the copy; no piece of it stays."""
    import resource

    photo = write_photo(tmp_path, content=b"x" * 3_000_000)
    create_survey(tmp_path / "survey", id="s", now=NOW).close()
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    with open_survey(tmp_path / "survey") as book:
        resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, limits[1]))
        try:
            with pytest.raises(NoRoomError):
                book.keep_readings(make_lines(photo, (6.0,)), "P1", NOW)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        assert book.count() == 0
        assert list((book.folder / "photos").iterdir()) == []
        book.keep_readings(make_lines(photo, (6.0,)), "P1", NOW)
        assert book.check().is_sound
