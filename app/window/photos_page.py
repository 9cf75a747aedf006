"""The Photos page: photos at the left, one of them large, what it says at the right."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import (
    QHBoxLayout,
    QSplitter,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.desk import DeskPhoto
from app.window.chart_menu import ChartButton
from app.window.empty_desk import EmptyDesk
from app.window.keeping import Keeper
from app.window.labels import ElidedLabel
from app.window.naming import Namer
from app.window.outline_panel import OutlinePanel
from app.window.page import Page, Tools
from app.window.photo_actions import PhotoActions
from app.window.photo_list import PhotoList
from app.window.photo_pane import PhotoPane
from app.window.photo_pictures import PhotoPictures
from app.window.reading_pane import WIDTH, ReadingPane
from app.window.theme import SPACE
from app.window.tube_table import TubeTable
from app.wording import say_count

POINTER_HINT = "Point at the photo to see its color; click a tube to see its reading."
STATES = ("photos columns", "photos rows")


class PhotosPage(Page):
    """Photos, read and named, until they are kept."""

    name = "Photos"
    symbol_name = "photos"

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(tools, parent)
        self.pictures = PhotoPictures(tools.bench, self)
        self.keeper = Keeper(tools, self)
        self.keeper.asked.connect(self.asked)
        self.acts = PhotoActions(self)
        self.strip = PhotoList(tools.model, self.pictures)
        self.strip.setMinimumWidth(210)
        self.strip.setMaximumWidth(300)
        self.pane = PhotoPane(tools.model, self.pictures, self.acts.zoom)
        self.outline_panel = OutlinePanel(self.pane.editor, self.acts.outlines)
        self.reading = ReadingPane(tools.model)
        self.reading.asked.connect(self.asked)
        self.charts = ChartButton(tools)
        self.charts.asked.connect(self.asked)
        self.table = TubeTable(tools.model)
        self.namer = Namer(tools, self.strip, self.table, self)
        self.probe = ElidedLabel("muted")
        self.probe.setText(POINTER_HINT)
        self._lay_out()
        self._connect()
        self._follow()

    # -- building -----------------------------------------------------------------------------

    def _lay_out(self) -> None:
        under = QWidget()
        below = QVBoxLayout(under)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(0)
        self.probe.setContentsMargins(SPACE, SPACE // 2, SPACE, SPACE // 2)
        self.probe.setAccessibleName("Color under the pointer")
        upper = QWidget()
        above = QVBoxLayout(upper)
        above.setContentsMargins(0, 0, 0, 0)
        above.setSpacing(0)
        above.addWidget(self.pane, 1)
        above.addWidget(self.probe)
        above.addWidget(self.outline_panel)
        below.addWidget(self.table)
        self.rows = QSplitter(Qt.Orientation.Vertical)
        self.rows.addWidget(upper)
        self.rows.addWidget(under)
        self.rows.setStretchFactor(0, 1)
        self.rows.setSizes([520, 150])
        right = QWidget()
        right.setMaximumWidth(460)
        beside = QVBoxLayout(right)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(0)
        charts = QHBoxLayout()
        charts.setContentsMargins(SPACE, SPACE, SPACE, SPACE // 2)
        charts.addWidget(self.charts)
        beside.addLayout(charts)
        beside.addWidget(self.reading, 1)
        self.columns = QSplitter(Qt.Orientation.Horizontal)
        for widget in (self.strip, self.rows, right):
            self.columns.addWidget(widget)
        for place, share in enumerate((1, 4, 1)):
            self.columns.setStretchFactor(place, share)
        self.columns.setSizes([226, 620, WIDTH])
        self.columns.setChildrenCollapsible(False)
        self.rows.setChildrenCollapsible(False)
        self._faces = QStackedLayout(self)
        self._faces.addWidget(EmptyDesk(self.asked))
        self._faces.addWidget(self.columns)

    def _connect(self) -> None:
        model = self.tools.model
        self.strip.remove_asked.connect(self.remove)
        self.pane.probed.connect(lambda said: self.probe.setText(said or POINTER_HINT))
        self.pane.editor.changed.connect(self.acts.allow)
        for signal in (model.photos_changed, model.chosen_changed, model.survey_changed):
            signal.connect(self._follow)
        for place, splitter in zip(STATES, (self.columns, self.rows), strict=True):
            state = self.tools.preferences.state(place)
            if state is not None:
                splitter.restoreState(state)

    # -- what the window asks -----------------------------------------------------------------

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the toolbar and the menu."""
        acts = self.acts
        return (acts.add, None, acts.names, acts.move, None, acts.keep, acts.copy)

    def menu_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the menu alone."""
        acts = self.acts
        return (
            acts.same, acts.keep_all, acts.take_back, acts.pictures, acts.remove, None,
            *acts.outlines, None, *acts.steps, None, *acts.zoom,
        )  # fmt: skip

    def closing(self) -> None:
        """Remember how wide the columns are, and make no more pictures."""
        self.pictures.close()
        for place, splitter in zip(STATES, (self.columns, self.rows), strict=True):
            self.tools.preferences.remember_state(place, splitter.saveState())

    # -- what the user does -------------------------------------------------------------------

    def _follow(self) -> None:
        desk = self.tools.model.desk
        self._faces.setCurrentIndex(1 if desk.photos else 0)
        if not desk.photos and self.pane.editor.is_on:
            self.acts.move.trigger()
        self.acts.allow()

    def step(self, photos: int, tubes: int) -> None:
        """Go on to another photo, or to another tube of this one."""
        if photos:
            self.strip.step(photos)
            return
        desk = self.tools.model.desk
        photo = desk.chosen_photo
        count = 0 if photo is None or photo.look is None else len(photo.look.tubes)
        tube = (desk.tube or 0) + tubes
        if 1 <= tube <= count:
            self.tools.model.choose(desk.chosen, tube)

    def switch_outlines(self) -> None:
        """Begin or end moving outlines."""
        self.pane.editor.switch(self.acts.move.isChecked())
        if self.acts.move.isChecked():
            self.pane.view.setFocus()

    def draw_region(self) -> None:
        """Let the next drag on the photo draw a region."""
        self.pane.editor.draw()
        self.pane.view.setFocus()

    def remove(self) -> None:
        """Take the chosen photos off the desk; asks where something would be lost."""
        chosen = self.tools.model.desk.chosen
        paths = self.strip.selected() or (() if chosen is None else (chosen,))
        there = [self.tools.model.desk.photo(path) for path in paths]
        said = [
            photo for photo in there if photo is not None and photo.edits != type(photo.edits)()
        ]
        if not paths:
            return
        if said and not self.tools.messages.ask(
            f"Take {say_count(len(paths), 'photo')} off the desk?",
            "The names and outlines that you gave them are forgotten. The files and what was kept "
            "of them stay.",
            "Take off",
        ):
            return
        self.tools.model.remove_photos(paths)

    def _selected(self) -> list[DeskPhoto]:
        wanted = set(self.strip.selected()) | {self.tools.model.desk.chosen}
        return [photo for photo in self.tools.model.desk.photos if photo.path in wanted]

    def keep_chosen(self) -> None:
        """Keep the readings of the chosen photos."""
        self.keeper.keep(self._selected())

    def keep_all(self) -> None:
        """Keep all readings on the desk."""
        self.keeper.keep(self.tools.model.desk.photos)

    def copy_table(self) -> None:
        """Copy all readings on the desk as tab-separated text."""
        from app.desk_table import desk_table

        text, count = desk_table(self.tools.model.desk)
        QGuiApplication.clipboard().setText(text)
        self.tools.messages.tell(f"Copied a table of {say_count(count, 'reading')}.")

    def save_pictures(self) -> None:
        """Write pictures of the chosen photos, with outlines and readings, into a folder."""
        folder = self.tools.messages.ask_folder("Save pictures with outlines", "pictures")
        if folder is None:
            return
        from app.tasks.overlay import draw_overlays

        work = draw_overlays(
            [(p.path, p.look.lines) for p in self._selected() if p.look is not None], folder
        )
        self.tools.bench.start(
            "Saving pictures",
            work,
            on_finished=self._tell_pictures,
            on_failed=self.tools.messages.complain,
        )

    def _tell_pictures(self, files: Sequence[object]) -> None:
        self.tools.messages.tell(f"Saved {say_count(len(files), 'picture')}.")
