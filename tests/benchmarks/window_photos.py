"""2,000 photos on the desk: the longest step on the screen's thread.

    python -m tests.benchmarks.window_photos [PHOTOS]

Links one sample photo many times under different names, opens the real window without a screen, and
times what the user does. A step is one call or one turn of the event loop; on a busy machine the
processor's own time of the screen's thread says more than the clock.
"""

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

import sample_images
from app.tasks.open_demo import open_demo
from app.tasks.step import finish
from app.tube_reading import TubeEntry
from app.window.main_window import MainWindow
from app.window.open_window import make_application, page_plans
from app.window.photos_page import PhotosPage
from app.window.preferences import Preferences
from app.window.theme import wear

PHOTOS = 2_000
SAMPLE = Path(sample_images.__file__).resolve().parent / "survey" / "plot-b-kitchen.jpg"


class Steps:
    """Times calls and turns of the event loop."""

    def __init__(self, app: QApplication) -> None:
        self._app = app

    def turn(self) -> tuple[float, float]:
        """Let the event loop turn once; returns the clock's and the processor's milliseconds."""
        return self.time(self._app.processEvents)

    def time(self, step: Callable[[], object]) -> tuple[float, float]:
        """Time one step."""
        wall, own = time.perf_counter(), time.thread_time()
        step()
        return 1000 * (time.perf_counter() - wall), 1000 * (time.thread_time() - own)

    def tell(self, what: str, steps: list[tuple[float, float]]) -> None:
        """Print the longest and the middle step."""
        walls, owns = zip(*steps, strict=True)
        print(
            f"{what:44} longest {max(walls):6.1f} ms ({max(owns):6.1f} of the processor), "
            f"median {median(walls):5.1f} ms, {len(steps)} steps"
        )

    def until(self, done: Callable[[], bool], seconds: float) -> list[tuple[float, float]]:
        """Turn the event loop until something is done."""
        steps, end = [], time.monotonic() + seconds
        while not done() and time.monotonic() < end:
            steps.append(self.turn())
            time.sleep(0.002)
        return steps or [(0.0, 0.0)]


def main() -> None:
    """Time adding, reading, scrolling, choosing, filtering and naming."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else PHOTOS
    with TemporaryDirectory() as scratch:
        folder = Path(scratch) / "photos"
        folder.mkdir()
        for number in range(count):
            (folder / f"bench-{number:04}.jpg").hardlink_to(_copy(scratch))
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        app = make_application(["tintwell"])
        wear(app, "light")
        steps = Steps(app)
        window = MainWindow(Preferences(), page_plans())
        window.show()
        page = window.find_page("Photos")
        assert isinstance(page, PhotosPage)
        for chart in finish(open_demo()).charts:
            window.model.add_chart(chart)
        steps.until(lambda: False, 1)
        steps.tell(
            "add photos, the call", [steps.time(lambda: window.ways_in.take_photos([folder]))]
        )
        measure(window, page, steps)
        window.close()


def measure(window: MainWindow, page: PhotosPage, steps: Steps) -> None:
    """Time what the user does, first while photos are read, then when all have been."""
    model, view = window.model, page.strip.view
    steps.tell("the first seconds of reading", steps.until(lambda: False, 5))
    bar = view.verticalScrollBar()

    def scroll() -> list[tuple[float, float]]:
        found = []
        for part in range(60):
            value = bar.maximum() * part // 59
            found += [steps.time(lambda value=value: bar.setValue(value)), steps.turn()]  # type: ignore[misc]
        return found

    def choose() -> list[tuple[float, float]]:
        found = []
        for photo in model.desk.photos[:: max(1, len(model.desk.photos) // 30)]:
            found.append(steps.time(lambda photo=photo: model.choose(photo.path)))  # type: ignore[misc]
            found += steps.until(lambda: False, 0.1)
        return found

    steps.tell("scroll while photos are read", scroll())
    steps.tell("choose while photos are read", choose())
    window.reader.stop()
    steps.until(lambda: window.reader.is_idle, 60)
    look = next(photo.look for photo in model.desk.photos if photo.look is not None)
    taken = [
        steps.time(lambda photo=photo: model.set_look(photo.path, look))  # type: ignore[misc]
        for photo in model.desk.photos
    ]
    steps.tell("take in what was seen in a photo", taken)
    steps.tell("scroll", scroll())
    steps.tell("choose", choose())
    strip = page.strip.chosen_photos
    steps.tell("show one standing", [steps.time(lambda: strip.show_standing("accepted"))])
    steps.tell("show all again", [steps.time(lambda: strip.show_standing(None))])
    steps.tell("worst first", [steps.time(lambda: page.strip.photos.show_order("worst"))])
    edits = {
        photo.path: photo.edits.with_entry(1, TubeEntry(sample="Oak Bed"))
        for photo in model.desk.photos
    }
    steps.tell("name a tube of every photo", [steps.time(lambda: model.edit(edits, "name"))])
    window.reader.stop()
    steps.tell("undo that", [steps.time(model.undo_stack.undo)])
    window.reader.stop()
    steps.tell("take one photo off the desk", [
        steps.time(lambda: model.remove_photos([model.desk.photos[5].path]))
    ])  # fmt: skip


def _copy(scratch: str) -> Path:
    """Return a copy of the sample beside the links: links do not reach over file systems."""
    copy = Path(scratch) / "sample.jpg"
    if not copy.is_file():
        copy.write_bytes(SAMPLE.read_bytes())
    return copy


if __name__ == "__main__":
    main()
