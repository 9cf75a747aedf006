"""Commands typed in an empty folder, and tracing that is quick."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from app.command_line import run
from app.site_map import source_map

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # reports are laid out by Qt

Commands = Callable[..., tuple[int, str, str]]


@pytest.fixture
def tintwell(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Commands:
    """Give what types a command in an empty folder: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)

    def type_in(*words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        code = run(words)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        return code, printed.out, printed.err

    return type_in


@pytest.fixture
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Trace with few draws: quick, and good enough to see that everything is there."""
    monkeypatch.setattr(source_map, "ROUNDS", 2)
    monkeypatch.setattr(source_map, "LOOKED", 150)
    monkeypatch.setattr(source_map, "DRAWS", 250)
