"""The making of a chart in three steps on one page."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import cast

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.tasks.photo_files import PHOTO_ENDINGS, expand
from app.window.calibrate_facts import FactsForm
from app.window.calibrate_finish import FinishStep
from app.window.calibrate_folder import draft_folder, set_draft_aside
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_patches import PatchesStep
from app.window.calibrate_quality import LiveQuality
from app.window.calibrate_sheets import SHEET_ENDINGS, ChartSheets
from app.window.calibrate_tubes import TubesStep
from app.window.chart_plots import PlotLibrary
from app.window.labels import heading, muted
from app.window.page import Tools
from app.window.pasted import pasted_photos
from app.window.photo_pictures import PhotoPictures
from app.window.theme import SPACE
from calibration.chart import ChartKind
from colorcore.errors import TintwellError

STEPS = ("1   What is measured", "2   Photos and values", "3   Check and make")


class CalibratePane(QWidget):
    """Leads from what is measured to a chart that is in use.

    Signals
    -------
    left()
        The user goes back to the list; the draft stays.
    """

    left = Signal()

    def __init__(self, tools: Tools, library: PlotLibrary, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tools = tools
        self.setAcceptDrops(True)
        self.setAccessibleName("Make a chart")
        self.model = CalibrateModel(tools, self)
        self.pictures = PhotoPictures(tools.bench, self)
        self.facts = FactsForm(tools, self.model)
        self.sheets = ChartSheets(tools, self.model, self.pictures, self)
        self.tubes = TubesStep(self.model, self.pictures)
        self.patches = PatchesStep(self.model, self.pictures)
        self.live = LiveQuality(self.model, library)
        self.finish = FinishStep(self.model, library)
        self.kinds = QStackedWidget()
        self.kinds.addWidget(self.tubes)
        self.kinds.addWidget(self.patches)
        middle = QSplitter(Qt.Orientation.Horizontal)
        middle.setChildrenCollapsible(False)
        middle.addWidget(self.kinds)
        middle.addWidget(self.live)
        middle.setStretchFactor(0, 3)
        middle.setStretchFactor(1, 2)
        middle.setSizes([640, 400])
        self.stack = QStackedWidget()
        for step in (self.facts, middle, self.finish):
            self.stack.addWidget(step)
        self._build()
        self.facts.kind_chosen.connect(self._take_kind)
        self.tubes.photos_asked.connect(self.ask_photos)
        self.patches.photos_asked.connect(self.ask_photos)
        self.finish.make_asked.connect(self.model.make)
        self.model.changed.connect(self._refresh)
        self._refresh()
        self.show_step(0)

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, SPACE, 0, SPACE)
        column.setSpacing(SPACE)
        top = QHBoxLayout()
        top.setContentsMargins(2 * SPACE, 0, 2 * SPACE, 0)
        top.addWidget(heading("New chart"))
        top.addSpacing(2 * SPACE)
        self.step_buttons = QButtonGroup(self)
        for place, text in enumerate(STEPS):
            button = QToolButton()
            button.setText(text)
            button.setObjectName("step")
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setShortcut(f"Alt+{place + 1}")
            button.setToolTip(f"Alt+{place + 1}")
            self.step_buttons.addButton(button, place)
            top.addWidget(button)
        self.step_buttons.idClicked.connect(self.show_step)
        top.addStretch()
        column.addLayout(top)
        column.addWidget(self.stack, 1)
        bottom = QHBoxLayout()
        bottom.setContentsMargins(2 * SPACE, 0, 2 * SPACE, 0)
        self.import_button = QPushButton("&Import a sheet…")
        self.import_button.clicked.connect(self.sheets.ask_import)
        self.export_button = QPushButton("E&xport the sheet…")
        self.export_button.clicked.connect(self.sheets.ask_export)
        self.discard_button = QPushButton("Discard")
        self.discard_button.clicked.connect(self.ask_discard)
        aside = QPushButton("&Put aside")
        aside.setToolTip("Back to the list; what was typed is kept")
        aside.clicked.connect(self.left)
        self.back_button = QPushButton("Back")
        self.back_button.setToolTip("To the step before")
        self.next_button = QPushButton("Next")
        self.next_button.setObjectName("main")
        self.back_button.clicked.connect(lambda: self.show_step(self.step - 1))
        self.next_button.clicked.connect(lambda: self.show_step(self.step + 1))
        for widget in (self.import_button, self.export_button):
            bottom.addWidget(widget)
        note = muted("What is typed is kept, also when Tintwell is closed.")
        note.setWordWrap(False)
        bottom.addStretch()
        bottom.addWidget(note)
        bottom.addStretch()
        for widget in (self.discard_button, aside, self.back_button, self.next_button):
            bottom.addWidget(widget)
        column.addLayout(bottom)

    # -- steps --------------------------------------------------------------------------------

    @property
    def step(self) -> int:
        """The step that is shown, from 0."""
        return self.stack.currentIndex()

    def show_step(self, step: int) -> None:
        """Show one of the steps."""
        step = min(max(step, 0), len(STEPS) - 1)
        self.stack.setCurrentIndex(step)
        self.step_buttons.button(step).setChecked(True)
        self.back_button.setEnabled(step > 0)
        self.next_button.setVisible(step < len(STEPS) - 1)
        self.begin()

    def begin(self) -> None:
        """Give the keyboard to what is filled in first."""
        is_printed = self.model.draft.kind == "printed"
        values = self.patches.list if is_printed else self.tubes.list
        first = (self.facts.quantity, values, self.finish.make_button)
        first[self.step].setFocus()

    def _refresh(self) -> None:
        is_printed = self.model.draft.kind == "printed"
        self.kinds.setCurrentWidget(self.patches if is_printed else self.tubes)
        draft = self.model.draft
        self.export_button.setEnabled(bool(draft.patches if is_printed else draft.tubes))
        self.discard_button.setEnabled(not draft.is_blank)

    def _take_kind(self, kind: str) -> None:
        draft = replace(self.model.draft, kind=cast(ChartKind, kind))
        self.model.edit(replace(draft, photos=draft.photos[-1:] if kind == "printed" else
                                draft.photos), "change the kind of chart")  # fmt: skip

    # -- photos -------------------------------------------------------------------------------

    def ask_photos(self) -> None:
        """Let the user choose photos of known tubes."""
        kinds = " ".join(f"*{ending} *{ending.upper()}" for ending in sorted(PHOTO_ENDINGS))
        chosen = self._tools.messages.ask_files(
            "Photos of known values", "standards", f"Photos ({kinds});;All files (*)"
        )
        self.take_files(chosen)

    def take_files(self, paths: Sequence[Path]) -> None:
        """Take photos, folders of photos, and sheets of standards."""
        sheets = [path for path in paths if path.suffix.casefold() in SHEET_ENDINGS]
        photos = [str(path) for path in paths if path not in sheets]
        for sheet in sheets:
            self.sheets.take(sheet)
        try:
            names = expand(photos) if photos else ()
        except TintwellError as error:
            self._tools.messages.complain(error)
            return
        if names:
            self.model.add_photos(Path(name) for name in names)
        if paths and self.step == 0:
            self.show_step(1)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt's name
        """Accept photos and sheets."""
        if event.mimeData().hasUrls() or event.mimeData().hasImage():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt's name
        """Take photos of known tubes where a chart is being made."""
        event.acceptProposedAction()
        self.take_files(pasted_photos(event.mimeData()))

    # -- the draft ----------------------------------------------------------------------------

    def take_up_draft(self) -> None:
        """Ask whether a chart that was being made is taken up again."""
        if not (draft_folder() / "facts.json").is_file():
            return
        if self._tools.messages.ask(
            "A chart was being made when Tintwell was closed.",
            "Take it up again with its photos and values? Otherwise a new one is begun.",
            "Take up again",
        ):
            try:
                self.model.restore()
            except TintwellError as error:
                self._tools.messages.complain(error)
                return
            self.show_step(1 if self.model.draft.photos else 0)
        else:
            set_draft_aside()

    def ask_discard(self) -> None:
        """Forget the draft, if the user is sure."""
        if self._tools.messages.ask(
            "Discard this draft?",
            "Its values are forgotten; photos and finished charts stay as they are.",
            "Discard",
        ):
            self.model.start_anew()
            self.show_step(0)

    def finished(self) -> None:
        """Begin anew after the chart was made."""
        self.model.start_anew()
        self.show_step(0)

    def closing(self) -> None:
        """Save what was typed, make no more pictures."""
        self.model.close()
        self.pictures.close()
