"""Puts a site in its place on the plan, so that it can be undone."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from app.site_map.plane import Point
    from app.window.page import Tools


class PlaceSite(QUndoCommand):
    """Writes the new place of a site, or the old one back; of the survey that was open then."""

    def __init__(self, tools: Tools, name: str, before: Point | None, after: Point) -> None:
        super().__init__(f"place {name}")
        self._tools, self._name, self._before, self._after = tools, name, before, after
        opened = tools.model.desk.survey
        self._folder = None if opened is None else opened.folder

    def redo(self) -> None:
        """Write the new place."""
        self._write(self._after)

    def undo(self) -> None:
        """Write the old place back."""
        self._write(self._before)

    def _write(self, place: Point | None) -> None:
        model, book = self._tools.model, self._tools.model.book
        opened = model.desk.survey
        if book is None or opened is None or opened.folder != self._folder:
            self.setObsolete(True)
            return
        site = next((s for s in opened.survey.sites if s.name == self._name), None)
        if site is None:
            self.setObsolete(True)
            return
        east, north = (None, None) if place is None else place
        moved = replace(site, map_x_m=east, map_y_m=north)
        try:
            book.add_sites(
                [moved], person=model.desk.person, now=datetime.now().astimezone(), replace=True
            )
        except TintwellError as error:
            self.setObsolete(True)
            self._tools.messages.complain(error)
        model.refresh_survey()
