"""Lays the demo survey on the desk."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from app.desk import PhotoEdits

if TYPE_CHECKING:
    from app.tasks.open_demo import Demo
    from app.window.main_window import MainWindow


class _Demo(QObject):
    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self._window = window

    def take(self, demo: "Demo") -> None:
        model = self._window.model
        for chart in demo.charts:
            model.add_chart(chart)
        model.add_photos(demo.photos)
        said = {path: replace(PhotoEdits(), entries=entries)
                for path, entries in demo.entries.items()}  # fmt: skip
        model.edit(said, "name the demo's tubes")
        model.undo_stack.clear()
        model.choose(demo.photos[0])
        self._window.show_page("Photos")
        self._window.messages.tell(
            "This survey is invented, its photos are rendered; three of them must be refused."
        )


def open_demo(window: "MainWindow") -> None:
    """Make the demo's charts from their photos, then lay its photos open."""
    from app.tasks.open_demo import open_demo as work

    demo = _Demo(window)
    window.bench.start(
        "Making the demo's charts",
        work(),
        on_finished=demo.take,
        on_failed=window.messages.complain,
    )
