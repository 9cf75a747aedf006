"""Saves the desk soon after every change, and lays it out again at the next start."""

import logging
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QStandardPaths, QTimer

from app.window.desk_model import DeskModel
from colorcore.errors import TintwellError

log = logging.getLogger(__name__)
SOON_MS = 2000


def desk_folder() -> Path:
    """Return where the desk is remembered."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    return Path(QStandardPaths.writableLocation(place)) / "desk"


class RememberedDesk(QObject):
    """Remembers the desk of the first window; a second one leaves it alone."""

    def __init__(self, model: DeskModel, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model, self._folder = model, folder
        folder.mkdir(parents=True, exist_ok=True)
        self._lock = QLockFile(str(folder / "desk.lock"))
        self.is_ours = self._lock.tryLock(0)
        self._timer = QTimer(self, singleShot=True, interval=SOON_MS)
        self._timer.timeout.connect(self._save_soon)
        for signal in (
            model.photos_changed, model.chosen_changed, model.charts_changed,
            model.survey_changed, model.clocks_changed,
        ):  # fmt: skip
            signal.connect(self._changed)
        model.photo_changed.connect(self._changed)

    def restore(self) -> Path | None:
        """Lay out what was remembered; returns the survey that was open.

        Raises
        ------
        TintwellError
            If what was remembered is damaged.
        """
        from app.tasks.desk_file import load_desk

        if not self.is_ours:
            return None
        remembered = load_desk(self._folder)
        if remembered is None:
            return None
        desk, survey = remembered
        self._model.lay_out(desk)
        return survey

    def save(self) -> str:
        """Save now; says what became of it."""
        from app.tasks.desk_file import save_desk

        self._timer.stop()
        if not self.is_ours:
            return "What lies on this desk is not remembered: another window is open."
        try:
            save_desk(self._model.desk, self._folder)
        except (OSError, TintwellError) as error:
            log.warning("the desk could not be saved: %s", error)
            return f"What lies on the desk could not be saved ({error})."
        return "What lies on the desk was saved."

    def close(self) -> None:
        """Save for the last time and let another window remember its desk."""
        self.save()
        self._lock.unlock()

    def _changed(self, *_: object) -> None:
        if not self._timer.isActive():
            self._timer.start()

    def _save_soon(self) -> None:
        self.save()
