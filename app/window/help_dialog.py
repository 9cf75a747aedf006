"""Help: a first-use guide, the shortcuts, safety notes, the log and what the program is."""

from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout

from app.version import VERSION

if TYPE_CHECKING:
    from app.window.main_window import MainWindow

GUIDE = """
<h2>First use</h2>
<ol>
<li><b>Look at the demo.</b> Survey, Open the demo survey. Choose a photo: its outlines show what
was found, the pane beside it what was read and how sure that is.</li>
<li><b>Calibrate a chart</b> (page Charts). Fill tubes with solutions of known value, add the
indicator as the bag says, photograph them beside the whole grey card, then tell Tintwell their
values. Three tubes are the least; five or more, each twice, read better.</li>
<li><b>Read.</b> Drop photos on the window. A tube that is read well is accepted; a doubtful one
says why and what to do; a refused one has no number.</li>
<li><b>Name the tubes.</b> Choose Name tubes and paste your sample names once; they fill the tubes
from the left, photo after photo.</li>
<li><b>Keep.</b> Make a survey and keep the readings in it; nothing that is kept is ever changed
silently. Then export a spreadsheet or make a report.</li>
</ol>
<p>Good photos: daylight without direct sun, card and tubes side by side in the same light, nothing
between lamp and card, the liquid clear and even, all of the card in the picture. Two tubes of known
value in the photo help most under lamps.</p>
"""

SAFETY = """
<h2>Safety notes</h2>
<ul>
<li>Wear goggles and gloves with indicators, buffers, acids and bases; some indicator dyes stain
and some are harmful. Follow the safety sheet of each bottle.</li>
<li>Add acid to water, never water to acid. Keep tubes open while they give off gas.</li>
<li>Ground that may be contaminated is for trained people: do not dig, taste, smell or carry it
home.</li>
<li>A color test is a screening. Amounts of lime or fertilizer, crop sale and drinking water need
a certified laboratory, and local codes for liming and nutrients come first.</li>
<li>The screen is no measuring instrument: the colors shown on it are for orientation only.</li>
</ul>
"""


def _shortcuts(window: "MainWindow") -> str:
    rows = []
    for action in window.findChildren(QAction):
        keys = ", ".join(
            key.toString(QKeySequence.SequenceFormat.NativeText) for key in action.shortcuts()
        )
        if keys:
            text = action.text().replace("&", "").rstrip("…")
            rows.append(f"<tr><td>{text}&nbsp;&nbsp;</td><td><b>{keys}</b></td></tr>")
    return f"<h2>Shortcuts</h2><table>{''.join(sorted(set(rows)))}</table>"


def _about() -> str:
    from importlib import metadata

    parts = ("PySide6_Essentials", "opencv-python", "numpy", "colour-science", "scikit-image",
             "scipy", "pillow", "pillow-heif", "openpyxl", "pyqtgraph", "jinja2")  # fmt: skip
    rows = []
    for part in parts:
        try:
            facts: Any = metadata.metadata(part)  # has get, though its stub lacks it
        except metadata.PackageNotFoundError:
            continue
        licence = facts.get("License-Expression") or facts.get("License") or ""
        licence = licence.splitlines()[0][:60] if licence else "see its own files"
        rows.append(f"<tr><td>{part}&nbsp;</td><td>{facts['Version']}&nbsp;</td>"
                    f"<td>{licence}</td></tr>")  # fmt: skip
    return (
        f"<h2>Tintwell {VERSION}</h2><p>Reads color-indicator tests from photos, with their "
        "uncertainty. MIT licence. Works offline; nothing leaves this machine.</p>"
        f"<p>Built on</p><table>{''.join(rows)}</table>"
    )


def _log() -> str:
    from html import escape

    from app.window.crash_handler import log_file

    path = log_file()
    text = path.read_text("utf-8", errors="replace")[-20_000:] if path.is_file() else ""
    return f"<h2>Log</h2><p>{escape(str(path))}</p><pre>{escape(text) or 'Nothing yet.'}</pre>"


class HelpDialog(QDialog):
    """Shows one of the help texts; all of it can be selected and copied."""

    def __init__(self, what: str, window: "MainWindow") -> None:
        super().__init__(window)
        self.setWindowTitle("Help")
        self.resize(640, 560)
        texts = {
            "guide": lambda: GUIDE,
            "safety": lambda: SAFETY,
            "shortcuts": lambda: _shortcuts(window),
            "about": _about,
            "log": _log,
        }
        box = QVBoxLayout(self)
        self.text = QTextBrowser()
        self.text.setHtml(texts[what]())
        self.text.setOpenLinks(False)
        box.addWidget(self.text)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)
