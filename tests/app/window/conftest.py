"""A window of its own for every test, without a screen, with preferences of its own."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from app.window.main_window import MainWindow
from app.window.open_window import page_kinds
from app.window.preferences import Preferences
from app.window.theme import wear


@pytest.fixture(autouse=True)
def _own_preferences(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "settings"
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(folder))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def window(qtbot: QtBot, qapp: object) -> Iterator[MainWindow]:
    """Open the real window; the test fails where work is left running after it was closed."""
    wear(qapp, "light")  # type: ignore[arg-type]
    made = MainWindow(Preferences(), page_kinds())
    qtbot.addWidget(made)
    made.show()
    yield made
    made.close()
    assert not made.bench.works or all(work.is_stopping for work in made.bench.works)
