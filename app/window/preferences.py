"""What the window remembers between two days, and the dialog that changes it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, get_args

from PySide6.QtCore import QByteArray, QSettings, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QLineEdit,
    QWidget,
)

from app.window.dialog_buttons import OK, take_or_cancel
from app.window.theme import Look

RECENT = 8
LOOK_WORDS: dict[Look, str] = {
    "system": "Like the desktop",
    "light": "Light",
    "dark": "Dark",
    "contrast": "High contrast",
}


class Preferences:
    """A thin cover over QSettings with names and defaults."""

    def __init__(self) -> None:
        self._settings = QSettings(
            QSettings.Format.IniFormat, QSettings.Scope.UserScope, "Tintwell", "window"
        )

    def _get(self, key: str, default: Any) -> Any:
        return self._settings.value(key, default)

    @property
    def look(self) -> Look:
        """How the window looks."""
        look = str(self._get("look", "system"))
        return look if look in get_args(Look) else "system"  # type: ignore[return-value]

    @look.setter
    def look(self, look: Look) -> None:
        self._settings.setValue("look", look)

    @property
    def person(self) -> str:
        """Code of who keeps readings."""
        return str(self._get("person", "me")) or "me"

    @person.setter
    def person(self, code: str) -> None:
        self._settings.setValue("person", code)

    @property
    def units(self) -> str:
        """Units of amounts: "si" or "us"."""
        return "us" if self._get("units", "si") == "us" else "si"

    @units.setter
    def units(self, system: str) -> None:
        self._settings.setValue("units", system)

    @property
    def region(self) -> str:
        """Whose tables an advice goes by; blank where nobody has chosen yet."""
        return str(self._get("region", ""))

    @region.setter
    def region(self, name: str) -> None:
        self._settings.setValue("region", name)

    @property
    def crop(self) -> str:
        """What is to grow; blank for what each site says."""
        return str(self._get("crop", ""))

    @crop.setter
    def crop(self, name: str) -> None:
        self._settings.setValue("crop", name)

    @property
    def sound(self) -> bool:
        """Whether clocks ring."""
        return str(self._get("sound", "true")).casefold() == "true"

    @sound.setter
    def sound(self, on: bool) -> None:
        self._settings.setValue("sound", "true" if on else "false")

    @property
    def recent(self) -> tuple[Path, ...]:
        """Surveys that were open lately, newest first; those that are gone are left out."""
        said = self._get("recent", [])
        names: Sequence[str] = [said] if isinstance(said, str) else said
        return tuple(path for path in map(Path, names) if (path / "survey.sqlite").is_file())

    def remember_survey(self, folder: Path) -> None:
        """Put a survey first among the recent ones."""
        folder = folder.resolve()
        others = [path for path in self.recent if path != folder]
        self._settings.setValue("recent", [str(path) for path in [folder, *others][:RECENT]])

    def folder(self, purpose: str) -> str:
        """Return the folder that was last used for a purpose, the user's own at first."""
        return str(self._get(f"folder/{purpose}", str(Path.home())))

    def remember_folder(self, purpose: str, folder: Path) -> None:
        """Note the folder that was used for a purpose."""
        self._settings.setValue(f"folder/{purpose}", str(folder))

    def state(self, what: str) -> QByteArray | None:
        """Return the remembered shape of a window or splitter."""
        state = self._get(f"state/{what}", None)
        return state if isinstance(state, QByteArray) else None

    def remember_state(self, what: str, state: QByteArray) -> None:
        """Note the shape of a window or splitter."""
        self._settings.setValue(f"state/{what}", state)


class PreferencesDialog(QDialog):
    """Changes the preferences.

    Signals
    -------
    taken()
        They were changed.
    """

    taken = Signal()

    def __init__(self, preferences: Preferences, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Preferences")
        self._preferences = preferences
        form = QFormLayout(self)
        self.look = QComboBox()
        for look, words in LOOK_WORDS.items():
            self.look.addItem(words, look)
        self.look.setCurrentIndex(self.look.findData(preferences.look))
        form.addRow("&Look", self.look)
        self.person = QLineEdit(preferences.person)
        self.person.setToolTip("Readings carry this code, not your name.")
        form.addRow("&Your code", self.person)
        self.units = QComboBox()
        self.units.addItem("kg/ha, g/m², t/ha", "si")
        self.units.addItem("lb/acre, lb/1000 ft²", "us")
        self.units.setCurrentIndex(self.units.findData(preferences.units))
        form.addRow("&Units of amounts", self.units)
        self.sound = QCheckBox("Clocks ring when their time comes")
        self.sound.setChecked(preferences.sound)
        form.addRow("", self.sound)
        form.addRow(take_or_cancel(self, self._take, OK))

    def _take(self) -> None:
        self._preferences.look = self.look.currentData()
        self._preferences.person = " ".join(self.person.text().split()) or "me"
        self._preferences.units = self.units.currentData()
        self._preferences.sound = self.sound.isChecked()
        self.taken.emit()
        self.accept()
