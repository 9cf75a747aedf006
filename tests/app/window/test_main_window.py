"""The window as a whole: pages, work that can be stopped, a survey opened and closed."""

import sys
import time
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.tasks.step import Step, Task
from app.window.crash_handler import guard
from app.window.main_window import MainWindow
from app.window.preferences import Preferences
from app.window.theme import Look, current_tones, tones_of
from colorcore.errors import TintwellError


def test_every_page_is_reached_by_its_number(window: MainWindow, qtbot: QtBot) -> None:
    """Ctrl and a digit shows the page of that place in the rail."""
    for number, page in enumerate(window.pages):
        qtbot.keyClick(
            window, getattr(Qt.Key, f"Key_{number}"), Qt.KeyboardModifier.ControlModifier
        )
        assert window.page is page


def slow(steps: int) -> Task[str]:
    """Count slowly."""
    for done in range(steps):
        yield Step(done=done, total=steps, note="counting")
        time.sleep(0.01)
    return "counted"


def broken() -> Task[str]:
    """Fail with an error of ours."""
    yield Step(done=0, total=1, note="")
    raise TintwellError("The well is dry.", what_to_do="Wait for rain.")


def test_long_work_shows_itself_and_can_be_stopped(window: MainWindow, qtbot: QtBot) -> None:
    """Work that takes longer than a blink shows how far it is; Esc stops it."""
    ended: list[object] = []
    work = window.bench.start(
        "Counting", slow(500), on_finished=ended.append, on_failed=ended.append
    )
    qtbot.waitUntil(window.work_bar.isVisible, timeout=3000)
    assert "Counting" in window.work_bar.label.text()
    with qtbot.waitSignal(work.stopped, timeout=3000):
        window.does.stop.trigger()
    qtbot.waitUntil(lambda: not window.work_bar.isVisible(), timeout=3000)
    assert not ended


def test_a_failure_is_told_with_what_to_do(window: MainWindow, qtbot: QtBot) -> None:
    """An error of ours becomes a message; the window goes on."""
    with qtbot.waitSignal(window.messages.complained, timeout=3000) as told:
        window.bench.start(
            "Drawing",
            broken(),
            on_finished=window.messages.tell,
            on_failed=window.messages.complain,
        )
    assert told.args is not None
    assert told.args[0].what_to_do == "Wait for rain."


def test_a_survey_is_made_opened_and_closed(window: MainWindow, tmp_path: Path) -> None:
    """The title names the open survey; it is among the recent ones afterwards."""
    folder = tmp_path / "Spring"
    window.model.new_survey(folder)
    assert window.open_survey(folder)
    assert window.windowTitle().startswith("Spring")
    assert window.preferences.recent == (folder.resolve(),)
    window.does.close.trigger()
    assert window.windowTitle() == "Tintwell"


def test_what_is_no_survey_is_complained_about(window: MainWindow, tmp_path: Path) -> None:
    """A folder without a survey opens nothing and says so."""
    assert not window.open_survey(tmp_path)
    assert window.model.desk.survey is None


def test_closing_during_work_waits_for_it(window: MainWindow, qtbot: QtBot) -> None:
    """Closing stops what is going on instead of leaving it behind."""
    window.bench.start(
        "Counting",
        slow(2000),
        on_finished=window.messages.tell,
        on_failed=window.messages.complain,
    )
    start = time.monotonic()
    window.close()
    assert time.monotonic() - start < 5


def test_a_fault_is_told_and_the_desk_is_saved(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault in the window is logged, what lies on the desk is saved, and the user is told."""
    window.remember_desk(tmp_path / "desk")
    told: list[str] = []
    monkeypatch.setattr(
        QMessageBox, "exec", lambda box: told.append(f"{box.text()} {box.informativeText()}")
    )
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    guard(window.save_desk)
    sys.excepthook(ZeroDivisionError, ZeroDivisionError("by the well"), None)
    assert "by the well" in told[0]
    assert "What lies on the desk was saved." in told[0]
    assert (tmp_path / "desk" / "desk.json").is_file()


def test_looks_are_worn_and_remembered(window: MainWindow) -> None:
    """Light, dark and high contrast; the choice outlives the window."""
    looks: tuple[Look, ...] = ("dark", "contrast", "light")
    for look in looks:
        window.set_look(look)
        assert current_tones() is tones_of(look)
        assert Preferences().look == look
