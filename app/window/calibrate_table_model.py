"""The tubes of the photos as a table that is filled in with their known values."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor, QPixmap

from app.exports.screen_color import screen_color
from app.tasks.calibrate_chart import SeenStandard
from app.tasks.chart_draft import DraftTube
from app.window.calibrate_model import CalibrateModel
from app.window.symbols import symbol
from calibration.errors import StandardError
from calibration.standards import find_buffer

COLUMNS = ("Photo", "Tube", "Value", "Buffer", "°C", "±", "Role", "Label", "Note")
PHOTO, TUBE, VALUE, BUFFER, DEGREES, PLUS_MINUS, ROLE, LABEL, NOTE = range(len(COLUMNS))
EDITED = (VALUE, BUFFER, DEGREES, PLUS_MINUS, ROLE, LABEL)
ROLE_WORDS = {"standard": "Standard", "blank": "Blank"}
TIPS = {
    TUBE: "Counted from the left, with its color for orientation",
    VALUE: "Type the value, or choose a buffer beside it",
    BUFFER: "A certified buffer; its value follows from its temperature",
    PLUS_MINUS: "Standard uncertainty of the value; blank is unknown",
    ROLE: "A blank is the extract without indicator",
    LABEL: "Your name for it; enough by itself on a chart of labels",
}

Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardLine:
    """One line: a tube with what is said of it and what was seen."""

    said: DraftTube
    seen: SeenStandard | None
    note: str


def number_of(text: str) -> float | None:
    """Read a typed number, with a point or a comma; None where it is blank.

    Raises
    ------
    ValueError
        If it is no number.

    Examples
    --------
    >>> number_of("6,5"), number_of("  ")
    (6.5, None)
    """
    plain = text.strip().replace(",", ".")
    if not plain:
        return None
    value = float(plain)
    if not -1e9 < value < 1e9:
        raise ValueError(f"{text} is out of all bounds")
    return value


class StandardsTable(QAbstractTableModel):
    """Every tube that was found, or of which something is said."""

    def __init__(self, model: CalibrateModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.draft_model = model
        self.lines: tuple[StandardLine, ...] = ()
        self.why_not = ""
        model.changed.connect(self.refresh)

    def refresh(self) -> None:
        """Take the lines from the draft anew; the view keeps its place where they are the same."""
        lines = tuple(
            line for path in self.draft_model.draft.photos for line in self._lines_of(path)
        )
        same = [(x.said.path, x.said.tube) for x in lines] == [
            (x.said.path, x.said.tube) for x in self.lines
        ]
        if same:
            self.lines = lines
            if lines:
                last = self.index(len(lines) - 1, len(COLUMNS) - 1)
                self.dataChanged.emit(self.index(0, 0), last)
            return
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def _lines_of(self, path: Path) -> list[StandardLine]:
        model = self.draft_model
        photo = model.seen.get(path)
        said = {tube.tube for tube in model.draft.tubes if tube.path == path}
        found = len(photo.tubes) if photo is not None else 0
        numbers = sorted(said | set(range(1, found + 1)))
        lines = []
        for number in numbers:
            tube = model.draft.tube(path, number)
            seen = photo.tubes[number - 1] if photo is not None and number <= found else None
            lines.append(StandardLine(said=tube, seen=seen, note=self._note(tube, seen)))
        return lines

    def _note(self, said: DraftTube, seen: SeenStandard | None) -> str:
        if said.path in self.draft_model.looking:
            return "being looked at"
        if said.path in self.draft_model.unusable:
            error = self.draft_model.unusable[said.path]
            return f"{error.what_happened} {error.what_to_do}"
        if seen is None:
            return "not found in the photo"
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

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of tubes."""
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's way
        """Return the number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(  # noqa: N802 - Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the columns' headings with what they mean."""
        if orientation == Qt.Orientation.Vertical:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return COLUMNS[section]
        return TIPS.get(section) if role == Qt.ItemDataRole.ToolTipRole else None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return what can be done with a cell."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() in EDITED else flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return a cell."""
        line, column = self.lines[index.row()], index.column()
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
            return line.note if column == NOTE else TIPS.get(column)
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
            return line.note
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
        self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Take what was typed; what cannot be right is not taken, and `why_not` says why."""
        if role != Qt.ItemDataRole.EditRole:
            return False
        tube = self.changed(self.lines[index.row()].said, index.column(), str(value))
        if tube is None:
            self.draft_model.tell(self.why_not)
            return False
        self.draft_model.say_tubes([tube], "fill in a tube")
        return True

    def changed(self, said: DraftTube, column: int, text: str) -> DraftTube | None:
        """Return a tube with other words in one column; None where they cannot be right."""
        text = " ".join(text.split())
        try:
            if column == VALUE:
                value = number_of(text)
                buffer = said.buffer if value is None else None
                return replace(said, value=value, buffer=buffer)
            if column == DEGREES:
                return replace(said, temperature_c=number_of(text))
            if column == PLUS_MINUS:
                uncertainty = number_of(text)
                if uncertainty is not None and not uncertainty > 0:
                    raise ValueError
                return replace(said, uncertainty=uncertainty)
            if column == BUFFER:
                return self._with_buffer(said, text)
        except ValueError:
            self.why_not = f"'{text}' is no number that can stand there; nothing was changed."
            return None
        except StandardError as error:
            self.why_not = f"{error.what_happened} {error.what_to_do}"
            return None
        if column == ROLE:
            return replace(said, role="blank" if text.casefold() == "blank" else "standard")
        return replace(said, label=text or None)

    def _with_buffer(self, said: DraftTube, text: str) -> DraftTube:
        if not text:
            return replace(said, buffer=None)
        warmth = said.temperature_c
        if warmth is None:
            warmth = self.draft_model.temperature_c
        name = find_buffer(text).name
        return replace(said, buffer=name, value=None, temperature_c=warmth, uncertainty=None)

    def fill_down(self, rows: list[int], columns: list[int]) -> None:
        """Say of further tubes what is said of the first."""
        first = self.lines[rows[0]].said
        tubes = []
        for row in rows[1:]:
            tube = self.lines[row].said
            for column in columns:
                tube = _copied(tube, first, column)
            tubes.append(tube)
        self.draft_model.say_tubes(tubes, "fill down")

    def paste(self, row: int, column: int, text: str) -> int:
        """Fill cells from lines of text, tabs between columns; returns how many lines fitted."""
        tubes = []
        for line, cells in zip(self.lines[row:], text.rstrip("\n").split("\n"), strict=False):
            tube: DraftTube | None = line.said
            for place, cell in enumerate(cells.split("\t"), start=column):
                if tube is not None and place in EDITED:
                    tube = self.changed(tube, place, cell)
            if tube is None:
                self.draft_model.tell(self.why_not)
                break
            tubes.append(tube)
        self.draft_model.say_tubes(tubes, "paste values")
        return len(tubes)


def _copied(tube: DraftTube, source: DraftTube, column: int) -> DraftTube:
    if column in (VALUE, BUFFER):
        value, buffer = source.value, source.buffer
        warmth = source.temperature_c if buffer is not None else tube.temperature_c
        return replace(tube, value=value, buffer=buffer, temperature_c=warmth)
    if column == DEGREES:
        return replace(tube, temperature_c=source.temperature_c)
    if column == PLUS_MINUS:
        return replace(tube, uncertainty=source.uncertainty)
    if column == ROLE:
        return replace(tube, role=source.role)
    return replace(tube, label=source.label) if column == LABEL else tube
