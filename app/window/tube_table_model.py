"""The tubes of the chosen photo as a table that is filled in by hand."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QFont

from app.desk import DeskPhoto
from app.desk_names import said_of
from app.tube_reading import KnownTube, TubeReading
from app.window.desk_model import DeskModel
from app.window.headed_rows import HeadedRows, Place
from app.window.standings import STANDING_WORDS, standing_picture

if TYPE_CHECKING:  # the first window comes up without numpy
    from colorcore.color_spaces import Lab

COLUMNS = (
    "Tube", "Sample", "Value (90 %)", "Standing", "Replicate", "Confidence", "Role", "Chart", "Kept"
)  # fmt: skip
TUBE, SAMPLE, VALUE, STANDING, REPLICATE, CONFIDENCE, ROLE, CHART, KEPT = range(len(COLUMNS))
ROLE_WORDS = {"sample": "Sample", "blank": "Blank", "in_frame": "Known value"}
ANY_CHART = "Whichever fits"
EDITED = (SAMPLE, REPLICATE, ROLE, CHART)


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeRow:
    """One tube of the table.

    Parameters
    ----------
    tube : int
        Its place from the left, from 1.
    sample, replicate, chart : str or None
        As the user said, or a label in the photo.
    role : str
        "sample", "blank" or "in_frame".
    known : KnownTube or None
        What it is known to be.
    line : TubeReading or None
        Its reading.
    lab : Lab or None
        Its color, for tubes that are not read.
    kept : int or None
        Number of the reading in the survey.
    """

    tube: int
    sample: str | None
    replicate: str | None
    chart: str | None
    role: str
    known: KnownTube | None
    line: TubeReading | None
    lab: "Lab | None"
    kept: int | None


def rows_of(photo: DeskPhoto | None) -> tuple[TubeRow, ...]:
    """Return the tubes of a photo as they stand in the table."""
    if photo is None or photo.look is None:
        return ()
    known = {item.tube: item for item in photo.edits.known}
    kept = dict(photo.kept)
    rows = []
    for tube in range(1, 1 + len(photo.look.tubes)):
        said = said_of(photo, tube)
        seen = photo.look.measurements[tube - 1]
        rows.append(
            TubeRow(
                tube=tube,
                sample=said.sample,
                replicate=said.replicate,
                chart=said.chart,
                role="in_frame" if tube in known else said.role,
                known=known.get(tube),
                line=photo.line(tube),
                lab=None if seen is None else seen.lab,
                kept=kept.get(tube),
            )
        )
    return tuple(rows)


class TubeTableModel(HeadedRows):
    """Shows and changes what is said of the chosen photo's tubes."""

    def __init__(self, desk: DeskModel, parent: QObject | None = None) -> None:
        super().__init__(COLUMNS, parent)
        self._desk = desk
        self.rows: tuple[TubeRow, ...] = ()
        desk.chosen_changed.connect(self._take)
        desk.photo_changed.connect(self._hear)
        self._take()

    def _hear(self, path: object) -> None:
        if path == self._desk.desk.chosen:
            self._take()

    def _take(self) -> None:
        rows = rows_of(self._desk.desk.chosen_photo)
        if rows == self.rows:
            return
        if len(rows) == len(self.rows):
            self.rows = rows
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(COLUMNS) - 1))
            return
        self.show_rows(rows)

    def flags(self, index: Place) -> Qt.ItemFlag:
        """Let what the user says be edited."""
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() in EDITED else flags

    def data(self, index: Place, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the words of a cell, its symbol, or what its editor begins with."""
        row, column = self.rows[index.row()], index.column()
        standing = None if row.line is None else row.line.reading.status
        if role == Qt.ItemDataRole.DisplayRole:
            return self._words(row, column)
        if role == Qt.ItemDataRole.EditRole:
            return {SAMPLE: row.sample, REPLICATE: row.replicate, ROLE: row.role,
                    CHART: row.chart}.get(column) or ""  # fmt: skip
        if role == Qt.ItemDataRole.DecorationRole and column == STANDING and standing:
            return standing_picture(standing, 15, 2)
        if role == Qt.ItemDataRole.FontRole and column == VALUE:
            font = QFont()
            font.setBold(True)
            return font
        if role == Qt.ItemDataRole.ToolTipRole and column == STANDING and row.line is not None:
            return "\n".join(reason.text for reason in row.line.reading.reasons) or None
        return None

    def _words(self, row: TubeRow, column: int) -> str:
        from app.wording import say_confidence, say_value

        line = row.line
        if column == TUBE:
            return str(row.tube)
        if column in (SAMPLE, REPLICATE):
            return (row.sample if column == SAMPLE else row.replicate) or ""
        if column == ROLE:
            return _say_role(row)
        if column == KEPT:
            return "" if row.kept is None else f"No. {row.kept}"
        if line is None:
            lab = "" if row.lab is None else "L* {:.0f} a* {:.0f} b* {:.0f}".format(*row.lab)
            words = {CHART: row.chart or "", STANDING: STANDING_WORDS["found"], VALUE: lab}
            return words.get(column, "")
        if column == CHART:
            return row.chart or ("" if line.chart is None else line.chart.name)
        if column == VALUE:
            return "no value" if line.chart is None else say_value(line.reading, line.chart)
        if column == CONFIDENCE:
            return say_confidence(line.reading.confidence)
        return STANDING_WORDS[line.reading.status]

    def setData(  # noqa: N802 - Qt's name
        self, index: Place, value: Any, role: int = Qt.ItemDataRole.EditRole
    ) -> bool:
        """Take in what the user says of a tube."""
        photo = self._desk.desk.chosen_photo
        if photo is None or role != Qt.ItemDataRole.EditRole:
            return False
        from app.survey.names import tidy_name

        row, column = self.rows[index.row()], index.column()
        text = tidy_name(str(value)) or None
        entry = said_of(photo, row.tube)
        if column == ROLE:
            entry = replace(entry, role=text or "sample")
        elif column == SAMPLE:
            entry = replace(entry, sample=text)
        elif column == REPLICATE:
            entry = replace(entry, replicate=text)
        else:
            entry = replace(entry, chart=text)
        edits = photo.edits.with_entry(row.tube, entry)
        if column == ROLE:
            edits = replace(edits, known=tuple(k for k in edits.known if k.tube != row.tube))
        self._desk.edit({photo.path: edits}, f"change {COLUMNS[column].lower()}")
        return True

    def declare_known(self, known: KnownTube) -> None:
        """Take in that a tube of the chosen photo is known."""
        photo = self._desk.desk.chosen_photo
        if photo is None:
            return
        others = tuple(item for item in photo.edits.known if item.tube != known.tube)
        entry = replace(photo.edits.entry(known.tube), role="sample")
        edits = photo.edits.with_entry(known.tube, entry)
        every = sorted((*others, known), key=lambda item: item.tube)
        self._desk.edit({photo.path: replace(edits, known=tuple(every))}, "declare a known tube")


def _say_role(row: TubeRow) -> str:
    said = ROLE_WORDS.get(row.role, row.role)
    if row.known is None:
        return said
    value = row.known.label if row.known.value is None else f"{row.known.value:g}"
    unit = row.known.analyte.unit
    return f"Known: {value}" if unit in (None, "pH") else f"Known: {value} {unit}"
