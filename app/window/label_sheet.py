"""Printed labels for samples: name and QR code, on A4 or Letter, as a PDF."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QMarginsF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPageLayout, QPageSize, QPainter, QPdfWriter

from app.exports.whole_file import whole_file
from app.tasks.sample_labels import code_modules, label_text
from colorcore.errors import TintwellError

COLUMNS, ROWS = 3, 8
QUIET = 4  # modules of white round a QR code (ISO/IEC 18004)
MARGIN_MM = 10.0


def write_label_sheet(
    names: Sequence[tuple[str, str | None]], path: Path, *, letter: bool = False
) -> int:
    """Write labels as a PDF; returns the number of its pages.

    Parameters
    ----------
    names : sequence of (str, str or None)
        Sample and replicate, one label each.
    path : Path
        The new file.
    letter : bool
        US Letter instead of A4.

    Raises
    ------
    TintwellError
        If a name does not fit a label or the file cannot be written.
    """
    codes = [code_modules(label_text(*name)) for name in names]
    with whole_file(path) as part:
        writer = QPdfWriter(str(part))
        writer.setPageSize(
            QPageSize(QPageSize.PageSizeId.Letter if letter else QPageSize.PageSizeId.A4)
        )
        writer.setPageMargins(QMarginsF(*[MARGIN_MM] * 4), QPageLayout.Unit.Millimeter)
        writer.setResolution(300)
        painter = QPainter()
        try:
            if not painter.begin(writer):
                raise TintwellError(
                    f"{path} cannot be written.", what_to_do="Choose another folder."
                )
            wide, high = writer.width() / COLUMNS, writer.height() / ROWS
            pages = 1
            for number, (name, modules) in enumerate(zip(names, codes, strict=True)):
                place = number % (COLUMNS * ROWS)
                if number and place == 0:
                    writer.newPage()
                    pages += 1
                row, column = divmod(place, COLUMNS)
                _draw_label(painter, QRectF(column * wide, row * high, wide, high), name, modules)
        finally:
            painter.end()
            del writer  # closes the file
    return pages


def _draw_label(
    painter: QPainter, place: QRectF, name: tuple[str, str | None], modules: object
) -> None:
    import numpy as np

    dark = np.asarray(modules)
    gap = place.height() * 0.06
    side = place.height() - 2 * gap
    module = side / (dark.shape[0] + 2 * QUIET)
    painter.setPen(QColor("#999999"))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(place)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("black"))
    left, top = place.left() + gap, place.top() + gap
    for row, column in np.argwhere(dark):
        painter.drawRect(
            QRectF(
                left + (int(column) + QUIET) * module,
                top + (int(row) + QUIET) * module,
                module * 1.02,
                module * 1.02,
            )
        )
    painter.setPen(QColor("black"))
    font = QFont()
    font.setPointSizeF(11)
    font.setBold(True)
    painter.setFont(font)
    words = QRectF(left + side + gap, top, place.width() - side - 3 * gap, side)
    said = name[0] if name[1] is None else f"{name[0]}\nreplicate {name[1]}"
    painter.drawText(words, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWrapAnywhere, said)
