"""A survey keeps what it is given and gives it back as it was."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.records.errors import RecordsError
from app.records.record_book import RecordBook, create_survey, open_survey
from app.survey.kept_reading import ReadingFilter
from app.survey.method import Method, Test
from app.survey.names import tidy_name
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site
from app.tube_reading import KnownTube, TubeEntry, TubeReading
from calibration.indicator import Analyte
from calibration.reading import Alternative, Reading
from tests.app.sample_surveys import CHART, LATER, NOW, make_line, make_lines, write_photo
from tests.calibration.sample_charts import boxes, charts, measurements, reasons

numbers = st.none() | st.floats(-1e6, 1e6)
shares = st.floats(0, 1)
texts = st.none() | st.text(max_size=30)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[RecordBook]:
    """Give an empty survey, open to write."""
    with create_survey(tmp_path / "survey", id="made-up", now=NOW, name="Spring") as made:
        yield made


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """Something that stands for a photo."""
    return write_photo(tmp_path)


def test_a_reading_comes_back_as_it_was(book: RecordBook, photo: Path) -> None:
    """Only the photo's folder is left behind; who, when and with what are kept."""
    known = (
        KnownTube(
            tube=2,
            value=7.0,
            label=None,
            uncertainty=0.02,
            analyte=Analyte(quantity="ph", unit="pH"),
        ),
    )
    lines = make_lines(photo, (6.1, None))
    ids = book.keep_readings(
        lines, "P1", NOW, known={str(photo.resolve()): known}, card_reflectance=(0.2, 0.2, 0.21)
    )
    assert ids == (1, 2)
    first, second = book.readings()
    assert first.line == replace(lines[0], photo="plot-7.jpg")
    assert second.line == replace(lines[1], photo="plot-7.jpg")
    assert (first.kept_at, first.kept_at.utcoffset()) == (NOW, timedelta(hours=2))
    assert (first.person, first.known) == ("P1", known)
    assert first.card_reflectance == (0.2, 0.2, 0.21)
    kept = book.photo_path(lines[0].sha256 or "")
    assert kept is not None
    assert kept.read_bytes() == photo.read_bytes()
    assert kept.suffix == ".jpg"


@settings(  # no deadline: every example waits for the disk
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None
)
@given(data=st.data())
def test_any_reading_comes_back_as_it_was(
    book: RecordBook, photo: Path, data: st.DataObject
) -> None:
    """Whatever numbers and texts it holds."""
    chart = data.draw(charts)
    status = data.draw(st.sampled_from(["accepted", "doubtful", "refused"]))
    reading = data.draw(
        st.builds(
            Reading,
            status=st.just(status),
            value=numbers,
            low=numbers,
            high=numbers,
            alternatives=st.lists(
                st.builds(
                    Alternative,
                    value=st.floats(-9, 9),
                    low=st.floats(-9, 9),
                    high=st.floats(-9, 9),
                    probability=shares,
                ),
                max_size=2,
            ).map(tuple),
            swatch=numbers,
            swatch_label=texts,
            confidence=st.none() | shares,
            probabilities=st.lists(shares, max_size=4).map(tuple),
            nearest_by_color=numbers,
            color_distance=numbers,
            curve_distance=numbers,
            largest_term=texts,
            reasons=st.lists(reasons, max_size=2).map(tuple),
            chart_id=st.sampled_from([chart.id, "e" * 32]),
        )
    )
    order = ("low", "value", "high")
    rising = iter(sorted(v for name in order if (v := getattr(reading, name)) is not None))
    reading = replace(
        reading, **{name: next(rising) for name in order if getattr(reading, name) is not None}
    )
    line = replace(
        make_line(photo),
        entry=TubeEntry(
            sample=data.draw(texts),
            replicate=data.draw(texts),
            chart=data.draw(texts),
            role=data.draw(st.sampled_from(["sample", "in_frame", "blank"])),
        ),
        chart=data.draw(st.sampled_from([chart, None])),
        reading=reading,
        measurement=data.draw(st.none() | measurements),
        box=data.draw(st.none() | boxes),
        card=data.draw(st.none() | boxes),
    )
    (number,) = book.keep_readings((line,), "P1", NOW)
    sample = tidy_name(line.entry.sample or "") or None
    expected = replace(line, photo=photo.name, entry=replace(line.entry, sample=sample))
    assert book.reading(number).line == expected


