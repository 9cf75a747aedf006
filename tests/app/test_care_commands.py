"""Surveys from the command line: corrected, traced, checked, backed up, merged, compared."""

import csv
import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import load_workbook
from PIL import Image

import sample_images
from app.records.record_book import EVERYTHING, create_survey, open_survey
from app.survey.sample import Sample
from app.survey.site import Site
from app.tasks.read_photo import ReadOrder, read_scene
from app.terminal.words import DONE, SOME_REFUSED, STOPPED
from app.tube_reading import TubeReading
from calibration.chart_file import load_chart
from colorcore.hand_outlines import HandOutlines, HandTube
from colorcore.photo import read_photo
from colorcore.scene import look
from tests.app.conftest import Commands
from tests.app.sample_surveys import NOW, make_line, write_photo

PHOTO = Path(sample_images.__file__).parent / "survey" / "plot-a-morning.jpg"


@pytest.fixture
def survey(tmp_path: Path, tintwell: Commands) -> Path:
    """Give a survey with three readings of one photo, in the folder where commands are typed."""
    make_survey(tmp_path / "spring", "s", *lines(tmp_path))
    return tmp_path / "spring"


def lines(folder: Path) -> tuple[TubeReading, ...]:
    """Make three lines."""
    photo = write_photo(folder)
    return tuple(make_line(photo, value=6 + i / 10, tube=i + 1) for i in range(3))


def make_survey(folder: Path, ident: str, *kept: TubeReading, person: str = "P1") -> None:
    """Make a survey of one site and keep lines in it."""
    with create_survey(folder, id=ident, now=NOW) as book:
        book.add_sites([Site(name="North")], person=person, now=NOW)
        book.add_samples([Sample(label="A1", site="North")], person=person, now=NOW)
        book.keep_readings(kept, person, NOW)


def test_a_wrong_label_is_corrected_and_the_old_reading_stays(
    tintwell: Commands, survey: Path
) -> None:
    """With reason and person; the history tells both, and a second correction is refused."""
    words = ("correct", "spring", "1", "--sample", "B 7", "--reason", "other bag", "--person", "P2")
    code, out, _ = tintwell(*words)
    assert (code, "Reading 4 takes the place of 1: sample 'B 7', pH 6.0" in out) == (DONE, True)
    code, out, _ = tintwell("history", "spring", "1")
    assert code == DONE
    old, new = out.split("\n\n")
    assert old.startswith("Reading 1 (no longer stands)")
    assert new.startswith("Reading 4, in the place of 1")
    assert "why             other bag" in new
    assert "by P2" in new
    for fact in ("fingerprint", "plot-7.jpg, tube 1", "Bench, May", "s001.jpg", "L*a*b*"):
        assert fact in old
    code, _, err = tintwell(*words)
    assert (code, "corrected already, by reading 4" in err) == (STOPPED, True)
    with open_survey(survey, readonly=True) as book:
        assert {kept.line.entry.sample for kept in book.readings()} == {"A1", "B 7"}
        assert book.reading(1).line.entry.sample == "A1"


def test_what_is_wrong_with_a_correction_is_said(tintwell: Commands, survey: Path) -> None:
    """Nothing to correct, both kinds at once, no such reading, no reason."""
    reason = ("--reason", "x")
    assert "not said what" in tintwell("correct", "spring", "1", *reason)[2]
    both = ("--sample", "B", "--chart", "ph.json")
    assert "not said what" in tintwell("correct", "spring", "1", *both, *reason)[2]
    assert "says so already" in tintwell("correct", "spring", "1", "--sample", "A1", *reason)[2]
    assert "no reading 9" in tintwell("withdraw", "spring", "9", *reason)[2]
    assert "needs a reason" in tintwell("withdraw", "spring", "1", "--reason", " ")[2]
    with open_survey(survey, readonly=True) as book:
        assert book.count(EVERYTHING) == 3


