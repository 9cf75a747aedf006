"""What every page of the window shares: its tools, its place in the rail, its way to speak."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QWidget

from app.window.desk_model import DeskModel
from app.window.long_work import WorkBench
from app.window.messages import Messages
from app.window.preferences import Preferences
from app.window.symbols import symbol


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tools:
    """What a page works with.

    Parameters
    ----------
    model : DeskModel
        The desk.
    bench : WorkBench
        Runs long work.
    preferences : Preferences
        What is remembered.
    messages : Messages
        Speaks to the user.
    """

    model: DeskModel
    bench: WorkBench
    preferences: Preferences
    messages: Messages


class Page(QWidget):
    """One page of the window.

    Attributes
    ----------
    name, symbol_name : str
        In the rail; the name is also the title of the page's menu.

    Signals
    -------
    wanted(str)
        Another page is to be shown, by its name.
    asked(str)
        Something that the window does for every page, by its name in `MainWindow.run_errand`.
    """

    name = ""
    symbol_name = ""
    wanted = Signal(str)
    asked = Signal(str)

    def __init__(self, tools: Tools, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tools = tools
        self.setAccessibleName(f"{self.name} page")

    def page_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the toolbar and the page's menu; None is a gap."""
        return ()

    def menu_actions(self) -> Sequence[QAction | None]:
        """Return what stands in the page's menu alone, behind the others."""
        return ()

    def shown(self) -> None:
        """Hear that the page has come to the front."""

    def closing(self) -> None:
        """Let go of what must not outlive the window."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PagePlan:
    """A page that is built when it is asked for.

    Parameters
    ----------
    name, symbol_name : str
        As in the page itself.
    load : callable
        Returns the page's class; what it needs is only loaded then.
    """

    name: str
    symbol_name: str
    load: Callable[[], type[Page]]


def make_action(
    parent: QObject,
    text: str,
    slot: Callable[[], object],
    *,
    symbol_name: str | None = None,
    shortcut: QKeySequence.StandardKey | str | None = None,
    tip: str | None = None,
    checkable: bool = False,
) -> QAction:
    """Make an action; its tip names its shortcut."""
    action = QAction(text, parent)
    action.setCheckable(checkable)
    if symbol_name is not None:
        action.setIcon(symbol(symbol_name))
    if shortcut is not None:
        action.setShortcut(QKeySequence(shortcut))
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    plain = (tip or text.replace("&", "")).rstrip(".…")
    action.setToolTip(f"{plain} ({keys})" if keys else plain)
    action.setStatusTip(plain)
    action.triggered.connect(lambda *_: slot())
    return action
