"""The one window: rail of pages, menus, toolbar, status bar, and what they share."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QActionGroup, QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QSizePolicy,
    QStackedWidget,
    QToolBar,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.window.bench_tools import BenchTools
from app.window.desk_model import DeskModel
from app.window.long_work import WorkBench
from app.window.messages import SHOWN_MS, Messages
from app.window.page import Page, PagePlan, Tools, make_action
from app.window.photo_reader import PhotoReader
from app.window.preferences import Preferences, PreferencesDialog
from app.window.remembered_desk import RememberedDesk
from app.window.start_page import StartPage
from app.window.theme import Look, wear
from app.window.ways_in import WaysIn
from app.window.window_actions import WindowActions, fill
from app.window.work_bar import WorkBar
from app.wording import say_count
from colorcore.errors import TintwellError

RAIL_WIDTH = 92
IDLE_MS = 30  # between two pages that are built ahead
FIRST_SIZE = QSize(1280, 800)


class MainWindow(QMainWindow):
    """Holds the pages together.

    Parameters
    ----------
    preferences : Preferences
        What is remembered.
    plans : sequence of PagePlan
        The pages behind the start page, in the order of the rail. They are built when they are
        asked for, or one by one when the window has nothing else to do.
    """

    def __init__(self, preferences: Preferences, plans: Sequence[PagePlan]) -> None:
        super().__init__()
        self.setObjectName("main")
        self.setWindowTitle("Tintwell")
        self.setAcceptDrops(True)
        self.resize(FIRST_SIZE)
        self.preferences = preferences
        self.model = DeskModel(self)
        self.model.set_person(preferences.person)
        self.bench = WorkBench(self)
        self.reader = PhotoReader(self.model, self.bench, self)
        self.messages = Messages(self, preferences)
        self.tools = Tools(
            model=self.model, bench=self.bench, preferences=preferences, messages=self.messages
        )
        self._plans = tuple(plans)
        self._built: dict[str, Page] = {}
        self.remembered: RememberedDesk | None = None
        self.ways_in = WaysIn(self)
        self.bench_tools = BenchTools(self)
        self.does = WindowActions(self)
        self._make_places()
        self._make_status()
        self._add_place(StartPage.name, StartPage.symbol_name)
        for plan in self._plans:
            self._add_place(plan.name, plan.symbol_name)
        self._page_menus = self.does.fill_bar(self._page_group.actions(), self._names)
        start = StartPage(self.tools)
        start.survey_asked.connect(self.open_survey)
        self._take_page(start)
        self.messages.told.connect(lambda text: self.statusBar().showMessage(text, SHOWN_MS))
        self.model.survey_changed.connect(self._name_survey)
        self.model.readings_changed.connect(self._name_survey)
        self._name_survey()
        self.show_page("Start")
        self._restore()

    # -- building ---------------------------------------------------------------------------

    def _make_places(self) -> None:
        self.rail = QFrame()
        self.rail.setObjectName("rail")
        self.rail.setFixedWidth(RAIL_WIDTH)
        self.rail.setAccessibleName("Pages")
        self._rail_box = QVBoxLayout(self.rail)
        self._rail_box.setContentsMargins(0, 4, 0, 4)
        self._rail_box.setSpacing(2)
        self._rail_box.addStretch()
        self.stack = QStackedWidget()
        middle = QWidget()
        row = QHBoxLayout(middle)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self.rail)
        row.addWidget(self.stack, 1)
        self.setCentralWidget(middle)
        self.toolbar = QToolBar("Tools")
        self.toolbar.setObjectName("tools")
        self.toolbar.setMovable(False)
        self.toolbar.setIconSize(QSize(20, 20))
        self.toolbar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.toolbar.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        self.addToolBar(self.toolbar)
        self._page_group = QActionGroup(self)

    def _add_place(self, name: str, symbol_name: str) -> None:
        """Keep a place in the rail and the stack for a page that is built later."""
        number = self.stack.count()
        action = make_action(
            self,
            name,
            partial(self.show_page, name),
            symbol_name=symbol_name,
            shortcut=f"Ctrl+{number}",
            tip=f"Show the page {name}",
            checkable=True,
        )
        self._page_group.addAction(action)
        button = QToolButton()
        button.setDefaultAction(action)
        button.setIconSize(QSize(26, 26))
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
        button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._rail_box.insertWidget(number, button)
        self.stack.addWidget(QWidget())

    def _take_page(self, page: Page) -> None:
        """Put a page that was built into its place, and its menu into the bar."""
        number = self._names.index(page.name)
        self._built[page.name] = page
        place = self.stack.widget(number)
        self.stack.insertWidget(number, page)
        if place is not None:
            self.stack.removeWidget(place)
            place.deleteLater()
        page.wanted.connect(self.show_page)
        page.asked.connect(self.run_errand)
        actions = [*page.page_actions(), *page.menu_actions()]
        if actions:
            menu = self._page_menus[page.name]
            fill(menu, actions)
            menu.menuAction().setVisible(True)

    @property
    def _names(self) -> tuple[str, ...]:
        return (StartPage.name, *(plan.name for plan in self._plans))

    def build_next(self) -> None:
        """Build one page that is not there yet; the next one follows when the window is idle."""
        name = next((name for name in self._names if name not in self._built), None)
        if name is not None and not self.bench.is_closed:
            self.find_page(name)
            QTimer.singleShot(IDLE_MS, self.build_next)

    def _make_status(self) -> None:
        self.survey_label = QLabel()
        self.survey_label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.statusBar().addPermanentWidget(self.bench_tools.watch_label)
        self.work_bar = WorkBar(self.bench, self.reader)
        self.statusBar().addPermanentWidget(self.work_bar)
        self.statusBar().addPermanentWidget(self.survey_label)

    # -- pages ------------------------------------------------------------------------------

    @property
    def pages(self) -> tuple[Page, ...]:
        """All pages, built where they were not yet."""
        return tuple(self.find_page(name) for name in self._names)

    @property
    def page(self) -> Page:
        """The page that is shown."""
        return self.find_page(self._names[self.stack.currentIndex()])

    def find_page(self, name: str) -> Page:
        """Return a page by its name; it is built where it was not yet."""
        if name not in self._built:
            plan = next(plan for plan in self._plans if plan.name == name)
            self._take_page(plan.load()(self.tools))
        return self._built[name]

    def show_page(self, name: str) -> None:
        """Bring a page to the front, with its tools."""
        self.find_page(name)
        place = self._names.index(name)
        self.stack.setCurrentIndex(place)
        self._page_group.actions()[place].setChecked(True)
        for action in self.toolbar.actions():  # clear() would delete the undo stack's actions
            self.toolbar.removeAction(action)
        actions = self.page.page_actions()
        if actions:
            fill(self.toolbar, actions)
        else:
            fill(self.toolbar, [self.does.open, self.does.photos])
        fill(self.toolbar, [None, self.does.undo, self.does.redo])
        self.page.shown()
        self.page.setFocus()

    def calibrate(self) -> None:
        """Begin a new chart, or go on with the one that is being made."""
        from app.window.charts_page import ChartsPage

        self.show_page("Charts")
        if isinstance(self.page, ChartsPage):
            self.page.calibrate()

    def run_errand(self, errand: str) -> None:
        """Do what a page asks for."""
        errands = {
            "demo": self.open_demo,
            "calibrate": self.calibrate,
            "photos": self.ways_in.ask_photos,
            "folder": self.ways_in.ask_photo_folder,
            "survey": self.ask_new_survey,
            "open survey": self.ask_survey,
            "open chart": self.ways_in.ask_chart,
        }
        errands[errand]()

    # -- survey -----------------------------------------------------------------------------

    def ask_new_survey(self) -> None:
        """Let the user name the folder of a new survey."""
        folder = self.messages.ask_new_file("New survey", "survey", "My survey", "Folder (*)")
        if folder is None:
            return
        try:
            self.model.new_survey(folder)
        except TintwellError as error:
            self.messages.complain(error)
            return
        self.preferences.remember_survey(folder)
        self.messages.tell(f"Made the survey '{folder.name}'.")
        self.show_page("Photos")

    def ask_survey(self) -> None:
        """Let the user choose a survey to open."""
        folder = self.messages.ask_folder("Open survey", "survey")
        if folder is not None:
            self.open_survey(folder)

    def open_survey(self, folder: Path) -> bool:
        """Open a survey and say how it is open; tells whether it could be."""
        try:
            self.model.open_survey(folder)
        except TintwellError as error:
            self.messages.complain(error)
            return False
        self.preferences.remember_survey(folder)
        because = self.model.desk.survey.read_only_because if self.model.desk.survey else None
        self.messages.tell(because or f"Opened the survey '{folder.name}'.")
        self.show_page("Photos")
        return True

    def open_demo(self) -> None:
        """Lay the demo survey on the desk: its charts are made from their photos, then read."""
        from app.window.demo import open_demo

        open_demo(self)

    def _name_survey(self) -> None:
        survey = self.model.desk.survey
        self.does.close.setEnabled(survey is not None)
        if survey is None:
            self.setWindowTitle("Tintwell")
            self.survey_label.setText("No survey is open")
            return
        name = survey.survey.name
        self.setWindowTitle(f"{name} – Tintwell")
        locked = " (read-only)" if survey.read_only_because else ""
        kept = say_count(survey.count, "reading")
        self.survey_label.setText(f"{name}{locked}, {kept} kept, you are {self.model.desk.person}")
        self.survey_label.setToolTip(survey.read_only_because or str(survey.folder))

    # -- files ------------------------------------------------------------------------------

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt's name
        """Accept files."""
        if event.mimeData().hasUrls() or event.mimeData().hasImage():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt's name
        """Take what was dropped: a survey is opened, photos are read, a chart is laid open."""
        from app.window.pasted import pasted_photos

        paths = pasted_photos(event.mimeData())
        event.acceptProposedAction()
        self.ways_in.take_files(paths)

    # -- everything else ----------------------------------------------------------------------

    def set_look(self, look: Look) -> None:
        """Wear a look and remember it."""
        self.preferences.look = look
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        wear(application, look)

    def ask_preferences(self) -> None:
        """Let the user change the preferences."""
        dialog = PreferencesDialog(self.preferences, self)
        dialog.taken.connect(self._take_preferences)
        dialog.open()

    def _take_preferences(self) -> None:
        self.set_look(self.preferences.look)
        self.model.set_person(self.preferences.person)

    def help(self, what: str) -> None:
        """Show a page of help."""
        from app.window.help_dialog import HelpDialog

        HelpDialog(what, self).open()

    def stop_work(self) -> None:
        """Stop the long work that is under way."""
        if self.work_bar.is_busy:
            self.work_bar.stop()

    def _restore(self) -> None:
        shape = self.preferences.state("window")
        if shape is not None:
            self.restoreGeometry(shape)
        docks = self.preferences.state("docks")
        if docks is not None:
            self.restoreState(docks)

    def save_desk(self) -> str:
        """Save what lies on the desk, after a fault; says what became of it."""
        return "" if self.remembered is None else self.remembered.save()

    def remember_desk(self, folder: Path) -> None:
        """Lay out the desk as it was left, and remember it from now on."""
        self.remembered = RememberedDesk(self.model, folder, self)
        try:
            survey = self.remembered.restore()
        except TintwellError as error:
            self.messages.complain(error)
            return
        if survey is not None and (survey / "survey.sqlite").is_file():
            self.open_survey(survey)
        if self.model.desk.photos:
            self.show_page("Photos")
            self.messages.tell("The desk is as you left it.")

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802 - Qt's name
        """Stop work and wait for it, remember the window's shape, close the survey."""
        self.preferences.remember_state("window", self.saveGeometry())
        self.preferences.remember_state("docks", self.saveState())
        if self.remembered is not None:
            self.remembered.close()
        self.bench_tools.watcher.stop()
        self.reader.close()
        for page in self._built.values():
            page.closing()
        self.bench.close()
        self.model.close_survey()
        event.accept()