def test_a_tube_is_read_again_from_its_kept_photo(tintwell: Commands, tmp_path: Path) -> None:
    """On a chart of its own; the photo that was read may be long gone."""
    copy = shutil.copy(PHOTO, tmp_path / "field.jpg")
    kept = replace(make_line(Path(copy), value=1.0, tube=1), box=None)
    make_survey(tmp_path / "spring", "s", kept)
    Path(copy).unlink()
    make_ph_chart(tintwell)
    code, out, _ = tintwell("correct", "spring", "1", "--chart", "ph.json", "--reason", "new chart")
    assert (code, "Reading 2 takes the place of 1: sample 'A1', pH 6." in out) == (DONE, True)
    with open_survey(tmp_path / "spring", readonly=True) as book:
        new = book.reading(2)
        assert (new.line.photo, new.corrects) == ("field.jpg", 1)
        assert new.line.chart is not None
        assert new.line.chart.name == "ph"
        assert book.check().is_sound


def test_a_tube_is_read_again_where_it_was_drawn(tintwell: Commands, tmp_path: Path) -> None:
    """Regions, card and count of the tubes are those that the user drew; else it is refused."""
    make_ph_chart(tintwell)
    chart = load_chart(tmp_path / "ph.json")
    order = ReadOrder(charts=(("ph", chart),), entries={}, known={})
    photo = read_photo(PHOTO)
    scene = look(photo)
    assert scene.card is not None
    (x, y), *_ = scene.card.outline_px
    corner = ((x + 9, y + 9), (x + 40, y + 9), (x + 40, y + 40), (x + 9, y + 40))
    hand = HandOutlines(card=corner, tubes=(HandTube(found=2, region=None),))
    (line,) = read_scene(photo, str(PHOTO), look(photo, hand), order)
    assert line.reading.value is not None
    beside = HandOutlines(card=tuple((x + 9000, y) for x, y in corner))  # type: ignore[arg-type]
    make_survey(
        tmp_path / "spring", "s", line, replace(line, hand=None), replace(line, hand=beside)
    )
    words = ("correct", "spring", "1", "--chart", "ph.json", "--reason", "again")
    assert tintwell(*words)[0] == DONE
    with open_survey(tmp_path / "spring", readonly=True) as book:
        again = book.reading(4).line
    assert (again.reading, again.hand) == (line.reading, hand)
    code, _, err = tintwell("correct", "spring", "2", *words[3:])
    assert (code, "was not found in its place" in err) == (STOPPED, True)
    code, _, err = tintwell("correct", "spring", "3", *words[3:])
    assert (code, "do not lie in it" in err) == (STOPPED, True)
    facts = tintwell("history", "spring", "4")[1].splitlines()
    assert any("grey card" in fact and "drawn by hand" in fact for fact in facts)


def make_ph_chart(tintwell: Commands) -> None:
    """Calibrate the sample pH chart, as ph.json."""
    standards = str(PHOTO.parent.parent / "ph" / "standards.csv")
    assert tintwell("calibrate", standards, "-o", "ph.json", "--quantity", "ph")[0] == DONE


def test_a_withdrawn_reading_counts_no_more(tintwell: Commands, survey: Path) -> None:
    """It stays, with the row that says why."""
    assert tintwell("withdraw", "spring", "2", "--reason", "spilt")[0] == DONE
    with open_survey(survey, readonly=True) as book:
        assert book.count() == 2
        assert book.reading(4).correction == "spilt"


def test_a_damaged_photo_is_named(tintwell: Commands, survey: Path) -> None:
    """By the name it had; a sound survey is said to be sound."""
    code, out, _ = tintwell("check", "spring")
    assert (code, "sound: 3 standing readings" in out) == (DONE, True)
    (photo,) = (survey / "photos").iterdir()
    photo.write_bytes(b"other")
    code, out, _ = tintwell("check", "spring")
    assert (code, "The photo plot-7.jpg is damaged" in out) == (SOME_REFUSED, True)
    photo.unlink()
    assert "is missing" in tintwell("check", "spring")[1]


def test_backup_and_restore(tintwell: Commands, survey: Path) -> None:
    """A copy that opens, made while the survey is in use; nothing is written over."""
    with open_survey(survey):
        assert tintwell("backup", "spring", "-o", "kept")[0] == DONE
    code, out, _ = tintwell("restore", "kept", "-o", "again", "--person", "P2")
    assert (code, "3 standing readings" in out) == (DONE, True)
    assert tintwell("check", "again")[0] == DONE
    for words in (("backup", "spring", "-o", "kept"), ("restore", "kept", "-o", "again")):
        code, _, err = tintwell(*words)
        assert (code, "already" in err) == (STOPPED, True)


