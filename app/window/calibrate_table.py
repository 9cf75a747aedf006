"""The view of the table of known tubes: keys that fill it in quickly."""

from typing import Any

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QCompleter,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.window.calibrate_table_model import ROLE_WORDS, StandardsTable
from app.window.calibrate_typing import BUFFER, EDITED, LABEL, NOTE, ROLE, VALUE
from calibration.standards import list_buffers

Index = QModelIndex | QPersistentModelIndex
WIDTHS = (80, 58, 58, 88, 44, 52, 76, 64)
LEAST_NOTE = 120


class _Choices(QStyledItemDelegate):
    """Lets a cell be chosen from a list, or typed where more is possible."""

    def __init__(self, choices: dict[str, str], *, typed: bool, parent: QObject) -> None:
        super().__init__(parent)
        self._choices, self._is_typed = choices, typed

    def createEditor(  # noqa: N802 - Qt's name
        self, parent: QWidget, option: QStyleOptionViewItem, index: Index
    ) -> QWidget:
        """Make the list."""
        box = QComboBox(parent)
        box.setEditable(self._is_typed)
        for data, words in self._choices.items():
            box.addItem(words, data)
        if self._is_typed:
            box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
            completer = QCompleter(list(self._choices.values()), box)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            completer.setFilterMode(Qt.MatchFlag.MatchContains)
            completer.setCompletionMode(QCompleter.CompletionMode.PopupCompletion)
            box.setCompleter(completer)
        return box

    def setEditorData(self, editor: QWidget, index: Index) -> None:  # noqa: N802 - Qt's name
        """Show what is there."""
        assert isinstance(editor, QComboBox)
        editor.setCurrentIndex(max(editor.findData(index.data(Qt.ItemDataRole.EditRole)), 0))

    def setModelData(  # noqa: N802 - Qt's name
        self, editor: QWidget, model: QAbstractItemModel, index: Index
    ) -> None:
        """Take what was chosen or typed."""
        assert isinstance(editor, QComboBox)
        at = editor.findText(editor.currentText())
        said: Any = editor.itemData(at) if at >= 0 else editor.currentText()
        model.setData(index, said)


class StandardsView(QTableView):
    """The table; Enter goes on to the next tube."""

    def __init__(self, model: StandardsTable, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._table = model
        self.setModel(model)
        self.setAccessibleName("Known tubes and their values")
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(26)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.SelectedClicked
        )
        buffers = {"": ""} | {b.name: f"{b.name}  {b.title}" for b in list_buffers()}
        self.setItemDelegateForColumn(BUFFER, _Choices(buffers, typed=True, parent=self))
        self.setItemDelegateForColumn(ROLE, _Choices(ROLE_WORDS, typed=False, parent=self))
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(NOTE, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(40)
        for column, width in enumerate(WIDTHS):
            self.setColumnWidth(column, width)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Leave the notes to the line below the table where there is no room for them."""
        super().resizeEvent(event)
        narrow = self.viewport().width() < sum(WIDTHS) + LEAST_NOTE
        if narrow == self.isColumnHidden(NOTE):
            return
        self.setColumnHidden(NOTE, narrow)
        mode = QHeaderView.ResizeMode.Stretch if narrow else QHeaderView.ResizeMode.Interactive
        self.horizontalHeader().setSectionResizeMode(LABEL, mode)
        if not narrow:
            self.setColumnWidth(LABEL, WIDTHS[LABEL])

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        """Empty cells, and begin to edit on Enter."""
        index = self.currentIndex()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and index.isValid():
            if index.column() in EDITED:
                self.edit(index)
            else:
                self.setCurrentIndex(index.siblingAtColumn(VALUE))
            return
        if event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.clear_cells()
            return
        super().keyPressEvent(event)

    def closeEditor(  # noqa: N802 - Qt's name
        self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint
    ) -> None:
        """Go on to the next tube after Enter."""
        super().closeEditor(editor, hint)
        if hint == QAbstractItemDelegate.EndEditHint.SubmitModelCache:
            index = self.currentIndex()
            below = index.siblingAtRow(index.row() + 1)
            if below.isValid():
                self.setCurrentIndex(below)

    def clear_cells(self) -> None:
        """Empty the chosen cells."""
        chosen = ((index.row(), index.column()) for index in self.selectedIndexes())
        self._table.empty({cell for cell in chosen if cell[1] in EDITED})

    def fill_down(self) -> None:
        """Say of the chosen tubes what the first says; of one tube, what the one above says."""
        chosen = self.selectedIndexes()
        rows = sorted({index.row() for index in chosen})
        columns = sorted({index.column() for index in chosen if index.column() in EDITED})
        if len(rows) == 1 and rows[0] > 0:
            rows = [rows[0] - 1, rows[0]]
        if len(rows) > 1 and columns:
            self._table.fill_down(rows, columns)

    def paste(self) -> None:
        """Fill in values from the clipboard, from the chosen cell on."""
        index = self.currentIndex()
        text = QApplication.clipboard().text()
        if index.isValid() and text:
            count = self._table.paste(index.row(), index.column(), text)
            self._table.draft_model.tell(f"{count} lines pasted.")

    def copy(self) -> None:
        """Put the chosen cells on the clipboard."""
        chosen = self.selectedIndexes()
        rows = sorted({index.row() for index in chosen})
        columns = sorted({index.column() for index in chosen})
        text = "\n".join(
            "\t".join(str(self._table.index(row, column).data() or "") for column in columns)
            for row in rows
        )
        QApplication.clipboard().setText(text)
