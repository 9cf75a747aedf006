"""What a page shows while no survey is open, with the ways to one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.window.labels import heading, muted
from app.window.theme import SPACE

if TYPE_CHECKING:
    from app.window.page import Page


class EmptySurvey(QWidget):
    """Says what the page needs, and opens it."""

    def __init__(self, page: Page, text: str) -> None:
        super().__init__()
        box = QVBoxLayout(self)
        box.setContentsMargins(4 * SPACE, 4 * SPACE, 4 * SPACE, 4 * SPACE)
        box.setSpacing(2 * SPACE)
        box.addWidget(heading("No survey is open"))
        said = muted(text)
        said.setMaximumWidth(640)
        box.addWidget(said)
        row = QHBoxLayout()
        for words, errand in (("Open a survey…", "open survey"), ("New survey…", "survey")):
            button = QPushButton(words)
            button.clicked.connect(lambda _=False, errand=errand: page.asked.emit(errand))
            row.addWidget(button)
        row.addStretch()
        box.addLayout(row)
        box.addStretch()
