"""A report on PDF pages, laid out and written by Qt.

Chosen over a PDF library of its own: Qt ships with the program, lays out the very HTML of the
report, and shapes every script with the fonts at hand. Its CSS is small, so the report keeps to
tables, blocks and colors. It would cut rows of a table in two, so the pages are cut here.
"""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QIODevice,
    QMarginsF,
    QRectF,
    QSizeF,
    Qt,
    QUrl,
)
from PySide6.QtGui import (
    QAbstractTextDocumentLayout,
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QImage,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QTextDocument,
    QTextTable,
)
from PySide6.QtSvg import QSvgRenderer

from app.exports.drawings import Drawing
from app.exports.report import Report
from app.exports.report_page import Paper, report_html
from app.exports.whole_file import whole_file

DPI = 96
"""Pixels an inch in which the report is laid out, as a browser does."""
FINE = 1200
MARGIN_MM = (15.0, 14.0, 15.0, 18.0)
"""Left, top, right, bottom."""
SHARP = 3
"""Pixels of a drawing to one of the page."""
INCH_MM = 25.4
_HALO = re.compile(r' stroke="[^"]*"(?= [^>]*paint-order="stroke")')
"""The line around a text, which Qt would paint over it."""
LINE_PX = 1
FOOT_PX = 10

_application: list[QGuiApplication] = []
"""Holds the application for as long as the program runs: Qt must not lose it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A height at which one page may end and the next begin.

    Parameters
    ----------
    y : float
        Pixels from the top of the report.
    head : tuple of (float, float) or None
        Top and bottom of the table head that the next page repeats.
    """

    y: float
    head: tuple[float, float] | None = None


