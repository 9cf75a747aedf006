"""The bench's clocks in the window: started, run, ring, and judge photos."""

import wave
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from app.bench_clock import BenchClock
from app.survey.method import Method, Test
from app.survey.sample import Sample
from app.window import clock_panel, ring
from app.window.clock_dialog import ClockDialog
from app.window.clock_panel import ClockPanel
from app.window.main_window import MainWindow

QUICK = Method(name="quick", settling_from_min=10, color_from_min=2, color_to_min=10)


def test_a_clock_rings_when_its_time_comes(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A batch that has settled calls for the indicator, once; its face says what the time means."""
    shaken = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
    now = [shaken + timedelta(minutes=9, seconds=59)]
    monkeypatch.setattr(clock_panel, "_now", lambda: now[0])
    panel = ClockPanel(window.tools)
    qtbot.addWidget(panel)
    rung: list[str] = []
    panel.rang.connect(rung.append)
    window.model.set_clocks(
        [BenchClock(id="1", samples=("Plot A",), method=QUICK, shaken_at=shaken)]
    )
    face = panel._rows[0]
    assert (face.time.text(), face.phase.text()) == ("0:01", "until the soil has settled")
    now[0] += timedelta(seconds=1)
    for _ in range(2):
        panel.tick()
    assert rung == ["Plot A has settled: add the indicator."]
    assert (face.time.text(), face.phase.text()) == ("10:00", "since shaking: add the indicator")


def test_the_sound_goes_to_a_player_and_else_is_the_desktops_beep(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is played is a whole sound file; where nothing plays it, the desktop beeps."""
    heard: list[object] = []
    monkeypatch.setattr(ring.QStandardPaths, "writableLocation", lambda _: str(tmp_path))
    monkeypatch.setattr(ring.sys, "platform", "linux")
    monkeypatch.setattr(ring.QApplication, "beep", lambda: heard.append("beep"))
    monkeypatch.setattr(
        ring.QProcess, "startDetached", lambda *words: (heard.append(words) is None, 1)
    )
    monkeypatch.setattr(ring.shutil, "which", lambda name: "/bin/p" if name == "paplay" else None)
    ring.ring()
    monkeypatch.setattr(ring.shutil, "which", lambda _: None)
    ring.ring()
    (path,) = tmp_path.iterdir()
    assert heard == [("/bin/p", [str(path)]), "beep"]
    with wave.open(str(path)) as sound:
        assert sound.getnframes() / sound.getframerate() == pytest.approx(ring.SECONDS, abs=0.01)
        samples = np.frombuffer(sound.readframes(sound.getnframes()), "<i2")
    assert 10_000 < np.abs(samples).max() < 32_000


def test_a_new_clock_needs_a_sample_and_sound_minutes(qtbot: QtBot) -> None:
    """Words that make no clock are said to be wrong; the dialog stays."""
    dialog = ClockDialog("")
    qtbot.addWidget(dialog)
    dialog._check()
    assert "at least one sample" in dialog.problem.text()
    dialog.names.setText("A, B")
    dialog.minutes["color_from_min"].setValue(60)
    dialog._check()
    assert "shorter than the shortest" in dialog.problem.text()
    dialog.minutes["color_from_min"].setValue(0)
    dialog._check()
    assert dialog.clock().samples == ("A", "B")
    assert dialog.clock().method.color_from_min is None


def test_starting_the_second_clock_keeps_the_first(window: MainWindow, qtbot: QtBot) -> None:
    """Shaken first, indicator second; both times stay."""
    panel = ClockPanel(window.tools)
    qtbot.addWidget(panel)
    window.model.set_clocks([BenchClock(id="1", samples=("A",), method=QUICK)])
    panel._rows[0].start.click()
    panel._rows[0].start.click()
    (clock,) = window.model.desk.clocks
    assert clock.shaken_at is not None
    assert clock.indicator_added_at is not None
    window.model.set_clocks([replace(clock, indicator_added_at=None)])
    panel._remove("1")
    assert window.model.desk.clocks == ()


def test_a_clock_takes_a_method_of_the_survey_and_can_be_changed(qtbot: QtBot) -> None:
    """The method's minutes are proposed; changing a running clock keeps its time."""
    dialog = ClockDialog("A", (QUICK,))
    qtbot.addWidget(dialog)
    dialog.method.setCurrentText("quick")
    clock = replace(dialog.clock(), shaken_at=datetime.now(UTC))
    assert clock.method == QUICK
    change = ClockDialog("", (QUICK,), clock)
    qtbot.addWidget(change)
    assert change.method.currentText() == "quick"
    change.names.setText("A, B")
    change.minutes["settling_from_min"].setValue(20)
    changed = change.clock()
    assert (changed.id, changed.shaken_at) == (clock.id, clock.shaken_at)
    assert changed.samples == ("A", "B")
    assert changed.method.settling_from_min == 20


def test_times_of_a_clock_are_noted_in_the_tests_of_its_samples(
    window: MainWindow, tmp_path: Path
) -> None:
    """A test without times takes those of its sample's clock; one that was timed keeps its own."""
    window.model.new_survey(tmp_path / "Spring")
    book, then = window.model.book, datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
    assert book is not None
    book.add_samples([Sample(label="A"), Sample(label="B")], person="P1", now=then)
    mine = [Test(id="1", sample="A", quantity="ph"), Test(id="2", sample="B", quantity="ph")]
    book.add_tests([mine[0], replace(mine[1], shaken_at=then)], person="P1", now=then)
    window.model.refresh_survey()
    shaken = then + timedelta(minutes=5)
    clock = BenchClock(id="c", samples=("A", "B"), method=QUICK, shaken_at=shaken)
    window.model.set_clocks([clock])
    colored = shaken + timedelta(minutes=12)
    window.model.set_clocks([replace(clock, indicator_added_at=colored)])
    opened = window.model.desk.survey
    assert opened is not None
    noted = {t.sample: (t.shaken_at, t.indicator_added_at) for t in opened.survey.tests}
    assert noted == {"A": (shaken, colored), "B": (then, None)}
