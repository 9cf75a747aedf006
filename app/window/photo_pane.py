"""The middle of the Photos page: the large photo with its outlines, its name and the probe."""

from pathlib import Path

from PySide6.QtCore import QPointF, QTimer, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from app.desk import DeskPhoto
from app.desk_outlines import shown_card, shown_tubes
from app.window.desk_model import DeskModel
from app.window.labels import ElidedLabel
from app.window.outline_editor import OutlineEditor
from app.window.outline_ground import DeskGround
from app.window.outline_hands import OutlineHands
from app.window.outline_layer import OutlineLayer
from app.window.photo_pictures import LargePicture, PhotoPictures
from app.window.photo_view import PhotoView
from app.window.theme import SPACE

PROBE_MS = 30


class PhotoPane(QWidget):
    """Shows the chosen photo.

    Signals
    -------
    probed(str)
        The color under the pointer, or "".
    """

    probed = Signal(str)

    def __init__(
        self,
        desk: DeskModel,
        pictures: PhotoPictures,
        zoom_actions: tuple[QAction, ...],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk, self._pictures = desk, pictures
        self._shown: Path | None = None
        self._picture: LargePicture | None = None  # held: its largest image only borrows
        self._pointer: QPointF | None = None
        self.name = ElidedLabel("subheading")
        self.facts = ElidedLabel("muted")
        top = QHBoxLayout()
        top.setContentsMargins(SPACE, SPACE // 2, SPACE // 2, SPACE // 2)
        top.setSpacing(SPACE // 2)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.name)
        words.addWidget(self.facts)
        top.addLayout(words, 1)
        self.scale = QLabel()
        self.scale.setObjectName("muted")
        top.addWidget(self.scale)
        for action in zoom_actions:
            button = QToolButton()
            button.setDefaultAction(action)
            button.setAutoRaise(True)
            top.addWidget(button)
        self.view = PhotoView()
        self.layer = OutlineLayer()
        self.view.scene().addItem(self.layer)
        self.editor = OutlineEditor(DeskGround(desk, self), self.layer, self)
        OutlineHands(self.editor, self.view)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addLayout(top)
        box.addWidget(self.view, 1)
        self._probe_soon = QTimer(self, singleShot=True, interval=PROBE_MS)
        self._probe_soon.timeout.connect(self._probe)
        self.view.clicked.connect(self._click)
        self.view.hovered.connect(self._hover)
        self.view.zoomed.connect(lambda scale: self.scale.setText(f"{100 * scale:.0f} %"))
        pictures.large_came.connect(self._hear)
        desk.chosen_changed.connect(self._show)
        desk.photo_changed.connect(self._hear)
        self._show()

    def _hear(self, path: Path) -> None:
        if path == self._desk.desk.chosen:
            self._show()

    def _show(self) -> None:
        photo = self._desk.desk.chosen_photo
        if photo is None:
            return
        self.name.setText(photo.path.name)
        self.facts.setText(_say_facts(photo))
        picture = self._pictures.large(photo.path)
        if picture is not None and self._shown != photo.path:
            self.view.show_photo(picture.levels, picture.photo.width, picture.photo.height)
            self._shown, self._picture = photo.path, picture
        elif picture is None and self._shown != photo.path:
            self._shown = None
            self.view.show_photo((), 0, 0)
            self._picture = None
        self._show_outlines(photo)

    def _show_outlines(self, photo: DeskPhoto) -> None:
        look, hand = photo.look, photo.edits.hand
        is_seen = look is not None and self._shown is not None
        lines = () if look is None else look.lines
        self.layer.show_outlines(
            self.view.picture.boundingRect(),
            shown_card(look, hand) if look is not None and is_seen else None,
            shown_tubes(look, hand) if look is not None and is_seen else (),
            {line.tube: line.reading.status for line in lines if line.tube is not None},
            self._desk.desk.tube,
        )

    def _click(self, place: QPointF) -> None:
        tube = self.layer.tube_at(place)
        if tube is not None:
            self._desk.choose(self._desk.desk.chosen, tube)

    def _hover(self, place: QPointF | None) -> None:
        self._pointer = place
        if place is None:
            self.probed.emit("")
        elif not self._probe_soon.isActive():
            self._probe_soon.start()

    def _probe(self) -> None:
        photo = self._desk.desk.chosen_photo
        if self._pointer is None or photo is None or self._picture is None:
            return
        from app.tasks.screen_picture import card_light, probe

        seen = probe(
            self._picture.photo,
            self._pointer.x(),
            self._pointer.y(),
            card_light(photo.look),
            self._desk.card_reflectance,
        )
        if seen is None:
            self.probed.emit("")
            return
        lightness, a, b = seen.lab
        how = "balanced on the card" if seen.balanced else "not balanced, no card"
        self.probed.emit(
            f"x {seen.x:.0f}  y {seen.y:.0f}    L* {lightness:.1f}  a* {a:.1f}  b* {b:.1f} "
            f"(D65, {how})    RGB {seen.codes[0]} {seen.codes[1]} {seen.codes[2]}"
        )


def _say_facts(photo: DeskPhoto) -> str:
    look = photo.look
    if look is None:
        return "Waiting to be read"
    if not look.width:
        return "This file cannot be used"
    said = [f"{look.width} × {look.height}"]
    if look.taken_at is not None:
        said.append(look.taken_at.strftime("taken %Y-%m-%d %H:%M"))
    if look.camera:
        said.append(look.camera)
    return ", ".join(said)