def test_a_number_that_is_not_finite_is_refused(book: RecordBook, photo: Path) -> None:
    """SQLite would keep it as nothing; and nothing of the batch is kept."""
    good, bad = make_lines(photo, (6.1, 6.2))
    bad = replace(bad, reading=replace(bad.reading, color_distance=float("nan")))
    with pytest.raises(ValueError, match="color_distance must be finite"):
        book.keep_readings((good, bad), "P1", NOW)
    assert book.count() == 0


def test_a_photo_that_is_gone_or_changed_keeps_nothing(book: RecordBook, photo: Path) -> None:
    """The readings of a photo are kept with it or not at all."""
    lines = make_lines(photo, (6.1,))
    photo.write_bytes(b"another photo")
    with pytest.raises(RecordsError, match="has changed since it was read"):
        book.keep_readings(lines, "P1", NOW)
    photo.unlink()
    with pytest.raises(RecordsError, match="not there any more"):
        book.keep_readings(lines, "P1", NOW)
    assert book.count() == 0
    assert list((book.folder / "photos").iterdir()) == []


def test_a_line_without_a_photo_is_kept(book: RecordBook) -> None:
    """An unreadable file is a record too."""
    line = TubeReading(
        photo="broken.jpg",
        tube=None,
        entry=TubeEntry(),
        chart=None,
        reading=make_line(write_photo(book.folder.parent), value=None).reading,
        measurement=None,
        box=None,
        card=None,
        sha256=None,
    )
    book.keep_readings((line,), "P1", NOW)
    assert book.readings()[0].line == line


def test_a_correction_takes_the_place_of_the_old_one(book: RecordBook, photo: Path) -> None:
    """The old one stays as it is and is found from the new one, and the other way round."""
    (line,) = make_lines(photo, (6.1,))
    book.keep_readings((line,), "P1", NOW)
    photo.unlink()  # a correction needs no second copy
    better = replace(line, entry=replace(line.entry, sample="B2"))
    number = book.correct(1, better, reason="bags swapped", person="P2", now=LATER)
    (standing,) = book.readings()
    assert (standing.id, standing.corrects, standing.correction) == (number, 1, "bags swapped")
    assert (standing.person, standing.kept_at) == ("P2", LATER)
    old, new = book.history(1)
    assert (old.id, old.corrected_by, old.stands) == (1, number, False)
    assert old.line.entry.sample == "A1"
    assert new.stands
    assert [kept.id for kept in book.history(number)] == [1, number]


def test_undo_and_redo_of_keeping(book: RecordBook, photo: Path) -> None:
    """Both write a row; nothing is ever taken away."""
    (line,) = make_lines(photo, (6.1,))
    book.keep_readings((line,), "P1", NOW)
    gone = book.withdraw(1, reason="undone", person="P1", now=NOW)
    assert book.readings() == ()
    assert book.count() == 0
    back = book.correct(gone, line, reason="done again", person="P1", now=NOW)
    assert [kept.id for kept in book.readings()] == [back]
    assert book.count(ReadingFilter(only_standing=False)) == 3
    assert [kept.withdrawn for kept in book.history(1)] == [False, True, False]


def test_a_correction_has_a_reason_and_an_open_target(book: RecordBook, photo: Path) -> None:
    """What cannot be corrected is said plainly."""
    (line,) = make_lines(photo, (6.1,))
    book.keep_readings((line,), "P1", NOW)
    with pytest.raises(RecordsError, match="needs a reason"):
        book.correct(1, line, reason="  ", person="P1", now=NOW)
    book.withdraw(1, reason="undone", person="P1", now=NOW)
    with pytest.raises(RecordsError, match="corrected already, by reading 2"):
        book.withdraw(1, reason="again", person="P1", now=NOW)
    with pytest.raises(RecordsError, match="no reading 99"):
        book.correct(99, line, reason="why", person="P1", now=NOW)


