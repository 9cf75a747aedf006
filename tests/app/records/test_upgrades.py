"""Old surveys open for ever, newer ones are refused, and an upgrade is whole or not at all."""

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.records import upgrades
from app.records.connection import connect
from app.records.errors import RecordsDamagedError, RecordsError, RecordsTooNewError
from app.records.record_book import create_survey, open_survey
from app.survey.kept_reading import ReadingFilter
from tests.app.sample_surveys import NOW, make_lines, write_photo

REAL = upgrades.UPGRADES
COPY = "survey before upgrade from format 1.sqlite"


def add_slope(db: sqlite3.Connection) -> None:
    """Stand for a step that a later version may bring: one more fact of a site."""
    db.execute("ALTER TABLE sites ADD COLUMN slope_percent REAL")
    db.execute("UPDATE sites SET slope_percent = 5")


def fail(db: sqlite3.Connection) -> None:
    """Stand for a step that goes wrong after it has changed something."""
    db.execute("ALTER TABLE sites ADD COLUMN other TEXT")
    db.execute("SELECT * FROM a_table_that_is_not_there")


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """Give the survey that the first version wrote."""
    folder = tmp_path / "old"
    (folder / "photos").mkdir(parents=True)
    script = (Path(__file__).parent / "format_1.sql").read_text(encoding="utf-8")
    with closing(sqlite3.connect(folder / "survey.sqlite")) as db:
        db.executescript(script)
        (file,) = db.execute("SELECT file FROM photos").fetchone()
    (folder / "photos" / file).write_bytes(b"a photo")
    return folder


def columns_of_sites(folder: Path) -> list[str]:
    """Return the columns that the database has for a site."""
    with closing(sqlite3.connect(folder / "survey.sqlite")) as db:
        return [name for (name,) in db.execute("SELECT name FROM pragma_table_info('sites')")]


def test_a_survey_of_format_1_opens(old: Path) -> None:
    """Everything in it is still understood."""
    with open_survey(old) as book:
        assert book.check().is_sound
        survey = book.survey()
        assert survey.name == "Spring on the north field"
        assert [site.name for site in survey.sites] == ["North", "Plan"]
        assert survey.sites[0].latitude_deg == 50.25
        assert survey.samples[0].taken_by == "P2"
        assert survey.methods[0].subtract_blank
        assert survey.tests[0].indicator_batch == "B12"
        assert survey.known_values[0].value == 7.0
        assert [person.name for person in survey.persons] == [None, "Sample Taker"]
        standing, refused = sorted(book.readings(), key=lambda kept: -kept.id)
        assert (standing.line.reading.value, standing.correction) == (6.15, "outline moved")
        assert refused.line.reading.status == "refused"
        assert standing.kept_at == datetime(2026, 5, 2, 8, tzinfo=UTC)
        assert standing.known[0].value == 7.0
        assert standing.line.chart is not None
        assert standing.line.chart.name == "Bench, May"
        assert standing.line.measurement is not None
        assert standing.line.measurement.box == (10.5, 20.0, 30.0, 80.0)
        assert standing.line.hand is None
        assert book.count(ReadingFilter(only_standing=False)) == 5
        assert "sites added" in {event.what for event in book.events()}


def test_an_old_survey_is_upgraded_after_a_copy(
    old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copy is the survey as it was; what was kept is kept on."""
    with open_survey(old, readonly=True) as book:
        before = book.readings()
    monkeypatch.setattr(upgrades, "UPGRADES", (*REAL, add_slope))
    with open_survey(old) as book:
        assert book.upgraded_from == 1
        assert book.readings() == before
        assert book.check().is_sound  # as a new survey of the newest format would be
        book.keep_readings(make_lines(write_photo(tmp_path), (6.0,)), "P1", NOW)
    with open_survey(old) as book:
        assert book.upgraded_from is None
    assert "slope_percent" in columns_of_sites(old)
    with closing(sqlite3.connect(old / COPY)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (1,)
        assert db.execute("SELECT count(*) FROM readings").fetchone() == (5,)
    with create_survey(tmp_path / "new", id="n", now=NOW) as book:
        assert book.check().is_sound
    assert "slope_percent" in columns_of_sites(tmp_path / "new")


def test_ground_under_suspicion_stays_so(old: Path, tmp_path: Path) -> None:
    """What the land use said in words becomes a mark; a new survey knows of no suspicion."""
    with closing(sqlite3.connect(old / "survey.sqlite")) as db, db:
        db.execute("UPDATE sites SET land_use = 'Suspected Contamination' WHERE name = 'Plan'")
    with open_survey(old) as book:
        assert book.upgraded_from == 1
        assert [site.suspected_contamination for site in book.survey().sites] == [None, True]
        assert book.survey().suspected_contamination is None
        book.suspect_contamination(True, person="P1", now=NOW)
        assert book.survey().suspected_contamination is True
        assert "contamination suspected" in {event.what for event in book.events()}
    with create_survey(tmp_path / "new", id="n", now=NOW) as book:
        assert book.survey().suspected_contamination is None
        with open_survey(old, readonly=True) as other:
            book.merge(other, person="P1", now=NOW)
        assert book.survey().suspected_contamination is True


def test_a_second_upgrade_keeps_the_first_copy(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Copies are numbered."""
    (old / COPY).write_bytes(b"the first copy")
    monkeypatch.setattr(upgrades, "UPGRADES", (*REAL, add_slope))
    open_survey(old).close()
    assert (old / COPY).read_bytes() == b"the first copy"
    assert (old / "survey before upgrade from format 1 (2).sqlite").exists()


def test_an_upgrade_that_fails_changes_nothing(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not even what its first steps did."""
    monkeypatch.setattr(upgrades, "UPGRADES", (*REAL, add_slope, fail))
    with pytest.raises(RecordsError):
        open_survey(old)
    assert "slope_percent" not in columns_of_sites(old)
    monkeypatch.setattr(upgrades, "UPGRADES", REAL)
    with open_survey(old) as book:
        assert book.is_writable
        assert book.check().is_sound


def test_an_upgrade_that_leaves_loose_ends_is_refused(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A step that takes away what others point to is undone."""
    loose = (*REAL, lambda db: db.execute("DELETE FROM sites"))
    monkeypatch.setattr(upgrades, "UPGRADES", loose)
    with pytest.raises(RecordsDamagedError, match="point nowhere"):
        open_survey(old)
    monkeypatch.setattr(upgrades, "UPGRADES", REAL)
    with open_survey(old) as book:
        assert len(book.survey().sites) == 2


def test_an_old_survey_is_read_without_touching_it(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A private copy is upgraded and read."""
    content = (old / "survey.sqlite").read_bytes()
    monkeypatch.setattr(upgrades, "UPGRADES", (*REAL, add_slope))
    with open_survey(old, readonly=True) as book:
        assert len(book.readings()) == 2
        assert book.upgraded_from == 1
        assert book.check().is_sound
    assert (old / "survey.sqlite").read_bytes() == content
    assert not (old / COPY).exists()


@pytest.mark.parametrize("readonly", [True, False])
def test_a_newer_survey_is_refused_politely(old: Path, readonly: bool) -> None:
    """And is not touched."""
    with closing(connect(old / "survey.sqlite", "rw")) as db:
        db.execute("PRAGMA user_version = 99")
    content = (old / "survey.sqlite").read_bytes()
    with pytest.raises(RecordsTooNewError, match="newer version") as caught:
        open_survey(old, readonly=readonly)
    assert "format 99" in caught.value.what_happened
    assert "Update the program" in caught.value.what_to_do
    assert (old / "survey.sqlite").read_bytes() == content
