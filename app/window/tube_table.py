"""The table under the photo: which sample each tube is, and what it reads."""

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QComboBox,
    QCompleter,
    QFrame,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.window.desk_model import DeskModel
from app.window.tube_table_model import (
    ANY_CHART,
    CHART,
    CONFIDENCE,
    KEPT,
    REPLICATE,
    ROLE,
    ROLE_WORDS,
    SAMPLE,
    STANDING,
    TUBE,
    VALUE,
    TubeTableModel,
)

WIDTHS = {TUBE: 42, SAMPLE: 128, VALUE: 156, STANDING: 100, REPLICATE: 74, CONFIDENCE: 128,
          ROLE: 112, CHART: 130, KEPT: 60}  # fmt: skip


class _Editors(QStyledItemDelegate):
    """Makes the editors: names with those that the survey knows, and choices."""

    known_asked = Signal(int)

    def __init__(self, desk: DeskModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk

    def createEditor(  # noqa: N802 - Qt's name
        self,
        parent: QWidget,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> QWidget:
        """Return a line to write on, or a choice."""
        if index.column() == ROLE:
            return self._choice(parent, [(words, role) for role, words in ROLE_WORDS.items()])
        if index.column() == CHART:
            charts = [(chart.name, chart.name) for chart in self._desk.desk.charts_in_use]
            return self._choice(parent, [(ANY_CHART, ""), *charts])
        line = QLineEdit(parent)
        survey = self._desk.desk.survey
        if index.column() == SAMPLE and survey is not None:
            completer = QCompleter([sample.label for sample in survey.survey.samples], line)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            line.setCompleter(completer)
        return line

    def _choice(self, parent: QWidget, items: list[tuple[str, str]]) -> QComboBox:
        box = QComboBox(parent)
        for words, value in items:
            box.addItem(words, value)
        box.activated.connect(lambda: self._take(box))
        return box

    def _take(self, box: QComboBox) -> None:
        self.commitData.emit(box)
        self.closeEditor.emit(box)

    def setEditorData(  # noqa: N802 - Qt's name
        self, editor: QWidget, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Begin with what stands there."""
        if isinstance(editor, QComboBox):
            editor.setCurrentIndex(max(editor.findData(index.data(Qt.ItemDataRole.EditRole)), 0))
            return
        super().setEditorData(editor, index)

    def setModelData(  # noqa: N802 - Qt's name
        self,
        editor: QWidget,
        model: QAbstractItemModel,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Take in what was chosen; a known value is asked for."""
        if not isinstance(editor, QComboBox):
            super().setModelData(editor, model, index)
            return
        value = editor.currentData()
        if index.column() == ROLE and value == "in_frame":
            self.known_asked.emit(index.row() + 1)
        elif value != index.data(Qt.ItemDataRole.EditRole):
            model.setData(index, value)


class TubeTable(QTableView):
    """Shows the tubes of the chosen photo; its current row is the tube that is shown.

    Signals
    -------
    known_asked(int)
        The value of a tube, by its place, is to be asked for.
    """

    known_asked = Signal(int)

    def __init__(self, desk: DeskModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.tubes = TubeTableModel(desk, self)
        self.setModel(self.tubes)
        editors = _Editors(desk, self)
        editors.known_asked.connect(self.known_asked)
        self.setItemDelegate(editors)
        self.setAccessibleName("Tubes of this photo")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        trigger = QAbstractItemView.EditTrigger
        self.setEditTriggers(trigger.DoubleClicked | trigger.EditKeyPressed | trigger.AnyKeyPressed)
        self.setAlternatingRowColors(True)
        self.setWordWrap(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 12)
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)
        for column, width in WIDTHS.items():
            self.setColumnWidth(column, width)
        head.setMinimumSectionSize(40)
        head.setStretchLastSection(True)
        self.selectionModel().currentChanged.connect(self._choose)
        desk.chosen_changed.connect(self._follow)
        self.tubes.modelReset.connect(self._follow)
        self._follow()
        self.setMinimumHeight(head.sizeHint().height() + 3 * (self.fontMetrics().height() + 12))

    def _choose(self, now: QModelIndex) -> None:
        desk = self._desk.desk
        if now.isValid() and desk.tube != now.row() + 1:
            self._desk.choose(desk.chosen, now.row() + 1)

    def _follow(self) -> None:
        tube = self._desk.desk.tube
        now = self.currentIndex()
        if tube is not None and tube <= self.tubes.rowCount() and now.row() != tube - 1:
            column = now.column() if now.isValid() else SAMPLE
            self.setCurrentIndex(self.tubes.index(tube - 1, column))

    def closeEditor(  # noqa: N802 - Qt's name
        self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint
    ) -> None:
        """Go on to the next tube after Enter, so that a column is filled without the mouse."""
        super().closeEditor(editor, hint)
        now = self.currentIndex()
        below = self.tubes.index(now.row() + 1, now.column())
        if hint == QAbstractItemDelegate.EndEditHint.SubmitModelCache and below.isValid():
            self.setCurrentIndex(below)
