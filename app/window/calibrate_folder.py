"""Where a chart that is being made is kept until it is done."""

from pathlib import Path
from shutil import rmtree

from PySide6.QtCore import QStandardPaths


def draft_folder() -> Path:
    """Return where a chart that is being made is kept."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    return Path(QStandardPaths.writableLocation(place)) / "chart-draft"


def set_draft_aside() -> None:
    """Make room for a new draft; the one that is there is kept beside it, in place of an older."""
    aside = draft_folder().with_name("chart-draft-before")
    if aside.exists():
        rmtree(aside)
    draft_folder().rename(aside)
