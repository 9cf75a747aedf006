"""Known ways to attack a program through its files: each is refused in words, or does nothing."""

import json
import locale
import os
import sqlite3
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from app.records.record_book import open_survey
from app.tasks.desk_file import DeskFileError, load_desk
from app.tasks.draft_file import load_draft
from app.tasks.plan_file import copy_plan, load_plan, save_plan
from app.terminal.words import DONE, SOME_REFUSED, STOPPED
from calibration.chart_file import chart_text
from colorcore.errors import TintwellError
from tests.app.conftest import Commands, tintwell
from tests.app.sample_surveys import CHART

__all__ = ["tintwell"]  # the fixture of the commands' tests

ESCAPE = "\x1b]0;owned\x07\x9b2J"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Lay a chart and a picture ready."""
    (tmp_path / "ph.json").write_text(chart_text(CHART), encoding="utf-8")
    Image.fromarray(np.full((48, 64, 3), 90, np.uint8)).save(tmp_path / "a.png")
    return tmp_path


def test_nothing_steers_the_terminal(tintwell: Commands, folder: Path) -> None:
    """Names of charts, photos and samples may hold what a terminal obeys."""
    data = json.loads(chart_text(CHART)) | {"name": f"May{ESCAPE}", "indicator": ESCAPE}
    (folder / "odd.json").write_text(json.dumps(data), encoding="utf-8")
    photo = f"a{ESCAPE.replace('/', '')}.png"
    (folder / photo).write_bytes((folder / "a.png").read_bytes())
    (folder / "sites.csv").write_text(f'name,notes\n"N{ESCAPE}","{ESCAPE}"\n', encoding="utf-8")
    for words in (
        ("chart", "odd.json"),
        ("read", photo, "a.png", f"none{ESCAPE}", "--chart", "odd.json"),
        ("read", photo, "--chart", f"none{ESCAPE}.json"),
        ("new", "season", "--name", ESCAPE),
        ("new", f"season{ESCAPE}"),
        ("add", "season", "sites", "sites.csv"),
        (f"what{ESCAPE}",),
    ):
        _, out, err = tintwell(*words)
        assert not {"\x1b", "\x07", "\x9b"} & set(out + err), words


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("place", ["photo", "chart", "tubes", "region", "table", "products"])
def test_a_pipe_that_never_ends_is_not_waited_for(
    tintwell: Commands, folder: Path, place: str
) -> None:
    """A folder that was unpacked may hold more than files."""
    os.mkfifo(folder / "pipe.csv")
    tintwell("new", "season")
    advise = ("advise", "season", "--crop", "bean", "--region")
    words = {
        "photo": ("read", "pipe.csv", "--chart", "ph.json"),
        "chart": ("read", "a.png", "--chart", "pipe.csv"),
        "tubes": ("read", "a.png", "--chart", "ph.json", "--tubes", "pipe.csv"),
        "region": (*advise, "pipe.csv"),
        "table": ("add", "season", "sites", "pipe.csv"),
        "products": (*advise, "iowa", "--products", "pipe.csv"),
    }[place]
    assert tintwell(*words)[0] == (SOME_REFUSED if place == "photo" else STOPPED)


def test_links_that_lead_in_a_circle(tintwell: Commands, folder: Path) -> None:
    """Are refused like files that are not there."""
    for name in ("loop.png", "loop.json"):
        (folder / name).symlink_to(folder / name)
    assert tintwell("read", "loop.png", "--chart", "ph.json")[0] == SOME_REFUSED
    assert tintwell("read", "a.png", "--chart", "loop.json")[0] == STOPPED
    assert tintwell("read", "a.png", "--chart", "ph.json", "-o", "loop.json")[0] == STOPPED


def test_a_plan_never_leads_out_of_its_folder(folder: Path) -> None:
    """Neither by its name nor by a link; what the picture is called does not matter either."""
    survey, outside, copy = folder / "survey", folder / "secret.png", folder / "copy"
    survey.mkdir()
    copy.mkdir()
    outside.write_bytes((folder / "a.png").read_bytes())
    facts = {"east_per_px": 0.1, "north_per_px": 0.0, "origin": [0, 0]}
    for name in ("../secret.png", str(outside), "..", "linked.png"):
        (survey / "plan.json").write_text(json.dumps(facts | {"picture": name}))
        (survey / "linked.png").unlink(missing_ok=True)
        (survey / "linked.png").symlink_to(outside)
        assert load_plan(survey) is None
        copy_plan(survey, copy)
    assert not list(copy.iterdir())
    tricky = folder / "picture.json"
    tricky.write_bytes(outside.read_bytes())
    (survey / "plan.json").write_text(json.dumps(facts | {"picture": "a.png"}))
    (survey / "a.png").write_bytes(outside.read_bytes())
    plan = load_plan(survey)
    assert plan is not None
    assert save_plan(survey, tricky, plan.scale) == load_plan(survey)


@pytest.mark.parametrize(
    "text",
    ["[" * 200_000, '{"format": 1, "charts": ' * 50_000, " " * 6_000_000, '{"format": 1e999}', "1"],
)
def test_deep_and_huge_json(folder: Path, text: str) -> None:
    """Every file of the program's own may have been sent by somebody."""
    for name, load in (
        ("plan.json", load_plan),
        ("desk.json", load_desk),
        ("facts.json", load_draft),
    ):
        (folder / name).write_text(text)
        with pytest.raises(TintwellError):
            load(folder)