def write_report_pdf(report: Report, target: Path, *, paper: Paper = "a4") -> int:
    """Write a report as a PDF file; it appears when it is whole.

    Returns
    -------
    int
        Pages.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    if QGuiApplication.instance() is None:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        _application.append(QGuiApplication(["tintwell"]))
    size = QPageSize(QPageSize.PageSizeId.A4 if paper == "a4" else QPageSize.PageSizeId.Letter)
    inches = size.size(QPageSize.Unit.Inch)
    left, top, right, bottom = (mm / INCH_MM * DPI for mm in MARGIN_MM)
    inside = QRectF(
        left, top, inches.width() * DPI - left - right, inches.height() * DPI - top - bottom
    )
    screen = QImage(1, 1, QImage.Format.Format_RGB32)  # must outlive the layout
    screen.setDotsPerMeterX(round(DPI / INCH_MM * 1000))
    screen.setDotsPerMeterY(round(DPI / INCH_MM * 1000))
    document = _lay_out(report, paper, inside.width(), screen)
    pages = tuple(_pages(document, inside.height()))
    written = QBuffer()  # Qt does not say when a disk is full
    written.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(written)
    writer.setResolution(FINE)
    writer.setTitle(report.survey.name)
    writer.setCreator("Tintwell")
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
    painter = QPainter(writer)
    painter.scale(FINE / DPI, FINE / DPI)
    for number, (start, end) in enumerate(pages, start=1):
        if number > 1:
            writer.newPage()
        _paint(painter, document, inside, start, end)
        _paint_foot(painter, inside, report.survey.name, f"{number} of {len(pages)}")
    painter.end()
    with whole_file(target) as part:
        part.write_bytes(written.data().data())
    return len(pages)


def _lay_out(report: Report, paper: Paper, width: float, screen: QImage) -> QTextDocument:
    """Lay the report out on one endless page."""
    document = QTextDocument()
    kind = QTextDocument.ResourceType.ImageResource.value
    drawings: list[Drawing] = []

    def place(drawing: Drawing) -> str:
        name = f"drawing:{len(drawings)}"
        drawings.append(drawing)
        document.addResource(kind, QUrl(name), _picture_of(drawing))
        return f'<img src="{name}" width="{drawing.width}" height="{drawing.height}">'

    document.setDocumentMargin(0)
    document.setUseDesignMetrics(True)
    font = QFont()
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    document.setDefaultFont(font)
    document.setHtml(report_html(report, paper=paper, place=place))
    document.documentLayout().setPaintDevice(screen)
    document.setPageSize(QSizeF(width, -1))
    return document


def _picture_of(drawing: Drawing) -> QImage:
    image = QImage(drawing.width * SHARP, drawing.height * SHARP, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    svg = _HALO.sub("", drawing.svg)
    QSvgRenderer(QByteArray(svg.encode())).render(painter)
    painter.end()
    return image


def _pages(document: QTextDocument, height: float) -> Iterator[tuple[Cut, float]]:
    """Cut the report into pages as full as can be; yields where each starts and ends."""
    cuts = tuple(_cuts(document))
    start, last = Cut(y=0.0), document.size().height()
    while True:
        head = 0.0 if start.head is None else start.head[1] - start.head[0]
        limit = start.y + height - head
        if last <= limit:
            yield start, last
            return
        fitting = [cut for cut in cuts if start.y + 1 < cut.y <= limit]
        end = fitting[-1] if fitting else Cut(y=limit)
        yield start, end.y
        start = end


def _cuts(document: QTextDocument) -> Iterator[Cut]:
    """Find where the report may be cut: between lines and rows, but not behind a heading."""
    layout = document.documentLayout()
    keep = False
    entries = document.rootFrame().begin()
    while not entries.atEnd():
        table, block = entries.currentFrame(), entries.currentBlock()
        if isinstance(table, QTextTable):
            before, *rows = _row_cuts(layout, table)
            if not keep:
                yield before
            yield from rows
            keep = False
        elif block.isValid():
            top = layout.blockBoundingRect(block).top()
            if not block.text():  # Qt's own, behind a table whose last line reaches into it
                top += 4 * LINE_PX
            lines = block.layout()
            for number in range(lines.lineCount()):
                # Neither the first nor the last line of a paragraph stands alone.
                if (number == 0 and not keep) or 1 < number < lines.lineCount() - 1:
                    yield Cut(y=top + lines.lineAt(number).y())
            keep = block.blockFormat().headingLevel() > 0 or (keep and not block.text().strip())
        entries += 1


def _row_cuts(layout: QAbstractTextDocumentLayout, table: QTextTable) -> Iterator[Cut]:
    """Find the cuts before a table and between its rows; its head keeps the first row."""
    heads = table.format().toTableFormat().headerRowCount()
    tops = [_row_top(layout, table, row) for row in range(table.rows())]
    head = (tops[0], tops[heads]) if 0 < heads < len(tops) else None
    yield Cut(y=tops[0])
    for row in range(heads + 1, len(tops)):
        yield Cut(y=tops[row], head=head)


def _row_top(layout: QAbstractTextDocumentLayout, table: QTextTable, row: int) -> float:
    """Find the line above a row: where its text begins, less padding and line."""
    cell = table.cellAt(row, 0)
    top = layout.blockBoundingRect(cell.firstCursorPosition().block()).top()
    return top - cell.format().toTableCellFormat().topPadding() - 2 * LINE_PX


def _paint(
    painter: QPainter, document: QTextDocument, inside: QRectF, start: Cut, end: float
) -> None:
    """Paint one page, under the repeated head of a table that goes on."""
    top = inside.top()
    if start.head is not None:
        _paint_strip(painter, document, inside.left(), top, start.head)
        top += start.head[1] - start.head[0]
    _paint_strip(painter, document, inside.left(), top, (start.y, end))


def _paint_strip(
    painter: QPainter, document: QTextDocument, x: float, y: float, strip: tuple[float, float]
) -> None:
    """Paint what lies between two heights of the report, with the lines that bound it."""
    first, last = strip
    painter.save()
    painter.translate(x, y - first)
    width = document.size().width()
    document.drawContents(painter, QRectF(0, first, width + LINE_PX, last - first + LINE_PX))
    painter.restore()


def _paint_foot(painter: QPainter, inside: QRectF, name: str, page: str) -> None:
    font = QFont()
    font.setPixelSize(FOOT_PX)
    painter.setFont(font)
    painter.setPen(Qt.GlobalColor.darkGray)
    foot = QRectF(inside.left(), inside.bottom() + 2 * FOOT_PX, inside.width(), 2 * FOOT_PX)
    said = QFontMetricsF(font).elidedText(
        " ".join(name.split()), Qt.TextElideMode.ElideRight, inside.width() * 0.8
    )
    painter.drawText(foot, Qt.AlignmentFlag.AlignLeft, said)
    painter.drawText(foot, Qt.AlignmentFlag.AlignRight, page)
