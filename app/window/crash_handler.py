"""The window's door: a fault is logged, what is on the desk is saved, and the user is told."""

import logging
import sys
import traceback
from collections.abc import Callable
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QStandardPaths
from PySide6.QtWidgets import QApplication, QMessageBox

from app.window.log_text import UnnamedFormatter

log = logging.getLogger("tintwell.window")
LOG_BYTES = 500_000


def log_file() -> Path:
    """Return where the window's log lies."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    folder = Path(QStandardPaths.writableLocation(place))
    folder.mkdir(parents=True, exist_ok=True)
    return folder / "window.log"


def keep_log() -> None:
    """Write warnings and faults to the log, without names; it never grows beyond a megabyte."""
    handler = RotatingFileHandler(log_file(), maxBytes=LOG_BYTES, backupCount=1, encoding="utf-8")
    handler.setFormatter(UnnamedFormatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    handler.setLevel(logging.WARNING)
    logging.getLogger().addHandler(handler)


def guard(save: Callable[[], str]) -> None:
    """Install the window's guard against faults.

    Parameters
    ----------
    save : callable
        Saves what would be lost and says what became of it.
    """

    def hook(kind: type[BaseException], fault: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            QApplication.quit()
            return
        text = "".join(traceback.format_exception(kind, fault, trace))
        log.error("%s", text)
        sys.stderr.write(text)
        try:
            saved = save()
        except Exception:
            # the window's door: what cannot be saved must not hide the fault
            log.exception("saving after a fault failed")
            saved = "The names given to tubes could not be saved."
        box = QMessageBox()
        box.setIcon(QMessageBox.Icon.Critical)
        box.setWindowTitle("Tintwell has a fault")
        box.setText(f"Something went wrong inside Tintwell ({kind.__name__}: {fault}).")
        box.setInformativeText(
            f"Kept readings are safe. {saved} You can go on, but it is wiser to start Tintwell "
            f"again. Please report the fault with the log: {log_file()}"
        )
        box.setDetailedText(text)
        box.exec()

    sys.excepthook = hook