def test_a_correction_keeps_the_version_that_read_it(book: RecordBook, photo: Path) -> None:
    """Only a new reading is this version's."""
    (line,) = make_lines(photo, (6.1,))
    book.keep_readings((line,), "P1", NOW)
    first = book.reading(1)
    second = book.correct(1, line, reason="same", person="P1", now=NOW)
    assert book.reading(second).software_version == first.software_version


def test_each_state_of_a_chart_is_kept(book: RecordBook, photo: Path) -> None:
    """A chart that was changed under its id does not change old readings."""
    later = replace(CHART, name="Bench, June")
    book.keep_readings((make_line(photo), make_line(photo, chart=later)), "P1", NOW)
    assert [kept.line.chart for kept in book.readings()] == [CHART, later]
    assert {chart.name for chart in book.survey().charts} == {"Bench, May", "Bench, June"}


def test_filters_and_sorting(book: RecordBook, tmp_path: Path) -> None:
    """Every filter picks its own; pages follow each other; ties are in the order of keeping."""
    one, two = write_photo(tmp_path, "one.jpg", b"1"), write_photo(tmp_path, "two_x.jpg", b"2")
    nitrogen = replace(
        CHART, id="f" * 32, name="N", analyte=Analyte(quantity="nitrogen", unit="mg/kg")
    )
    book.add_sites([Site(name="North"), Site(name="South")], person="P1", now=NOW)
    book.add_samples(
        [Sample(label="A", site="North"), Sample(label="B", site="South")], person="P1", now=NOW
    )
    book.keep_readings((make_line(one, value=7.0, sample="B", tube=1),), "P1", NOW)
    book.keep_readings((make_line(one, value=5.0, sample="A", tube=2),), "P2", LATER)
    book.keep_readings(
        (
            make_line(two, value=6.0, sample="A", chart=nitrogen, status="doubtful"),
            make_line(two, value=None, sample=None, role="blank", replicate="50%"),
        ),
        "P1",
        LATER + timedelta(hours=1),
    )

    def ids(sort: str = "kept", descending: bool = False, **facts: object) -> list[int]:
        wanted = ReadingFilter(**facts)  # type: ignore[arg-type]
        found = book.readings(wanted, sort=sort, descending=descending)  # type: ignore[arg-type]
        assert book.count(wanted) == len(found)
        every = [kept.id for kept in book.each_reading(wanted)]
        assert sorted(kept.id for kept in found) == every
        return [kept.id for kept in found]

    assert ids() == [1, 2, 3, 4]
    assert ids(descending=True) == [4, 3, 2, 1]
    for sort in ("kept", "value"):
        assert ids(sort, sample="B") == [1]
        assert ids(sort, site="South") == [1]
        assert set(ids(sort, site="North")) == {2, 3}
        assert ids(sort, quantity="nitrogen") == [3]
        assert ids(sort, status="doubtful") == [3]
        assert ids(sort, role="blank") == [4]
        assert ids(sort, chart_id=nitrogen.id) == [3]
        assert ids(sort, person="P2") == [2]
        assert set(ids(sort, photo=make_line(two).sha256)) == {3, 4}
        assert set(ids(sort, text="TWO")) == {3, 4}
        assert ids(sort, text="0%") == [4]
        assert set(ids(sort, text="o_x")) == {3, 4}  # a plain character, no wildcard
        assert ids(sort, kept_from=LATER, kept_before=LATER + timedelta(minutes=1)) == [2]
        assert set(ids(sort, kept_from=LATER)) == {2, 3, 4}
        assert ids(sort, text="one", person="P2", site="North") == [2]
    assert ids("value") == [4, 2, 3, 1]
    assert ids("sample", descending=True) == [1, 3, 2, 4]
    assert ids("quantity") == [3, 1, 2, 4]
    assert [kept.id for kept in book.readings(sort="value", offset=1, limit=2)] == [2, 3]
    with pytest.raises(ValueError, match="sort must be"):
        book.readings(sort="color")  # type: ignore[arg-type]


