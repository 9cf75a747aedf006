"""The one window: rail of pages, menus, toolbar, status bar, and what they share."""

from collections.abc import Sequence
from datetime import timedelta
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import (
    QAction,
    QActionGroup,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QKeySequence,
)
from PySide6.QtWidgets import (
    QApplication,
    QDockWidget,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QMenu,
    QSizePolicy,
    QStackedWidget,
    QToolBar,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.window.clock_panel import ClockPanel
from app.window.desk_model import DeskModel
from app.window.folder_watcher import FolderWatcher
from app.window.long_work import WorkBench
from app.window.messages import SHOWN_MS, Messages
from app.window.page import Page, PagePlan, Tools, make_action
from app.window.photo_reader import PhotoReader
from app.window.preferences import LOOK_WORDS, Preferences, PreferencesDialog
from app.window.remembered_desk import RememberedDesk
from app.window.start_page import StartPage
from app.window.symbols import symbol
from app.window.theme import Look, wear
from app.window.work_bar import WorkBar
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
        self.watcher = FolderWatcher(self.bench, self)
        self.watcher.arrived.connect(self.take_photos)
        self.watcher.lost.connect(self._say_watch)
        self.messages = Messages(self, preferences)
        self.tools = Tools(
            model=self.model, bench=self.bench, preferences=preferences, messages=self.messages
        )
        self._plans = tuple(plans)
        self._built: dict[str, Page] = {}
        self.remembered: RememberedDesk | None = None
        self._make_actions()
        self._make_places()
        self._make_clocks()
        self._make_status()
        self._add_place(StartPage.name, StartPage.symbol_name)
        for plan in self._plans:
            self._add_place(plan.name, plan.symbol_name)
        self._make_menus()
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

    def _make_actions(self) -> None:
        def make(text: str, slot: object, *more: object, **named: object) -> QAction:
            return make_action(self, text, slot, *more, **named)  # type: ignore[arg-type]

        key = QKeySequence.StandardKey
        self.new_action = make("&New survey…", self.ask_new_survey, shortcut=key.New)
        self.open_action = make(
            "&Open survey…", self.ask_survey, symbol_name="open", shortcut=key.Open
        )
        self.demo_action = make("Open the &demo survey", self.open_demo)
        self.close_action = make("&Close survey", self.model.close_survey)
        self.photos_action = make(
            "&Add photos…", self.ask_photos, symbol_name="add", shortcut="Ctrl+Shift+O"
        )
        self.folder_action = make("Add a &folder of photos…", self.ask_photo_folder)
        self.paste_action = make("&Paste photos", self.paste_photos, shortcut=key.Paste)
        self.quit_action = make("&Quit", self.close, shortcut=key.Quit)
        stack = self.model.undo_stack
        self.undo_action = stack.createUndoAction(self, "&Undo")
        self.undo_action.setShortcut(QKeySequence(key.Undo))
        self.undo_action.setIcon(symbol("undo"))
        self.undo_action.setPriority(QAction.Priority.LowPriority)  # icon alone in the toolbar
        self.redo_action = stack.createRedoAction(self, "&Redo")
        self.redo_action.setShortcuts([QKeySequence(key.Redo), QKeySequence("Ctrl+Y")])
        self.redo_action.setIcon(symbol("redo"))
        self.redo_action.setPriority(QAction.Priority.LowPriority)
        self.preferences_action = make(
            "&Preferences…", self.ask_preferences, shortcut=key.Preferences
        )
        self.guide_action = make(
            "&First use", lambda: self._help("guide"), symbol_name="help", shortcut=key.HelpContents
        )
        self.shortcuts_action = make("&Shortcuts", lambda: self._help("shortcuts"))
        self.safety_action = make("S&afety notes", lambda: self._help("safety"))
        self.clock_action = make("New &clock…", self._ask_clock, symbol_name="clock")
        self.watch_action = make(
            "&Watch a folder…",
            self.ask_watch,
            symbol_name="watch",
            checkable=True,
            tip="Read photos as they arrive in a folder",
        )
        self.camera_action = make("&Camera…", self.open_camera, symbol_name="camera")
        self.labels_action = make("Print &labels…", self.ask_labels, symbol_name="label")
        self.log_action = make("Show the &log", lambda: self._help("log"))
        self.about_action = make("A&bout Tintwell", lambda: self._help("about"))
        self.stop_action = make("Stop the work", self._stop_work, shortcut=key.Cancel)
        self.addAction(self.stop_action)

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
            _fill(menu, actions)
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

    def _make_menus(self) -> None:
        bar = self.menuBar()
        survey = bar.addMenu("&Survey")
        survey.addActions([self.new_action, self.open_action])
        self.recent_menu = QMenu("Open &recent", survey)
        self.recent_menu.aboutToShow.connect(self._list_recent)
        survey.addMenu(self.recent_menu)
        survey.addAction(self.demo_action)
        survey.addSeparator()
        survey.addActions([self.photos_action, self.folder_action])
        survey.addSeparator()
        survey.addActions([self.close_action, self.quit_action])
        edit = bar.addMenu("&Edit")
        edit.addActions([self.undo_action, self.redo_action])
        edit.addSeparator()
        edit.addActions([self.paste_action, self.preferences_action])
        view = bar.addMenu("&View")
        view.addActions(self._page_group.actions())
        view.addSeparator()
        looks = view.addMenu("&Look")
        self._look_group = QActionGroup(self)
        for look, words in LOOK_WORDS.items():
            action = make_action(self, words, partial(self.set_look, look), checkable=True)
            action.setChecked(look == self.preferences.look)
            self._look_group.addAction(action)
            looks.addAction(action)
        self._page_menus = {name: bar.addMenu(f"&{name}") for name in self._names}
        for menu in self._page_menus.values():
            menu.menuAction().setVisible(False)
        bench = bar.addMenu("&Bench")
        bench.addActions([self.clock_dock.toggleViewAction(), self.clock_action])
        bench.addSeparator()
        bench.addActions([self.watch_action, self.camera_action, self.labels_action])
        help_menu = bar.addMenu("&Help")
        help_menu.addActions([self.guide_action, self.shortcuts_action, self.safety_action])
        help_menu.addSeparator()
        help_menu.addActions([self.log_action, self.about_action])

    def _make_status(self) -> None:
        self.survey_label = QLabel()
        self.survey_label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.watch_label = QLabel()
        self.statusBar().addPermanentWidget(self.watch_label)
        self.work_bar = WorkBar(self.bench, self.reader)
        self.statusBar().addPermanentWidget(self.work_bar)
        self.statusBar().addPermanentWidget(self.survey_label)

    def _make_clocks(self) -> None:
        self.clocks = ClockPanel(self.tools)
        self.clock_dock = QDockWidget("Clocks", self)
        self.clock_dock.setObjectName("clocks")
        self.clock_dock.setWidget(self.clocks)
        self.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, self.clock_dock)
        self.clock_dock.hide()
        action = self.clock_dock.toggleViewAction()
        action.setShortcut(QKeySequence("Ctrl+K"))
        action.setText("&Clocks")
        self.model.clock_set.connect(self._tell_offset)

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
            _fill(self.toolbar, actions)
        else:
            _fill(self.toolbar, [self.open_action, self.photos_action])
        _fill(self.toolbar, [None, self.undo_action, self.redo_action])
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
            "photos": self.ask_photos,
            "folder": self.ask_photo_folder,
            "survey": self.ask_new_survey,
            "open survey": self.ask_survey,
            "open chart": self.ask_chart,
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
        self.close_action.setEnabled(survey is not None)
        if survey is None:
            self.setWindowTitle("Tintwell")
            self.survey_label.setText("No survey is open")
            return
        name = survey.survey.name
        self.setWindowTitle(f"{name} – Tintwell")
        locked = " (read-only)" if survey.read_only_because else ""
        self.survey_label.setText(
            f"{name}{locked}, {survey.count} readings kept, you are {self.model.desk.person}"
        )
        self.survey_label.setToolTip(survey.read_only_because or str(survey.folder))

    def _list_recent(self) -> None:
        self.recent_menu.clear()
        for folder in self.preferences.recent:
            action = self.recent_menu.addAction(f"{folder.name}   ({folder.parent})")
            action.triggered.connect(lambda *_, folder=folder: self.open_survey(folder))
        if self.recent_menu.isEmpty():
            self.recent_menu.addAction("None yet").setEnabled(False)

    # -- photos -----------------------------------------------------------------------------

    def ask_photos(self) -> None:
        """Let the user choose photos."""
        from app.tasks.photo_files import PHOTO_ENDINGS

        kinds = " ".join(f"*{ending} *{ending.upper()}" for ending in sorted(PHOTO_ENDINGS))
        paths = self.messages.ask_files("Add photos", "photos", f"Photos ({kinds});;All files (*)")
        self.take_photos(paths)

    def ask_photo_folder(self) -> None:
        """Let the user choose a folder of photos."""
        folder = self.messages.ask_folder("Add a folder of photos", "photos")
        if folder is not None:
            self.take_photos((folder,))

    def take_photos(self, paths: Sequence[Path]) -> None:
        """Lay photos open, and all photos of folders."""
        from app.tasks.photo_files import expand

        if not paths:
            return
        try:
            names = expand([str(path) for path in paths])
        except TintwellError as error:
            self.messages.complain(error)
            return
        new = self.model.add_photos(Path(name) for name in names)
        again = len(names) - len(new)
        said = f"{len(new)} photos added" + (f", {again} were there already" if again else "")
        self.messages.tell(f"{said}.")
        if new:
            self.model.choose(new[0])
        self.show_page("Photos")

    def paste_photos(self) -> None:
        """Take photos from the clipboard: files, or a picture as it is."""
        from app.window.pasted import pasted_photos

        focus = QApplication.focusWidget()
        if focus is not None and hasattr(focus, "paste"):
            focus.paste()
            return
        paths = pasted_photos(QApplication.clipboard().mimeData())
        if paths:
            self.take_photos(paths)
        else:
            self.messages.tell("There is no photo in the clipboard.")

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt's name
        """Accept files."""
        if event.mimeData().hasUrls() or event.mimeData().hasImage():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt's name
        """Take what was dropped: a survey is opened, photos are read, a chart is laid open."""
        from app.window.pasted import pasted_photos

        paths = pasted_photos(event.mimeData())
        event.acceptProposedAction()
        self.take_files(paths)

    def take_files(self, paths: Sequence[Path]) -> None:
        """Open files of any kind: surveys, charts, photos and folders of photos."""
        photos = []
        for path in paths:
            if (path / "survey.sqlite").is_file():
                self.open_survey(path)
            elif path.suffix.casefold() == ".json":
                self.open_chart(path)
            else:
                photos.append(path)
        self.take_photos(photos)

    def ask_chart(self) -> None:
        """Let the user choose the file of a chart."""
        path = self.messages.ask_file("Open chart", "chart", "Charts (*.json);;All files (*)")
        if path is not None:
            self.open_chart(path)

    def open_chart(self, path: Path) -> None:
        """Lay a chart's file open."""
        from calibration.chart_file import load_chart

        try:
            chart = load_chart(path)
        except TintwellError as error:
            self.messages.complain(error)
            return
        self.model.add_chart(chart, path)
        self.messages.tell(f"Opened the chart '{chart.name}'.")
        self.show_page("Charts")

    # -- bench --------------------------------------------------------------------------------

    def _ask_clock(self) -> None:
        self.clock_dock.show()
        self.clocks.ask_clock()

    def _tell_offset(self, camera: str, ahead: timedelta) -> None:
        seconds = ahead.total_seconds()
        side = "ahead" if seconds >= 0 else "behind"
        self.messages.tell(f"The clock of {camera} is {abs(seconds):.0f} s {side}; noted.")

    def ask_watch(self) -> None:
        """Begin or end to watch a folder."""
        if self.watcher.folder is not None:
            self.watcher.stop()
            self._say_watch("The folder is no longer watched.")
            return
        folder = self.messages.ask_folder("Watch a folder", "watch")
        if folder is not None:
            self.watch(folder)
        self.watch_action.setChecked(self.watcher.folder is not None)

    def watch(self, folder: Path) -> None:
        """Read photos as they arrive in a folder."""
        try:
            self.watcher.start(folder)
        except OSError as error:
            self.messages.complain(
                TintwellError(
                    f"The folder {folder} cannot be read ({error.strerror}).",
                    what_to_do="Choose another folder.",
                )
            )
            return
        self._say_watch(f"Watching {folder}: new photos are read as they arrive.")

    def _say_watch(self, text: str) -> None:
        self.watch_action.setChecked(self.watcher.folder is not None)
        folder = self.watcher.folder
        self.watch_label.setText("" if folder is None else f"Watching {folder.name}")
        self.messages.tell(text)

    def open_camera(self) -> None:
        """Show the live picture of the first camera."""
        from app.window.camera_dialog import CameraDialog

        folder = Path(self.preferences.folder("photos"))
        dialog = CameraDialog(0, folder, self.bench, self)
        dialog.taken.connect(lambda path: self.take_photos((path,)))
        dialog.open()

    def ask_labels(self) -> None:
        """Let the user print labels for samples."""
        from app.window.label_dialog import LabelDialog

        survey = self.model.desk.survey
        names = [] if survey is None else [sample.label for sample in survey.survey.samples]
        LabelDialog(names, self.messages, self).open()

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

    def _help(self, what: str) -> None:
        from app.window.help_dialog import HelpDialog

        HelpDialog(what, self).open()

    def _stop_work(self) -> None:
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
        self.watcher.stop()
        self.reader.close()
        for page in self._built.values():
            page.closing()
        self.bench.close()
        self.model.close_survey()
        event.accept()


def _fill(place: QMenu | QToolBar, actions: Sequence[QAction | None]) -> None:
    for action in actions:
        if action is None:
            place.addSeparator()
        else:
            place.addAction(action)
