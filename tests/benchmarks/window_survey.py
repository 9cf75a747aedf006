"""100,000 readings in the open window: the longest step on the screen's thread.

    python -m tests.benchmarks.window_survey [FOLDER]

Opens a survey of `survey_100k` (made where none is there) in the real window, without a screen, and
times what the user does on the page Samples. A step is one call or one turn of the event loop; on a
busy machine the processor's own time of the screen's thread says more than the clock.
"""

import os
import sys
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings, Qt

from app.window.kept_table_model import HEADINGS
from app.window.main_window import MainWindow
from app.window.open_window import make_application, page_plans
from app.window.preferences import Preferences
from app.window.samples_page import SamplesPage
from app.window.theme import wear
from tests.benchmarks.survey_100k import make
from tests.benchmarks.window_photos import Steps


def measure(window: MainWindow, folder: Path, steps: Steps) -> None:
    """Time opening, paging, sorting, filtering and choosing."""
    page = window.find_page("Samples")
    assert isinstance(page, SamplesPage)
    tab = page.readings

    def time(what: str, step: Callable[[], object]) -> None:
        found = [steps.time(step)]
        found += steps.until(lambda: not window.bench.works, 30)
        steps.tell(what, [*found, *(steps.turn() for _ in range(5))])

    def find(text: str) -> None:
        tab.search.setText(text)
        tab.ask_again()

    time("open the survey", lambda: window.model.open_survey(folder))
    time("show the page", lambda: window.show_page("Samples"))
    for column, (name, key) in enumerate(HEADINGS):
        if key is not None:
            tab.table.scrollToTop()
            steps.turn()
            time(f"sort by {name}", lambda c=column: tab.table.sortByColumn(c, Qt.SortOrder(0)))  # type: ignore[misc]
            time(f"end of the list by {name}", tab.table.scrollToBottom)
    tab.table.sortByColumn(0, Qt.SortOrder.DescendingOrder)
    bar = tab.table.verticalScrollBar()
    for part in (0.1, 0.5, 0.9):
        time(f"scroll to {part:.0%}", lambda p=part: bar.setValue(int(p * bar.maximum())))  # type: ignore[misc]
        time("choose a reading", lambda: tab.table.selectRow(bar.value()))
    for text in ("S0042", "img_0004", "zebra", ""):
        time(f"find '{text}'", lambda t=text: find(t))  # type: ignore[misc]
    for place in range(1, tab.standing.count()):
        time("filter by standing", lambda p=place: tab.standing.setCurrentIndex(p))  # type: ignore[misc]
    tab.standing.setCurrentIndex(0)
    time("filter by test", lambda: tab.quantity.setCurrentIndex(1))
    time("also withdrawn ones", lambda: tab.all_rows.setChecked(True))
    time("to the list of samples", lambda: page.tabs.setCurrentIndex(1))
    time("to quality control", lambda: page.tabs.setCurrentWidget(page.judge.quality))
    time("to the groups", lambda: page.tabs.setCurrentWidget(page.judge.groups))
    time("refresh all of it", page.refresh)


def main() -> None:
    """Open the window over the survey and time it."""
    with TemporaryDirectory() as scratch:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(scratch) / "survey"
        if not folder.exists():
            make(folder)
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        app = make_application(["tintwell"])
        wear(app, "light")
        window = MainWindow(Preferences(), page_plans())
        window.show()
        steps = Steps(app)
        steps.until(lambda: False, 1)
        measure(window, folder, steps)
        window.close()


if __name__ == "__main__":
    main()