def test_places_samples_and_tests(book: RecordBook, photo: Path) -> None:
    """They come back as they were, and a reading finds its test."""
    site = Site(name="Nördlich", latitude_deg=50.0, longitude_deg=8.0, crop="rye")
    sample = Sample(label="A1", site="Nördlich", taken_on=NOW.date(), taken_by="P3")
    method = Method(name="shake", ratio="1:5", settling_from_min=10.0, subtract_blank=True)
    test = Test(id="t1", sample="A1", quantity="ph", method="shake", shaken_at=NOW)
    value = KnownValue(
        sample="A1",
        quantity="ph",
        unit="pH",
        value=6.4,
        standard_uncertainty=0.02,
        source="electrode",
        noted_at=NOW,
        noted_by="P4",
    )
    book.add_sites([site], person="P1", now=NOW)
    book.add_samples([sample], person="P1", now=NOW)
    book.add_methods([method], person="P1", now=NOW)
    book.add_tests([test], person="P1", now=NOW)
    book.add_known_values([replace(value, value=9.9), value])
    book.keep_readings(make_lines(photo, (6.1,)), "P1", NOW)
    survey = book.survey()
    assert (survey.id, survey.name, survey.created_at) == ("made-up", "Spring", NOW)
    assert survey.sites == (site,)
    assert survey.samples == (sample,)
    assert survey.methods == (method,)
    assert survey.tests == (test,)
    assert survey.known_values == (value,)  # the newer one
    assert survey.charts == (CHART,)
    assert {person.code for person in survey.persons} == {"P1", "P3", "P4"}
    assert book.readings()[0].test == "t1"


def test_facts_are_changed_only_when_that_is_meant(book: RecordBook) -> None:
    """Adding the same table twice does no harm; a change is written down with what was before."""
    sites = [Site(name="North"), Site(name="South")]
    assert book.add_sites(sites, person="P1", now=NOW).new == 2
    again = book.add_sites(sites, person="P1", now=NOW)
    assert (again.new, again.same, again.changed) == (0, 2, 0)
    changed = [Site(name="North", crop="rye"), Site(name="East")]
    with pytest.raises(RecordsError, match="'North' is already in the survey with other facts"):
        book.add_sites(changed, person="P1", now=NOW)
    assert len(book.survey().sites) == 2
    added = book.add_sites(changed, person="P2", now=LATER, replace=True)
    assert (added.new, added.same, added.changed) == (1, 0, 1)
    event = next(event for event in book.events() if event.what == "site changed")
    assert (event.person, event.at, event.subject) == ("P2", LATER, "North")
    assert '"crop": null' in (event.before or "")
    assert '"crop": "rye"' in (event.after or "")


def test_what_is_pointed_to_must_be_there(book: RecordBook) -> None:
    """The error names what is missing, and nothing is added."""
    with pytest.raises(RecordsError, match="The site 'Nowhere' is not in the survey"):
        book.add_samples(
            [Sample(label="A"), Sample(label="B", site="Nowhere")], person="P1", now=NOW
        )
    with pytest.raises(RecordsError, match="The sample 'A' is there more than once"):
        book.add_samples([Sample(label="A"), Sample(label="A")], person="P1", now=NOW)
    assert book.survey().samples == ()


def test_what_is_in_use_cannot_be_removed(book: RecordBook, photo: Path) -> None:
    """A site without samples can, and the event says what it was."""
    site, spare = Site(name="North"), Site(name="Spare", crop="rye")
    book.add_sites([site, spare], person="P1", now=NOW)
    book.add_samples([Sample(label="A1", site="North")], person="P1", now=NOW)
    with pytest.raises(RecordsError, match="in use"):
        book.remove(site, person="P1", now=NOW)
    book.remove(spare, person="P1", now=NOW)
    assert book.survey().sites == (site,)
    assert book.events()[-1].what == "site removed"
    assert "rye" in (book.events()[-1].before or "")
    book.keep_readings(make_lines(photo, (6.1,)), "P1", NOW)
    with pytest.raises(RecordsError, match="in use"):
        book.remove(Sample(label="A1", site="North"), person="P1", now=NOW)
    with pytest.raises(RecordsError, match="not in the survey as it was"):
        book.remove(spare, person="P1", now=NOW)


