"""Light, dark and high-contrast looks: palettes, spaces and the few rules that palettes lack."""

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from app.window.style import ClearStyle

Look = Literal["system", "light", "dark", "contrast"]

SPACE = 8  # pixels between things that belong together; twice that between groups
SURROUND = "#7a7a7a"
"""Round photos and swatches lies a neutral grey, which does not shift how colors are seen
(common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tones:
    """The colors of one look. Standings differ by symbol and word first, by these only second."""

    window: str
    base: str
    raised: str
    text: str
    muted: str
    line: str
    accent: str
    on_accent: str
    good: str
    doubt: str
    bad: str


LIGHT = Tones(
    window="#eeefe9", base="#fcfcf9", raised="#e2e4dc", text="#20241f", muted="#565d54",
    line="#c3c8bc", accent="#7a3b1d", on_accent="#ffffff", good="#2c5e2e", doubt="#7a5200",
    bad="#96281f",
)  # fmt: skip
DARK = Tones(
    window="#24261f", base="#1a1c17", raised="#33362d", text="#e9ebe2", muted="#a9ae9f",
    line="#474b3f", accent="#e39a6b", on_accent="#1d120b", good="#9bcf94", doubt="#e2be6a",
    bad="#f09a8f",
)  # fmt: skip
CONTRAST = Tones(
    window="#000000", base="#000000", raised="#000000", text="#ffffff", muted="#ffffff",
    line="#ffffff", accent="#ffe04d", on_accent="#000000", good="#ffffff", doubt="#ffffff",
    bad="#ffffff",
)  # fmt: skip


def tones_of(look: Look) -> Tones:
    """Return the colors of a look; "system" follows what the desktop asks for."""
    if look == "contrast":
        return CONTRAST
    if look == "system":
        dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
        return DARK if dark else LIGHT
    return DARK if look == "dark" else LIGHT


def current_tones() -> Tones:
    """Return the colors that the application wears now."""
    wanted = QApplication.palette().color(QPalette.ColorRole.Window).name()
    return next((tones for tones in (LIGHT, DARK, CONTRAST) if tones.window == wanted), LIGHT)


def wear(app: QApplication, look: Look) -> None:
    """Give the whole application a look."""
    tones = tones_of(look)
    app.setStyle(ClearStyle())
    app.setPalette(_palette(tones))
    app.setStyleSheet(_rules(tones))


def _palette(tones: Tones) -> QPalette:
    role = QPalette.ColorRole
    colors = {
        role.Window: tones.window, role.WindowText: tones.text, role.Base: tones.base,
        role.AlternateBase: tones.window, role.Text: tones.text, role.Button: tones.raised,
        role.ButtonText: tones.text, role.ToolTipBase: tones.base, role.ToolTipText: tones.text,
        role.PlaceholderText: tones.muted, role.Highlight: tones.accent, role.Link: tones.accent,
        role.HighlightedText: tones.on_accent, role.BrightText: tones.bad,
        role.Accent: tones.accent, role.Mid: tones.line, role.Dark: tones.line,
    }  # fmt: skip
    palette = QPalette()
    for which, color in colors.items():
        palette.setColor(which, QColor(color))
    off = QPalette.ColorGroup.Disabled
    for which in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(off, which, QColor(tones.muted))
    return palette


def _rules(tones: Tones) -> str:
    """Rules, some by object name.

    Labels: `muted`, `heading`, `subheading`, `reading`; frames: `card`, `rail`; buttons: `main`
    (what most people want next), `way`, `quiet`.
    """
    return f"""
    QLabel#muted {{ color: {tones.muted}; }}
    QLabel#heading {{ font-size: 15pt; font-weight: 600; }}
    QLabel#subheading {{ font-weight: 600; }}
    QLabel#reading {{ font-size: 26pt; font-weight: 600; }}
    QFrame#card {{ background: {tones.base}; border: 1px solid {tones.line}; border-radius: 6px; }}
    QFrame#rail {{ background: {tones.raised}; border: none; }}
    QFrame#rail QToolButton {{ border: none; border-left: 4px solid transparent;
        padding: 8px 4px; background: transparent; }}
    QFrame#rail QToolButton:hover {{ background: {tones.window}; }}
    QFrame#rail QToolButton:focus {{ border: 1px dashed {tones.text};
        border-left: 4px solid {tones.accent}; }}
    QFrame#rail QToolButton:checked {{ background: {tones.base};
        border-left: 4px solid {tones.accent}; font-weight: 600; }}
    QPushButton {{ background: {tones.raised}; border: 1px solid {tones.line};
        border-radius: 4px; padding: 5px 12px; }}
    QPushButton:hover {{ border-color: {tones.accent}; }}
    QPushButton:focus {{ border: 2px solid {tones.accent}; padding: 4px 11px; }}
    QPushButton:pressed {{ background: {tones.line}; }}
    QPushButton:disabled {{ color: {tones.muted}; border-style: dashed; }}
    QPushButton#main {{ background: {tones.accent}; color: {tones.on_accent};
        border-color: {tones.accent}; font-weight: 600; }}
    QPushButton#main:focus {{ border: 2px solid {tones.text}; }}
    QPushButton#main:disabled {{ background: transparent; color: {tones.muted};
        border: 1px dashed {tones.muted}; }}
    QPushButton#way {{ font-size: 12pt; font-weight: 600; padding: 8px 14px; }}
    QPushButton#quiet {{ background: transparent; border-color: transparent; }}
    QPushButton#quiet:hover, QPushButton#quiet:focus {{ border-color: {tones.accent}; }}
    QToolButton#step {{ border: none; border-bottom: 3px solid {tones.line};
        padding: 5px 10px; background: transparent; }}
    QToolButton#step:hover, QToolButton#step:focus {{ background: {tones.raised}; }}
    QToolButton#step:checked {{ border-bottom: 3px solid {tones.accent};
        background: {tones.raised}; }}
    QToolTip {{ background: {tones.base}; color: {tones.text}; border: 1px solid {tones.line}; }}
    QStatusBar {{ background: {tones.raised}; }}
    QToolBar {{ background: {tones.window}; border: none; border-bottom: 1px solid {tones.line};
        spacing: 4px; padding: 3px; }}
    QSplitter::handle {{ background: {tones.line}; }}
    QTableView, QListView, QTreeView {{ gridline-color: {tones.line}; }}
    QHeaderView::section {{ background: {tones.raised}; padding: 4px 6px; border: none;
        border-right: 1px solid {tones.line}; border-bottom: 1px solid {tones.line}; }}
    """
