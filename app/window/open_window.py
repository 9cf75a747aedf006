"""Opens the window: application, look, guard against faults, and the pages."""

import sys
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from app.version import VERSION
from app.window.crash_handler import guard, keep_log
from app.window.main_window import MainWindow
from app.window.page import Page, PagePlan
from app.window.preferences import Preferences
from app.window.remembered_desk import desk_folder
from app.window.theme import wear

FIRST_PAINT_MS = 50


def page_plans() -> tuple[PagePlan, ...]:
    """Return the pages behind the start page, in the order of the rail."""
    return (
        PagePlan(name="Photos", symbol_name="photos", load=_photos),
        PagePlan(name="Charts", symbol_name="charts", load=_charts),
        PagePlan(name="Samples", symbol_name="samples", load=_samples),
        PagePlan(name="Map", symbol_name="map", load=_map),
        PagePlan(name="Advice", symbol_name="advice", load=_advice),
    )


def _photos() -> type[Page]:
    from app.window.photos_page import PhotosPage

    return PhotosPage


def _charts() -> type[Page]:
    from app.window.charts_page import ChartsPage

    return ChartsPage


def _samples() -> type[Page]:
    from app.window.samples_page import SamplesPage

    return SamplesPage


def _map() -> type[Page]:
    from app.window.map_page import MapPage

    return MapPage


def _advice() -> type[Page]:
    from app.window.advice_page import AdvicePage

    return AdvicePage


def make_application(words: list[str]) -> QApplication:
    """Make the application, or return the one that is there."""
    there = QApplication.instance()
    if isinstance(there, QApplication):
        return there
    QCoreApplication.setOrganizationName("Tintwell")
    QCoreApplication.setApplicationName("Tintwell")
    QCoreApplication.setApplicationVersion(VERSION)
    made = QApplication(words)
    made.setWindowIcon(QIcon(str(Path(__file__).parent / "icons" / "tintwell.png")))
    made.setDesktopFileName("tintwell")
    return made


def open_window(survey: Path | None = None, *, demo: bool = False) -> int:
    """Open the window and stay until it is closed.

    Parameters
    ----------
    survey : Path, optional
        A survey to open at once.
    demo : bool
        Whether to lay the demo survey on the desk.
    """
    app = make_application(sys.argv[:1])
    keep_log()
    preferences = Preferences()
    wear(app, preferences.look)
    window = MainWindow(preferences, page_plans())
    guard(window.save_desk)
    window.show()
    QTimer.singleShot(FIRST_PAINT_MS, lambda: _begin(window, survey, demo))
    return app.exec()


def _begin(window: MainWindow, survey: Path | None, demo: bool) -> None:
    """Bring in what the window is opened with; it can be seen by now."""
    window.remember_desk(desk_folder())
    if survey is not None:
        window.open_survey(survey)
    if demo:
        window.open_demo()
    window.build_next()
