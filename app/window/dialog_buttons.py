"""The two buttons that end a dialog."""

from collections.abc import Callable

from PySide6.QtWidgets import QDialog, QDialogButtonBox

OK = QDialogButtonBox.StandardButton.Ok
SAVE = QDialogButtonBox.StandardButton.Save


def take_or_cancel(
    dialog: QDialog, take: Callable[[], object], words: QDialogButtonBox.StandardButton | str
) -> QDialogButtonBox:
    """Make a button that takes what was said, and one that closes without."""
    cancel = QDialogButtonBox.StandardButton.Cancel
    if isinstance(words, str):
        buttons = QDialogButtonBox(cancel)
        buttons.addButton(words, QDialogButtonBox.ButtonRole.AcceptRole).setObjectName("main")
    else:
        buttons = QDialogButtonBox(words | cancel)
    buttons.accepted.connect(take)
    buttons.rejected.connect(dialog.reject)
    return buttons
