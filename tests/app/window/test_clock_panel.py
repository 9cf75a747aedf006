"""The bench's clocks in the window: started, run, ring, and judge photos."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from pytestqt.qtbot import QtBot

from app.bench_clock import BenchClock
from app.survey.method import Method
from app.window.clock_panel import ClockPanel, NewClockDialog
from app.window.main_window import MainWindow

QUICK = Method(name="quick", settling_from_min=10, color_from_min=2, color_to_min=10)


def test_a_clock_rings_when_its_time_comes(window: MainWindow, qtbot: QtBot) -> None:
    """A batch that has settled calls for the indicator, once."""
    panel = ClockPanel(window.tools)
    qtbot.addWidget(panel)
    shaken = datetime.now(UTC) - timedelta(minutes=9, seconds=59.5)
    window.model.set_clocks(
        [BenchClock(id="1", samples=("Plot A",), method=QUICK, shaken_at=shaken)]
    )
    with qtbot.waitSignal(panel.rang, timeout=3000) as rung:
        pass
    assert rung.args == ["Plot A has settled: add the indicator."]


def test_a_new_clock_needs_a_sample_and_sound_minutes(qtbot: QtBot) -> None:
    """Words that make no clock are said to be wrong; the dialog stays."""
    dialog = NewClockDialog("")
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
