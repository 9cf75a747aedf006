"""The tubes of the photos as a table that is filled in with their known values."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QColor, QPixmap

from app.exports.screen_color import screen_color
from app.tasks.calibrate_chart import SeenStandard, StandardsPhoto
from app.tasks.chart_draft import DraftTube
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_typing import (
    BUFFER,
    COLUMNS,
    DEGREES,
    EDITED,
    LABEL,
    NOTE,
    PHOTO,
    PLUS_MINUS,
    ROLE,
    TUBE,
    VALUE,
    copied,
    typed_tube,
)
from app.window.headed_rows import HeadedRows, Place
from app.window.symbols import symbol
from calibration.errors import StandardError
from colorcore.errors import TintwellError
from colorcore.hand_outlines import CARD_BY_HAND

ROLE_WORDS = {"standard": "Standard", "blank": "Blank"}
TIPS = {
    TUBE: "Counted from the left, with its color for orientation",
    VALUE: "Type the value, or choose a buffer beside it",
    BUFFER: "A certified buffer; its value follows from its temperature",
    PLUS_MINUS: "Standard uncertainty of the value; blank is unknown",
    ROLE: "A blank is the extract without indicator",
    LABEL: "Your name for it; enough by itself on a chart of labels",
}
REGION_BY_HAND, CARD_WORDS = "region drawn by hand", "card drawn by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardLine:
    """One line: a tube with what is said of it and what was seen; a note where it is not used."""

    said: DraftTube
    seen: SeenStandard | None
    note: str

    @property
    def words(self) -> str:
        """What there is to note, trouble or not."""
        seen = None if self.seen is None else self.seen.measurement
        if self.note or seen is None:
            return self.note
        region = REGION_BY_HAND if seen.outline == "by_hand" else ""
        return ", ".join(filter(None, (region, CARD_WORDS if CARD_BY_HAND in seen.reasons else "")))


class StandardsTable(HeadedRows):
    """Every tube that was found or drawn, or of which something is said."""

    rows: tuple[StandardLine, ...]

    def __init__(self, model: CalibrateModel, parent: QObject | None = None) -> None:
        super().__init__(COLUMNS, parent)
        self.draft_model = model
        self.rows = ()
        model.changed.connect(self.refresh)

    def refresh(self) -> None:
        """Take the lines from the draft anew; the view keeps its place where they are the same."""
        draft, fresh = self.draft_model.draft, self.draft_model.looks.fresh
        rows = tuple(
            self._line(draft.tube(path, number), fresh.get(path))
            for path in draft.photos
            for number in sorted(
                {tube.tube for tube in draft.tubes if tube.path == path}
                | set(range(1, 1 + self.draft_model.looks.count(path)))
            )
        )
        same = [(x.said.path, x.said.tube) for x in rows] == [
            (x.said.path, x.said.tube) for x in self.rows
        ]
        if not same:
            self.show_rows(rows)
            return
        self.rows = rows
        if rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(COLUMNS) - 1))

    def row_of(self, path: Path, tube: int | None) -> int | None:
        """Return the row of a photo's tube, else the photo's first; None where it has none."""
        rows = {line.said.tube: row for row, line in enumerate(self.rows) if line.said.path == path}
        first = min(rows.values(), default=None)
        return first if tube is None else rows.get(tube, first)

    def _line(self, said: DraftTube, photo: StandardsPhoto | None) -> StandardLine:
        there = photo is not None and said.tube <= len(photo.tubes)
        seen = photo.tubes[said.tube - 1] if photo is not None and there else None
        return StandardLine(said=said, seen=seen, note=self._note(said, seen))

    def _note(self, said: DraftTube, seen: SeenStandard | None) -> str:
        if said.path in self.draft_model.looks.looking:
            return "being looked at"
        if said.path in self.draft_model.looks.unusable:
            error = self.draft_model.looks.unusable[said.path]
            return f"{error.what_happened} {error.what_to_do}"
        if seen is None:
            return "not found in the photo: draw it with Outlines"
        if seen.measurement is None:
            return seen.why_not
        if not said.is_said:
            return "no value: not used"
        try:
            said.known()
        except StandardError as error:
            return f"{error.what_happened} {error.what_to_do}"
        return self._left_out(said)

    def _left_out(self, said: DraftTube) -> str:
        quality = self.draft_model.quality
        where = f"Left out: {said.path.name}, tube {said.tube}: "
        if quality is not None:
            for finding in quality.findings:
                if finding.text.startswith(where):
                    return finding.text.removeprefix(where)
        return ""

    # -- Qt's questions -----------------------------------------------------------------------

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the columns' headings with what they mean."""
        if role == Qt.ItemDataRole.ToolTipRole and orientation == Qt.Orientation.Horizontal:
            return TIPS.get(section)
        return super().headerData(section, orientation, role)

    def flags(self, index: Place) -> Qt.ItemFlag:
        """Return what can be done with a cell."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() in EDITED else flags

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell."""
        line, column = self.rows[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(line, column)
        if role == Qt.ItemDataRole.EditRole:
            return self._typed(line.said, column)
        if role == Qt.ItemDataRole.DecorationRole:
            if column == TUBE and line.seen is not None and line.seen.measurement is not None:
                patch = QPixmap(22, 14)
                patch.fill(QColor(f"#{screen_color(line.seen.measurement.lab)}"))
                return patch
            if column == NOTE and line.note and line.said.is_said:
                return symbol("doubtful")
        if role == Qt.ItemDataRole.ToolTipRole:
            return line.words if column == NOTE else TIPS.get(column)
        if role == Qt.ItemDataRole.TextAlignmentRole and column in (VALUE, DEGREES, PLUS_MINUS):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None

    def _text(self, line: StandardLine, column: int) -> str:
        said = line.said
        if column == PHOTO:
            return said.path.name
        if column == TUBE:
            return str(said.tube)
        if column == NOTE:
            return line.words
        if column in (VALUE, PLUS_MINUS) and said.buffer is not None:
            try:
                value, uncertainty = said.known()
            except StandardError:
                return "?"
            shown = value if column == VALUE else uncertainty
            return "" if shown is None else f"{shown:.3f}"
        if column == ROLE:
            return ROLE_WORDS[said.role] if said.is_said else ""
        return self._typed(said, column)

    def _typed(self, said: DraftTube, column: int) -> str:
        if column == ROLE:
            return said.role
        if column == BUFFER:
            return said.buffer or ""
        if column == LABEL:
            return said.label or ""
        numbers = {VALUE: said.value, DEGREES: said.temperature_c, PLUS_MINUS: said.uncertainty}
        number = numbers.get(column)
        return "" if number is None else f"{number:.6g}"

    # -- filling in ---------------------------------------------------------------------------

    def setData(  # noqa: N802 - Qt's name
        self, index: Place, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Take what was typed; what cannot be right is not taken, and said."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        try:
            tube = self._changed(self.rows[index.row()].said, index.column(), str(value))
        except TintwellError as error:
            self.draft_model.tell_error(error)
            return False
        self.draft_model.say_tubes([tube], "fill in a tube")
        return True

    def _changed(self, said: DraftTube, column: int, text: str) -> DraftTube:
        return typed_tube(said, column, text, self.draft_model.temperature_c)

    def empty(self, cells: set[tuple[int, int]]) -> None:
        """Say nothing in cells, given by row and column."""
        tubes: dict[int, DraftTube] = {}
        for row, column in sorted(cells):
            tubes[row] = self._changed(tubes.get(row, self.rows[row].said), column, "")
        self.draft_model.say_tubes(tubes.values(), "empty cells")

    def fill_down(self, rows: list[int], columns: list[int]) -> None:
        """Say of further tubes what is said of the first."""
        first = self.rows[rows[0]].said
        tubes = []
        for row in rows[1:]:
            tube = self.rows[row].said
            for column in columns:
                tube = copied(tube, first, column)
            tubes.append(tube)
        self.draft_model.say_tubes(tubes, "fill down")

    def paste(self, row: int, column: int, text: str) -> int:
        """Fill cells from lines of text, tabs between columns; returns how many lines fitted."""
        tubes = []
        for line, cells in zip(self.rows[row:], text.rstrip("\n").split("\n"), strict=False):
            tube = line.said
            try:
                for place, cell in enumerate(cells.split("\t"), start=column):
                    if place in EDITED:
                        tube = self._changed(tube, place, cell)
            except TintwellError as error:
                self.draft_model.tell_error(error)
                break
            tubes.append(tube)
        self.draft_model.say_tubes(tubes, "paste values")
        return len(tubes)