def test_readings_of_another_survey(tintwell: Commands, survey: Path) -> None:
    """Taken over once, with photos and persons; other facts of the same name stop it."""
    folder = survey.parent
    other = make_line(write_photo(folder, "other.jpg", b"another"), sample="A1", value=7.0)
    make_survey(folder / "theirs", "t", other, person="P9")
    code, out, _ = tintwell("merge", "spring", "theirs")
    assert (code, out) == (DONE, "1 row taken over from theirs.\n")
    assert (
        "0 rows taken over from theirs, 1 there already" in tintwell("merge", "spring", "theirs")[1]
    )
    with open_survey(survey, readonly=True) as book:
        assert [kept.person for kept in book.readings()] == ["P1"] * 3 + ["P9"]
        assert book.check().is_sound
    with open_survey(folder / "theirs") as book:
        changed = [Site(name="North", crop="rye")]
        book.add_sites(changed, person="P9", now=NOW, replace=True)
    code, _, err = tintwell("merge", "spring", "theirs")
    assert (code, "'North' is already in the survey with other facts" in err) == (STOPPED, True)
    assert "copy of the same survey" in tintwell("merge", "spring", "spring")[2]


def test_a_name_is_given_and_blanked(tintwell: Commands, survey: Path) -> None:
    """Readings know the code alone."""
    assert tintwell("name", "spring", "P1", "Ada Invented")[0] == DONE
    assert tintwell("name", "spring", "P1", "--blank")[0] == DONE
    assert tintwell("name", "spring", "P1")[0] == STOPPED
    with open_survey(survey, readonly=True) as book:
        (name,) = (person.name for person in book.persons() if person.code == "P1")
    assert name is None
    assert b"Ada Invented" not in (survey / "survey.sqlite").read_bytes()


def test_methods_tests_and_known_values_from_tables(tintwell: Commands, survey: Path) -> None:
    """A column that is called otherwise is named by the user; adding again changes nothing."""
    (survey.parent / "m.csv").write_text("way,ratio\nshake,1:5\n", encoding="utf-8")
    code, _, err = tintwell("add", "spring", "methods", "m.csv")
    assert (code, "no column for the name" in err) == (STOPPED, True)
    assert tintwell("add", "spring", "methods", "m.csv", "--column", "name=way")[0] == DONE
    (survey.parent / "t.csv").write_text("sample,quantity,method\nA1,pH,shake\n", encoding="utf-8")
    assert "1 test added" in tintwell("add", "spring", "tests", "t.csv")[1]
    (survey.parent / "k.csv").write_text(
        "sample,quantity,value,source\nA1,pH,6.1,electrode\n", encoding="utf-8"
    )
    assert "1 known value added" in tintwell("add", "spring", "known", "k.csv")[1]
    assert "0 known values added, 1 there already" in tintwell("add", "spring", "known", "k.csv")[1]
    with open_survey(survey, readonly=True) as book:
        found = book.survey()
    assert (found.methods[0].ratio, found.tests[0].method) == ("1:5", "shake")
    assert found.known_values[0].value == 6.1
    code, _, err = tintwell("add", "spring", "methods", "m.csv", "--column", "way")
    assert (code, "which column is what" in err) == (STOPPED, True)


def test_photos_find_their_samples(tintwell: Commands, survey: Path) -> None:
    """By name, into a sheet that read takes; what was not found is said."""
    for name in ("a1_1.jpg", "a1_2.jpg", "b2_1.jpg"):
        write_photo(survey.parent, name)
    words = (
        "match",
        "spring",
        "a1_1.jpg",
        "a1_2.jpg",
        "b2_1.jpg",
        "--names",
        "{sample}_{replicate}",
    )
    code, out, err = tintwell(*words, "-o", "tubes.csv", "--tubes", "2")
    assert code == SOME_REFUSED
    assert out == "a1_1.jpg: A1, 1\na1_2.jpg: A1, 2\n"
    assert "b2_1.jpg: no sample, its name holds no known label" in err
    with (survey.parent / "tubes.csv").open(encoding="utf-8", newline="") as file:
        rows = [(r["photo"], r["tube"], r["sample"], r["replicate"]) for r in csv.DictReader(file)]
    assert rows[:2] == [("a1_1.jpg", "1", "A1", "1.1"), ("a1_1.jpg", "2", "A1", "1.2")]
    assert tintwell(*words, "-o", "tubes.csv")[0] == STOPPED  # it is there already
    assert tintwell(*words, "--by-time")[0] == STOPPED
    assert "placed" not in err


