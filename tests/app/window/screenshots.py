"""Write pictures of every page: python -m tests.app.window.screenshots FOLDER [page ...].

Each page is drawn in light and dark at two sizes, without a screen.
"""

import argparse
import os
import time
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings, QSize
from PySide6.QtWidgets import QApplication

from app.survey.sample import Sample
from app.survey.site import Site
from app.tasks.keep_readings import keep_lines
from app.window.main_window import MainWindow
from app.window.open_window import make_application, page_plans
from app.window.preferences import Preferences
from app.window.theme import Look, wear

CROPS = ("bean", "potato", "onion", "carrot", "maize", "lettuce")
SIZES = (QSize(1280, 800), QSize(1920, 1080))
LOOKS: tuple[Look, ...] = ("light", "dark")


def settle(app: QApplication, window: MainWindow, seconds: float = 60) -> None:
    """Let all work end and everything be drawn."""
    end = time.monotonic() + seconds
    quiet = 0
    while time.monotonic() < end and quiet < 10:
        app.processEvents()
        busy = window.bench.works or not window.reader.is_idle
        quiet = 0 if busy else quiet + 1
        time.sleep(0.02)


def keep_demo(window: MainWindow) -> None:
    """Keep the demo's readings in the invented survey, at invented sites."""
    model, now = window.model, datetime.now().astimezone()
    assert model.book is not None
    names = sorted(
        {
            line.entry.sample
            for photo in model.desk.photos
            if photo.look is not None
            for line in photo.look.lines
            if line.entry.sample is not None
        }
    )
    sites = [
        Site(name=name, crop=crop, area_ha=area, map_x_m=x, map_y_m=y)
        for name, crop, area, x, y in zip(
            names, CROPS, (0.4, 1.2, 0.1, 0.8, 2.0, 0.3), (0, 40, 85, 20, 60, 110),
            (0, 35, 10, 70, 90, 60), strict=False,
        )
    ]  # fmt: skip
    model.book.add_sites(sites, person="P1", now=now)
    known = {site.name for site in sites}
    samples = [Sample(label=n, site=n if n in known else None, texture="loam") for n in names]
    model.book.add_samples(samples, person="P1", now=now)
    for photo in model.desk.photos:
        if photo.look is not None:
            keep_lines(
                model.book, photo.look.lines, model.order_for(photo.path), person="P1", now=now
            )
    model.refresh_survey()
    model.readings_changed.emit()


def main() -> None:
    """Draw the pages of the demo survey."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("pages", nargs="*", help="only these pages")
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as scratch:
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        app = make_application(["tintwell"])
        wear(app, "light")
        window = MainWindow(Preferences(), page_plans())
        window.show()
        window.model.new_survey(Path(scratch) / "Invented survey")
        window.open_demo()
        settle(app, window)
        keep_demo(window)
        settle(app, window)
        for look in LOOKS:
            wear(app, look)
            for size in SIZES:
                window.resize(size)
                for page in window.pages:
                    if given.pages and page.name not in given.pages:
                        continue
                    window.show_page(page.name)
                    settle(app, window, 3)
                    name = f"{page.name.casefold()}-{look}-{size.width()}.png"
                    window.grab().save(str(given.folder / name))
        window.close()


if __name__ == "__main__":
    main()
