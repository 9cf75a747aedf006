"""`tintwell practice`: the teacher's page and the comparison of groups."""

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from app.terminal.words import DONE, STOPPED

SITES = "site,map_x_m,map_y_m\nHill,0,40\nGate,30,45\nShed,50,40\nPond,80,41\nWillow,80,5\n"
ASK = ("practice", "sites.csv", "--background", "Hill", "--source", "48,40", "--flow", "90")
Commands = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def sites(tmp_path: Path) -> None:
    """Lay the table of sites where the command is typed."""
    (tmp_path / "sites.csv").write_text(SITES, encoding="utf-8")


def test_the_teachers_page(tintwell: Commands) -> None:
    """Every sample with its recipe, and the cautions."""
    code, out, _ = tintwell(*ASK)
    assert code == DONE
    for words in ("keep this page from the class", "Shed: pH 3.5", "Hill: pH 6.", "mL acid", "gas"):
        assert words in out


def test_groups_are_compared(tintwell: Commands, tmp_path: Path) -> None:
    """A row a reading; the suspect and the place in any row."""
    rows = (
        "group,site,ph,suspect,x_m,y_m\n1,Shed,3.6,Shed,51,40\n1,Pond,5.0,,,\n2,Shed,5.5,Pond,,\n"
    )
    (tmp_path / "answers.csv").write_text(rows, encoding="utf-8")
    code, out, _ = tintwell(*ASK, "--answers", "answers.csv")
    assert code == DONE
    first, second = out.strip().splitlines()
    assert first.startswith("Group 1 named Shed, the nearest site; their source lies 3 m from")
    assert second.startswith("Group 2 named Pond; Shed is the nearest; their readings are off by")


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("--source", "here"), "no place"),
        (("--background", "Moon"), "background sites must be"),
        (("--source-ph", "1"), "pH at the source"),
        (("--acid", "vinegar", "--source-ph", "2.5"), "more vinegar"),
        (("--seed", "-2"), "seed"),
        (("--volume", "0"), "0 mL"),
        (("--reach", "nan"), "numbers"),
    ],
)
def test_what_cannot_be_made_is_said(
    tintwell: Commands, words: Sequence[str], complaint: str
) -> None:
    """Two sentences and exit code 2."""
    code, _, err = tintwell(*ASK, *words)
    assert code == STOPPED
    assert complaint in err


@pytest.mark.parametrize(
    ("rows", "complaint"),
    [
        ("site,ph\nShed,4\n", "no column 'group'"),
        ("group,site,ph\n1,Shed,4\n", "names no suspect"),
        ("group,site,ph,suspect\n1,Shed,sour,Shed\n", "no number"),
        ("group,site,ph,suspect\n1,Shed,4,Moon\n", "no site of the plan"),
    ],
)
def test_answers_that_cannot_be_read(
    tintwell: Commands, tmp_path: Path, rows: str, complaint: str
) -> None:
    """Said with the row and what to do."""
    (tmp_path / "answers.csv").write_text(rows, encoding="utf-8")
    code, _, err = tintwell(*ASK, "--answers", "answers.csv")
    assert code == STOPPED
    assert complaint in err
