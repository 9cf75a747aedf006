"""A program that is killed while it writes loses nothing that it has said is kept."""

import os
from pathlib import Path

import pytest

from tests.app.records.kills import kill_loop

KILLS = 25


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_nothing_kept_is_lost_by_a_kill(tmp_path: Path) -> None:
    """No batch is lost or kept in part, the file stays sound, and no lock is left behind."""
    survived = kill_loop(tmp_path, KILLS, seed=20260501)
    assert (survived.lost, survived.torn, survived.unsound) == (0, 0, 0)
    assert survived.kept > 0
    assert survived.cut_off > 0  # else the kills did not fall into writing