def test_a_name_can_be_blanked(book: RecordBook, photo: Path) -> None:
    """Afterwards no file of the survey holds it, and the readings still know the code."""
    name = "Somebody Unmistakable"
    book.name_person("P1", name, person="P2", now=NOW)
    assert book.survey().persons[0].name == name
    book.keep_readings(make_lines(photo, (6.1,)), "P1", NOW)
    book.name_person("P1", None, person="P2", now=LATER)
    book.close()
    for path in book.folder.rglob("*"):
        assert path.is_dir() or name.encode() not in path.read_bytes()
    with open_survey(book.folder) as again:
        assert again.persons()[0].name is None
        assert again.readings()[0].person == "P1"


def test_a_second_connection_serves_a_task(book: RecordBook, photo: Path) -> None:
    """It may write too, and both see the same."""
    with book.open_again() as other:
        other.keep_readings(make_lines(photo, (6.1,)), "P1", NOW)
        assert book.count() == 1
        book.keep_readings(make_lines(photo, (6.2,)), "P1", NOW)
        assert other.count() == 2


def test_another_survey_is_merged(book: RecordBook, tmp_path: Path) -> None:
    """People, times and corrections come along; merging again brings only what is new."""
    photo = write_photo(tmp_path, "theirs.jpg", b"theirs")
    with create_survey(tmp_path / "other", id="other", now=NOW) as other:
        other.add_sites([Site(name="East")], person="P8", now=NOW)
        other.add_samples([Sample(label="E1", site="East")], person="P8", now=NOW)
        (line,) = (make_line(photo, sample="E1"),)
        other.keep_readings((line,), "P8", NOW)
        other.correct(1, make_line(photo, value=6.9), reason="outline", person="P9", now=LATER)
        photo.unlink()
        book.keep_readings((make_line(write_photo(tmp_path)),), "P1", NOW)
        merged = book.merge(other, person="P1", now=LATER)
        assert (merged.new, merged.same) == (2, 0)
        own, theirs = book.readings()
        assert theirs.line.reading.value == 6.9
        assert (theirs.person, theirs.kept_at, theirs.corrects) == ("P9", LATER, 2)
        assert (theirs.origin, own.origin) == ("other:2", None)
        assert book.check().is_sound
        merged = book.merge(other, person="P1", now=LATER)
        assert (merged.new, merged.same) == (0, 2)
        merged = other.merge(book, person="P8", now=LATER)  # ours go there, theirs stay
        assert (merged.new, merged.same) == (1, 2)
    book.backup(tmp_path / "copy")
    with open_survey(tmp_path / "copy") as copy, pytest.raises(RecordsError, match="a copy of"):
        book.merge(copy, person="P1", now=LATER)


def test_samples_of_one_name_and_other_facts_are_not_mixed(
    book: RecordBook, tmp_path: Path
) -> None:
    """Two soils with the same label stay apart."""
    book.add_samples([Sample(label="A1", notes="ours")], person="P1", now=NOW)
    with create_survey(tmp_path / "other", id="other", now=NOW) as other:
        other.add_samples([Sample(label="A1", notes="theirs")], person="P1", now=NOW)
        with pytest.raises(RecordsError, match="other facts"):
            book.merge(other, person="P1", now=NOW)


def test_moments_need_their_offset(book: RecordBook, photo: Path) -> None:
    """A time without a zone is a programmer's mistake."""
    with pytest.raises(ValueError, match="offset"):
        book.keep_readings(make_lines(photo, (6.1,)), "P1", datetime(2026, 1, 1))
    book.keep_readings(make_lines(photo, (6.1,)), "P1", datetime(2026, 1, 1, tzinfo=UTC))
