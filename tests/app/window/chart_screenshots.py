"""Write pictures of the Charts page: python -m tests.app.window.chart_screenshots FOLDER.

The list with a chosen chart, every step of a new one half-way, a printed chart, two compared.
"""

import argparse
import os
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings, QSize
from PySide6.QtWidgets import QApplication

import sample_images
from app.tasks.chart_draft import DraftPatch
from app.window.charts_page import ChartsPage
from app.window.main_window import MainWindow
from app.window.open_window import make_application, page_plans
from app.window.preferences import LOOK_WORDS, Preferences
from app.window.theme import wear
from tests.app.window.screenshots import settle

SAMPLES = Path(sample_images.__file__).resolve().parent
SIZES = (QSize(1024, 700), QSize(1280, 800))


def half_way(page: ChartsPage, app: QApplication, window: MainWindow) -> None:
    """Fill in a chart from the sample's sheet, with one value wrong and one missing."""
    page.calibrate()
    assert page.pane is not None
    pane = page.pane
    pane.sheets.take(SAMPLES / "ph" / "standards.csv")
    settle(app, window)
    model = pane.model
    first, *others = model.draft.tubes
    gone = [tube for tube in others if tube.value in (6.0, 6.5)]
    model.say_tubes([replace(tube, value=None) for tube in gone], "leave out")
    model.say_tubes([replace(first, buffer="phthalate", value=None, temperature_c=25.0)], "buffer")
    model.say_facts(replace(model.draft.facts, name="Spring pH", indicator="mixed, home-made"))
    settle(app, window, 20)


def main() -> None:
    """Draw the states of the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("looks", nargs="*", default=["light", "dark"])
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as scratch:
        os.environ["XDG_DATA_HOME"] = scratch
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        app = make_application(["tintwell"])
        wear(app, "light")
        window = MainWindow(Preferences(), page_plans())
        window.show()
        window.show_page("Charts")
        page = window.find_page("Charts")
        assert isinstance(page, ChartsPage)

        def shoot(state: str) -> None:
            for look in LOOK_WORDS:
                if look not in given.looks:
                    continue
                wear(app, look)
                for size in SIZES:
                    window.resize(size)
                    settle(app, window, 3)
                    name = f"charts-{state}-{look}-{size.width()}.png"
                    window.grab().save(str(given.folder / name))

        shoot("empty")
        window.model.new_survey(Path(scratch) / "Invented survey")
        half_way(page, app, window)
        assert page.pane is not None
        for step, state in enumerate(("facts", "values", "finish")):
            page.pane.show_step(step)
            shoot(state)
        page.pane.show_step(1)
        outlines = page.pane.tubes.photo.outlines
        outlines.move.trigger()
        outlines.editor.nudge((0.0, 20.0))
        settle(app, window)
        shoot("outlines")
        outlines.move.trigger()
        page.pane.facts.kind_chosen.emit("printed")
        photo = SAMPLES / "ph" / "ph-3.jpg"
        page.pane.model.edit(
            replace(page.pane.model.draft, photos=(photo,), tubes=(), patches=()), "photo"
        )
        quads = [
            ((x, 900.0), (x + 150, 900.0), (x + 150, 1000.0), (x, 1000.0)) for x in (300.0, 520.0)
        ]
        patches = tuple(DraftPatch(quad=q, value=v) for q, v in zip(quads, (5.0, 6.0), strict=True))
        page.pane.model.edit(replace(page.pane.model.draft, patches=patches), "patches")
        page.pane.show_step(1)
        settle(app, window)
        shoot("printed")
        page.show_list()
        window.open_demo()
        settle(app, window)
        window.show_page("Charts")
        page.list.choose(page.table.charts[0].chart.id)
        shoot("list")
        page.show_compare()
        shoot("compare")
        window.close()


if __name__ == "__main__":
    main()
