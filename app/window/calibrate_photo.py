"""The photos of known tubes, one of them shown with its tubes, its card and their outlines."""

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from app.desk_outlines import CARD_PLACE, ShownTube, shown_card, shown_tubes
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_outlines import DraftOutlines
from app.window.calibrate_step import push_button
from app.window.chart_photo_view import ChartPhotoView, Mark
from app.window.labels import ElidedLabel
from app.window.photo_pictures import PhotoPictures
from app.window.theme import SPACE
from app.wording import say_count
from colorcore.errors import TintwellError


class KnownTubesPhoto(QWidget):
    """Shows one of the draft's photos.

    Signals
    -------
    photos_asked()
        The user wants to choose photos.
    shown_changed()
        Another photo is shown.
    tube_wanted(int)
        A tube of the photo is to be chosen, by its place from 1.
    """

    photos_asked = Signal()
    shown_changed = Signal()
    tube_wanted = Signal(int)

    def __init__(
        self, model: CalibrateModel, pictures: PhotoPictures, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._model, self._pictures = model, pictures
        self.path: Path | None = None
        self.tube: int | None = None
        self.view = ChartPhotoView()
        self.outlines = DraftOutlines(model, self.view, self)
        self.photos = QComboBox()
        self.photos.setAccessibleName("Photo that is shown")
        self.photos.setMinimumContentsLength(14)
        self.state = ElidedLabel("muted")
        self._build()
        self.photos.activated.connect(lambda row: self.show_photo(self.photos.itemData(row)))
        self.view.mark_clicked.connect(lambda place: self._clicked(place + 1))
        self.outlines.ground.tube_wanted.connect(self.tube_wanted)
        self.outlines.editor.changed.connect(self._draw_marks)
        pictures.large_came.connect(lambda _: self._draw())

    def _build(self) -> None:
        row = QHBoxLayout()
        row.addWidget(push_button("&Add photos…", "add", self.photos_asked.emit))
        row.addWidget(self.photos, 1)
        move = QToolButton()
        move.setDefaultAction(self.outlines.move)
        move.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        move.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.remove_button = push_button("", "remove", self._remove_photo)
        self.remove_button.setToolTip("Leave this photo out of the chart")
        self.remove_button.setAccessibleName("Leave this photo out of the chart")
        self.again_button = push_button("Look a&gain", "redo", self._model.look_again)
        for button in (move, self.remove_button, self.again_button):
            row.addWidget(button)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(SPACE // 2)
        box.addLayout(row)
        box.addWidget(self.state)
        box.addWidget(self.view, 1)
        box.addWidget(self.outlines.panel)

    def show_tube(self, path: Path | None, tube: int | None) -> None:
        """Show a photo, and one of its tubes as the chosen one."""
        self.path, self.tube = path, tube
        self.refresh()

    def _clicked(self, tube: int) -> None:
        self.tube_wanted.emit(tube)
        if self.outlines.editor.is_on and self.outlines.editor.place != tube:
            self.outlines.editor.choose(tube)

    def show_photo(self, path: Path) -> None:
        """Show another photo."""
        if path != self.path:
            self.path, self.tube = path, None
            self.shown_changed.emit()

    def refresh(self) -> None:
        """Show what the draft holds."""
        paths = list(self._model.draft.photos)
        if [self.photos.itemData(row) for row in range(self.photos.count())] != paths:
            self.photos.clear()
            for place, path in enumerate(paths, start=1):
                self.photos.addItem(f"{path.name}   ({place} of {len(paths)})", path)
        if self.path not in paths:
            self.path, self.tube = (paths[0] if paths else None), None
        self.photos.setCurrentIndex(paths.index(self.path) if self.path else -1)
        for widget in (self.photos, self.remove_button):
            widget.setEnabled(bool(paths))
        self.again_button.setVisible(bool(self._model.looks.unusable))
        if not paths and self.outlines.move.isChecked():
            self.outlines.move.trigger()
        self.outlines.move.setEnabled(bool(paths))
        self.outlines.ground.show_tube(self.path, self.tube)
        self._draw()

    def _draw(self) -> None:
        self.state.setText(self._say_state(self.path))
        self.view.show_picture(None if self.path is None else self._pictures.large(self.path))
        self.outlines.fit()
        self._draw_marks()

    def _draw_marks(self) -> None:
        seen = None if self.path is None else self._model.looks.look(self.path)
        if seen is None or self.path is None or self.view.picture.boundingRect().isEmpty():
            self.view.show_marks((), None)
            return
        hand, in_hand = self._model.draft.hand(self.path), self.outlines.in_hand()
        tubes = shown_tubes(seen, hand)
        marks = tuple(self._mark(number, tube) for number, tube in enumerate(tubes, start=1))
        card = shown_card(seen, hand)
        if in_hand == CARD_PLACE:
            card = self.outlines.editor.quad()
        self.view.show_marks(marks, card, card_line=in_hand != CARD_PLACE)

    def _mark(self, number: int, tube: ShownTube) -> Mark:
        assert self.path is not None
        said = self._model.draft.tube(self.path, number)
        words = said.label or ""
        if said.role == "blank":
            words = "blank"
        elif said.buffer is not None or said.value is not None:
            try:
                value, _ = said.known()
            except TintwellError:
                value = None
            words = "?" if value is None else f"{value:.4g}"
        is_held = self.outlines.in_hand() == number
        held = self.outlines.editor.quad() if is_held else None
        is_glass, is_chosen = tube.found is not None, number == self.tube
        line_px = 4 if is_chosen else 2
        if is_held:
            line_px = 2 if is_glass else 0
        return Mark(
            quad=tube.vessel if is_glass or held is None else held,
            region=tube.region if is_glass and not is_held else None,
            number=str(number), words=words, is_used=said.is_said,
            is_chosen=is_chosen, line_px=line_px,
        )  # fmt: skip

    def _say_state(self, path: Path | None) -> str:
        if path is None:
            return "Add or drop photos of tubes of known value beside the whole grey card."
        if path in self._model.looks.looking:
            return "Being looked at…"
        if path in self._model.looks.unusable:
            error = self._model.looks.unusable[path]
            return f"⚠ {error.what_happened} {error.what_to_do}"
        seen = self._model.looks.seen.get(path)
        if seen is None:
            return "Not looked at yet."
        drawn = sum(1 for tube in seen.tubes if tube.found is None)
        found = len(seen.tubes) - drawn
        said = f"{say_count(found, 'tube')} found" if found else "No tube was found"
        said += f", {drawn} drawn by hand. " if drawn else ". "
        if not seen.tubes:
            said += "Draw their regions with Outlines. "
        heavy = [r for r in seen.reasons if r.weight != "note"]
        said += " ".join(f"⚠ {r.text} {r.what_to_do}" for r in heavy)
        return said if seen.card else f"{said} If it is in the photo, draw it with Outlines."

    def _remove_photo(self) -> None:
        if self.path is not None:
            self._model.edit(self._model.draft.without_photo(self.path), "leave a photo out")
