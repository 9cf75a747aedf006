"""What README.md tells people to type works, in the order in which it stands there."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

import sample_images
from app.command_line import run
from app.terminal.words import DONE, SOME_REFUSED

ROOT = Path(__file__).parents[1]
SAMPLES = Path(sample_images.__file__).resolve().parent
SAID = re.findall(r"`(tintwell [^`]+)`", (ROOT / "README.md").read_text("utf-8"))
COMMANDS = [" ".join(command.split()) for command in SAID]
MEANT = {
    "read ...": "read photos/ --chart ph.json",
    "--region ...": "--region iowa",
}
"""What stands for the dots."""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Lay out what the README speaks of: sheets, and a folder of photos."""
    shutil.copytree(SAMPLES / "ph", tmp_path, dirs_exist_ok=True)
    (tmp_path / "photos").mkdir()
    shutil.copy(SAMPLES / "survey" / "plot-a-afternoon.jpg", tmp_path / "photos")
    (tmp_path / "tubes.csv").write_text("photo,tube,sample\nphotos/plot-a-afternoon.jpg,2,A1\n")
    (tmp_path / "sites.csv").write_text("name,crop\nNorth,bean\n")
    (tmp_path / "samples.csv").write_text("label,site,texture\nA1,North,loam\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_commands_of_the_readme(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bare name of a command explains itself; all others do what they say."""
    assert len(COMMANDS) > 10
    for command in COMMANDS:
        typed = command
        for dots, meant in MEANT.items():
            typed = typed.replace(dots, meant)
        words = shlex.split(typed)[1:]
        if len(words) == 1:
            with pytest.raises(SystemExit) as end:
                run([*words, "--help"])
            assert end.value.code == 0, command
        else:
            assert run(words) in (DONE, SOME_REFUSED), (command, capsys.readouterr().err)
    for made in ("ph.json", "ph.png", "season/survey.sqlite", "season.xlsx", "season.html"):
        assert (bench / made).is_file(), made