def test_places_of_photos_only_when_asked(tintwell: Commands, survey: Path) -> None:
    """A site without a position gets that of its photos; otherwise nobody looks at it."""
    picture = Image.new("RGB", (64, 48), (120, 120, 120))
    exif = picture.getexif()
    exif[0x8825] = {1: "N", 2: (50.0, 15.0, 0.0), 3: "W", 4: (8.0, 30.0, 0.0)}  # the GPS directory
    picture.save(survey.parent / "a1.jpg", exif=exif)
    words = ("match", "spring", "a1.jpg")
    assert tintwell(*words)[0] == DONE
    with open_survey(survey, readonly=True) as book:
        assert book.survey().sites[0].latitude_deg is None
    code, _, err = tintwell(*words, "--sites-from-photos", "--person", "P2")
    assert (code, "1 site placed" in err) == (DONE, True)
    with open_survey(survey, readonly=True) as book:
        (site,) = book.survey().sites
        assert (site.latitude_deg, site.longitude_deg) == (50.25, -8.5)
        assert book.events()[-1].person == "P2"


def test_groups_of_a_class(tintwell: Commands, survey: Path) -> None:
    """Spread between groups and who stands apart; without shared samples it says how to."""
    assert "two or more people" in tintwell("groups", "spring")[1]
    photo = survey.parent / "plot-7.jpg"
    with open_survey(survey) as book:
        for number, value in enumerate((6.1, 6.12, 6.08, 6.1, 6.11, 8.0), start=2):
            line = make_line(photo, value=value, tube=number + 10)
            book.keep_readings((line,), f"G{number}", NOW)
    code, out, _ = tintwell("groups", "spring")
    assert code == DONE
    assert "G7 (8)" in out.splitlines()[1]


def test_exports_with_pictures_and_marks(tintwell: Commands, tmp_path: Path) -> None:
    """Thumbnails of the tubes, the mark of UTF-8; each only where it can be."""
    make_survey(tmp_path / "spring", "s", make_line(Path(shutil.copy(PHOTO, tmp_path)), tube=1))
    assert tintwell("export", "spring", "-o", "a.xlsx", "--thumbnails")[0] == DONE
    assert len(load_workbook(tmp_path / "a.xlsx")["readings"]._images) == 1  # type: ignore[attr-defined]
    assert tintwell("export", "spring", "-o", "a.csv", "--bom")[0] == DONE
    assert (tmp_path / "a.csv").read_bytes().startswith(b"\xef\xbb\xbf")
    for words in (("-o", "b.csv", "--thumbnails"), ("-o", "b.xlsx", "--bom")):
        assert tintwell("export", "spring", *words)[0] == STOPPED


def test_what_is_there_is_replaced_only_when_asked(tintwell: Commands, survey: Path) -> None:
    """Exports and reports alike."""
    for command, name in (("export", "a.geojson"), ("report", "a.html")):
        (survey.parent / name).write_text("mine")
        code, _, err = tintwell(command, "spring", "-o", name)
        assert (code, "--replace" in err) == (STOPPED, True)
        assert (survey.parent / name).read_text() == "mine"
        assert tintwell(command, "spring", "-o", name, "--replace")[0] == DONE
    assert json.loads((survey.parent / "a.geojson").read_text())["type"] == "FeatureCollection"


def test_reports(tintwell: Commands, survey: Path, qapp: object) -> None:
    """As a page and on paper; an ending that says nothing is refused."""
    code, out, _ = tintwell("report", "spring", "-o", "a.html")
    assert (code, "Wrote the report to a.html" in out) == (DONE, True)
    assert "3 readings" in (survey.parent / "a.html").read_text(encoding="utf-8")
    code, out, _ = tintwell("report", "spring", "-o", "a.pdf", "--paper", "letter")
    assert (code, "pages to a.pdf" in out) == (DONE, True)
    assert tintwell("report", "spring", "-o", "a.doc")[0] == STOPPED
    assert tintwell("report", "spring", "-o", "b.html", "--crop", "tomato")[0] == STOPPED