def test_a_desk_takes_charts_from_its_own_folder_alone(folder: Path) -> None:
    """An id that is a path names nothing."""
    inside = folder / "desk"
    inside.mkdir()
    desk = {"format": 1, "survey": None, "chosen": None, "card_reflectance": None}
    desk |= {"photos": [], "clocks": [], "offsets": {}}
    for name in ("../ph", str(folder / "ph"), "ph\x00", "p" * 300):
        chart = {"id": name, "path": None, "in_use": True}
        (inside / "desk.json").write_text(json.dumps(desk | {"charts": [chart]}))
        try:
            loaded = load_desk(inside)
        except DeskFileError:
            continue
        assert loaded is not None
        assert loaded[0].charts == ()


def test_sql_and_the_year_2999_are_only_text(tintwell: Commands, folder: Path) -> None:
    """What is typed in a table is kept as it is typed."""
    drop = "A1'); DROP TABLE samples; --"
    (folder / "samples.csv").write_text(f'label,taken_on\n"{drop}",2999-12-31\n')
    assert tintwell("new", "season")[0] == DONE
    assert tintwell("add", "season", "samples", "samples.csv")[0] == DONE
    with open_survey(folder / "season", readonly=True) as book:
        (sample,) = book.survey().samples
        assert (sample.label, sample.taken_on) == (drop, date(2999, 12, 31))
    code, _, err = tintwell("advise", "season", "--crop", "bean", "--region", "../tables/iowa")
    assert (code, "Traceback" in err) == (STOPPED, False)


def test_a_database_that_was_forged_by_hand(tintwell: Commands, folder: Path) -> None:
    """Values that the tables would refuse are named, not stumbled over."""
    assert tintwell("new", "season")[0] == DONE
    for change in (
        "UPDATE survey SET created_at = 'yesterday'",
        "UPDATE survey SET created_at = x'00ff'",
        "DELETE FROM survey",
    ):
        db = sqlite3.connect(folder / "season" / "survey.sqlite")
        db.execute("PRAGMA ignore_check_constraints = ON")
        for (name,) in db.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            db.execute(f'DROP TRIGGER "{name}"')
        try:
            db.execute(change)
            db.commit()
        except sqlite3.IntegrityError:
            continue  # this rule holds even so
        finally:
            db.close()
        code, _, err = tintwell("export", "season", "-o", "out.csv")
        assert (code, "Try: Restore a backup" in err) == (STOPPED, True), change


def test_a_decimal_comma_of_the_system_changes_nothing(tintwell: Commands, folder: Path) -> None:
    """Qt and C libraries may switch the process to the user's numbers."""
    before = locale.setlocale(locale.LC_NUMERIC)
    for name in ("de_DE.UTF-8", "fr_FR.UTF-8", "German_Germany.1252"):
        try:
            locale.setlocale(locale.LC_NUMERIC, name)
            break
        except locale.Error:
            continue
    else:
        pytest.skip("no locale with a decimal comma is installed here")
    try:
        assert locale.localeconv()["decimal_point"] == ","
        assert tintwell("chart", "ph.json")[0] == DONE
        code, out, _ = tintwell("buffer", "borax", "--temperature", "22")
        assert (code, "pH 9.2" in out) == (DONE, True)
        code, out, _ = tintwell("read", "a.png", "--chart", "ph.json", "--format", "jsonl")
        assert json.loads(out)["status"] == "refused"
    finally:
        locale.setlocale(locale.LC_NUMERIC, before)
