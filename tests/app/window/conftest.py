"""A window of its own for every test, without a screen, with preferences of its own."""

import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

import sample_images
from app.tasks.calibrate_chart import ChartFacts, calibrate
from app.tasks.step import finish
from app.window.main_window import MainWindow
from app.window.open_window import page_plans
from app.window.preferences import Preferences
from app.window.theme import wear
from calibration.chart import Chart
from calibration.sheets import read_standards_sheet

SAMPLES = Path(sample_images.__file__).resolve().parent


@pytest.fixture(autouse=True)
def _own_preferences(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "settings"
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(folder))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def window(qtbot: QtBot, qapp: object) -> Iterator[MainWindow]:
    """Open the real window; the test fails where work is left running after it was closed."""
    wear(qapp, "light")  # type: ignore[arg-type]
    made = MainWindow(Preferences(), page_plans())
    qtbot.addWidget(made)
    made.show()
    yield made
    made.close()
    assert not made.bench.works or all(work.is_stopping for work in made.bench.works)


@pytest.fixture(scope="session")
def ph_chart() -> Chart:
    """Calibrate the sample pH chart, once."""
    facts = ChartFacts(
        id=uuid4().hex,
        created_at=datetime.now(UTC),
        name="Demo pH",
        card_reflectance=(0.18, 0.18, 0.18),
        quantity="ph",
        form=None,
        basis=None,
    )
    sheet = read_standards_sheet(SAMPLES / "ph" / "standards.csv")
    return finish(calibrate(sheet, facts)).chart
