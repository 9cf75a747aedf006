"""Where the sites of a survey lie: on a plan of the user's, or on squared paper."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.window.hand_over import no_survey
from app.window.labels import muted
from app.window.place_site import PlaceSite
from app.window.plan_view import PlanView
from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from app.desk import OpenSurvey
    from app.survey.site import Site
    from app.tasks.plan_file import Plan
    from app.window.page import Tools
    from app.window.plan_dialog import PlanDialog

HANDS = (
    "Drag a site to where it lies, or choose it with Page Down and move it with the arrow keys "
    "(1 m, with Shift 10 m)."
)


class PlanTab(QWidget):
    """The plan with its sites, which can be moved.

    Signals
    -------
    taken()
        The survey has a new plan.
    """

    taken = Signal()

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self.plan: Plan | None = None
        self.unplaced = QComboBox()
        self.unplaced.setAccessibleName("Site without a place")
        self.unplaced.setMinimumWidth(200)
        self.put = QPushButton("Put it on the plan")
        self.put.clicked.connect(self.put_site)
        self.where = muted()
        self.where.setWordWrap(False)
        row = QHBoxLayout()
        row.addWidget(QLabel("Site without a place"))
        row.addWidget(self.unplaced)
        row.addWidget(self.put)
        row.addStretch()
        row.addWidget(self.where)
        self.words = muted()
        self.view = PlanView()
        self.view.placed.connect(self.place_site)
        box = QVBoxLayout(self)
        box.addLayout(row)
        box.addWidget(self.words)
        box.addWidget(self.view, 1)

    def show_survey(self, opened: OpenSurvey) -> None:
        """Show the plan and the sites of a survey."""
        from app.tasks.plan_file import load_plan

        try:
            self.plan = load_plan(opened.folder)
        except TintwellError as error:
            self.plan = None
            self._tools.messages.complain(error)
        sites, writable = opened.survey.sites, opened.read_only_because is None
        self.view.can_move = writable
        self.view.show_plan(self.plan, sites)
        unplaced = [s.name for s in sites if s.map_x_m is None and s.latitude_deg is None]
        self.unplaced.clear()
        self.unplaced.addItems(unplaced)
        self.put.setEnabled(bool(unplaced) and writable)
        paper = (
            "Squared paper of 100 by 100 metres, north up."
            if self.plan is None
            else f"The plan's pixel is {self.plan.scale.metres_per_px:.3g} m."
        )
        self.words.setText(f"{paper} {HANDS if writable else opened.read_only_because}")

    def put_site(self) -> None:
        """Put the chosen site, which has no place yet, in the middle of what is seen."""
        self.view.put_new(self.unplaced.currentText())

    def place_site(self, name: str, east: float, north: float) -> None:
        """Note where a site lies on the plan; it can be undone."""
        opened = self._tools.model.desk.survey
        if opened is None:
            return
        site = next(s for s in opened.survey.sites if s.name == name)
        has_place = site.map_x_m is not None and site.map_y_m is not None
        before = (site.map_x_m, site.map_y_m) if has_place else None
        command = PlaceSite(self._tools, name, before, (east, north))  # type: ignore[arg-type]
        self._tools.model.undo_stack.push(command)
        self.where.setText(f"{name}: {east:.1f} m east, {north:.1f} m north")

    def ask_picture(self) -> None:
        """Let the user choose a plan's picture and scale it."""
        from app.window.plan_dialog import PlanDialog

        messages = self._tools.messages
        if self._tools.model.desk.survey is None:
            messages.complain(no_survey())
            return
        picture = messages.ask_file(
            "Plan from a picture", "plan", "Pictures (*.png *.jpg *.jpeg *.webp);;All files (*)"
        )
        if picture is None:
            return
        dialog = PlanDialog(picture, self)
        dialog.accepted.connect(lambda: self.take_picture(picture, dialog))
        dialog.open()

    def take_picture(self, picture: Path, dialog: PlanDialog) -> None:
        """Keep a scaled plan in the survey's folder."""
        from app.tasks.plan_file import save_plan

        opened = self._tools.model.desk.survey
        if opened is None or dialog.scale is None:
            return
        try:
            self.plan = save_plan(opened.folder, picture, dialog.scale)
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        self.taken.emit()

    def ask_photos(self) -> None:
        """Place sites by the kept photos, where the user wants that."""
        from app.tasks.place_by_photos import place_by_photos

        book = self._tools.model.book
        if book is None:
            self._tools.messages.complain(no_survey())
            return
        if not self._tools.messages.ask(
            "Place sites where the photos of their samples were taken?",
            "That is right only for photos taken in the field, not at a bench. Sites that have a "
            "position keep it.",
            "Place the sites",
        ):
            return
        open_book = book.open_again

        def task() -> Any:
            with open_book() as other:
                return (yield from place_by_photos(other))

        self._tools.bench.start(
            "Looking where photos were taken", task(),
            on_finished=lambda sites: self._take_places(sites, book.folder),
            on_failed=self._tools.messages.complain,
        )  # fmt: skip

    def _take_places(self, sites: Sequence[Site], folder: Path) -> None:
        model, book = self._tools.model, self._tools.model.book
        if book is None or book.folder != folder:
            return  # another survey was opened meanwhile
        if not sites:
            self._tools.messages.tell("No photo of a site without a position says where it was.")
            return
        try:
            book.add_sites(
                sites, person=model.desk.person, now=datetime.now().astimezone(), replace=True
            )
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        model.refresh_survey()
        placed = ", ".join(site.name for site in sites)
        self._tools.messages.tell(f"Placed where their photos were taken: {placed}.")
