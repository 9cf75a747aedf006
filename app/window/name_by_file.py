"""Gives the photos on the desk to samples by their file names."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QInputDialog, QWidget

from app.window.page import Tools, make_action
from app.wording import say_count

if TYPE_CHECKING:
    from app.desk import DeskPhoto, PhotoEdits
    from app.tasks.match_photos import Matched, MatchOrder

WAYS = (
    "by the names of the samples in the file names",
    "by a pattern of the file names",
    "by the time between indicator and photo",
)
PATTERN = "{sample}_{replicate}"


class NameByFile(QObject):
    """Matches photos to samples of the open survey; what was matched can be undone."""

    def __init__(self, tools: Tools, window: QWidget) -> None:
        super().__init__(window)
        self._tools, self._window = tools, window
        self.action = make_action(self, "Gi&ve photos to samples…", self.ask)

    def ask(self) -> None:
        """Let the user say how photos and samples belong together."""
        from app.tasks.match_photos import MatchOrder

        way, sure = QInputDialog.getItem(
            self._window, "Give photos to samples", "Match the photos on the page Photos",
            WAYS, 0, False,
        )  # fmt: skip
        if not sure:
            return
        pattern = None
        if way == WAYS[1]:
            pattern, sure = QInputDialog.getText(
                self._window, "Give photos to samples",
                "What the names look like; {any} stands for anything", text=PATTERN,
            )  # fmt: skip
            if not sure:
                return
        self.match(MatchOrder(pattern=pattern or None, by_time=way == WAYS[2]))

    def match(self, order: MatchOrder) -> None:
        """Match the photos on the work bench."""
        from app.tasks.match_photos import match_photos

        opened, photos = self._tools.model.desk.survey, self._tools.model.desk.photos
        if opened is None or not photos:
            self._tools.messages.tell("Add photos on the page Photos first.")
            return
        self._tools.bench.start(
            "Matching photos",
            match_photos(opened.survey, [str(photo.path) for photo in photos], order),
            on_finished=self._take,
            on_failed=self._tools.messages.complain,
        )

    def _take(self, matched: Matched) -> None:
        from app.tube_reading import TubeEntry

        changes: dict[Path, PhotoEdits] = {}
        for match in matched.matches:
            photo = self._tools.model.desk.photo(Path(match.photo))
            if photo is None or match.sample is None:
                continue
            edits, tubes = photo.edits, _tubes(photo)
            for tube in tubes:
                number = str(tube) if len(tubes) > 1 else None
                replicate = ".".join(filter(None, (match.replicate, number))) or None
                edits = edits.with_entry(tube, TubeEntry(sample=match.sample, replicate=replicate))
            changes[photo.path] = edits
        self._tools.model.edit(changes, "give photos to samples")
        left = len(matched.matches) - len(changes)
        said = f"Gave {say_count(len(changes), 'photo')} to samples"
        rest = f"; no sample was found for {left}" if left else ""
        self._tools.messages.tell(f"{said}{rest}.")


def _tubes(photo: DeskPhoto) -> tuple[int, ...]:
    found = 1 if photo.look is None else max(1, len(photo.look.tubes))
    return tuple(range(1, found + 1))
