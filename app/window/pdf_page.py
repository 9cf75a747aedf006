"""A report on PDF pages, laid out and written by Qt.

Chosen over a PDF library of its own: Qt ships with the program, lays out the very HTML of the
report, and shapes every script with the fonts at hand. Its CSS is small, so the report keeps to
tables, blocks and colors.
"""

import os
from pathlib import Path
from typing import TYPE_CHECKING

from app.errors import OrderError
from app.exports.drawings import Drawing
from app.exports.report import Paper, Report, report_html
from app.exports.whole_file import whole_file

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter, QTextDocument

DPI = 96
FINE = 1200
MARGIN_MM = (15, 14, 15, 18)
"""Left, top, right, bottom."""
_INCH_MM = 25.4


def write_report_pdf(report: Report, target: Path, *, paper: Paper = "a4") -> int:
    """Write a report as a PDF file; it appears when it is whole.

    Returns
    -------
    int
        Pages.

    Raises
    ------
    OrderError
        If this machine lacks what Qt needs, or the disk refuses.
    """
    _start_qt()
    from PySide6.QtCore import QMarginsF
    from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter

    drawings: list[Drawing] = []

    def place(drawing: Drawing) -> str:
        drawings.append(drawing)
        number = len(drawings) - 1
        return f'<img src="drawing:{number}" width="{drawing.width}" height="{drawing.height}">'

    html = report_html(report, paper=paper, place=place)
    size = QPageSize(QPageSize.PageSizeId.A4 if paper == "a4" else QPageSize.PageSizeId.Letter)
    with whole_file(target) as part:
        writer = QPdfWriter(str(part))
        writer.setResolution(FINE)
        writer.setTitle(report.survey.name)
        writer.setCreator("Tintwell")
        writer.setPageLayout(
            QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0))
        )
        inches = size.size(QPageSize.Unit.Inch)
        document = _lay_out(html, drawings, inches.width() * DPI, inches.height() * DPI)
        painter = QPainter()
        if not painter.begin(writer):
            raise OSError(0, "no room, or no rights to write there")
        painter.scale(FINE / DPI, FINE / DPI)
        pages = document.pageCount()
        for page in range(pages):
            if page:
                writer.newPage()
            _paint(painter, document, page, pages, report.survey.name)
        painter.end()
    return pages


def _start_qt() -> None:
    """Start Qt without a screen, where no window has started it yet."""
    try:
        from PySide6.QtGui import QGuiApplication
    except ImportError as error:
        raise OrderError(
            f"PDF pages need parts of the system that are missing here ({error}).",
            what_to_do="Install what the README names, or write the report as .html and print it.",
        ) from error
    if QGuiApplication.instance() is None:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        _keep.append(QGuiApplication(["tintwell"]))


_keep: list[object] = []
"""Holds the application for as long as the program runs: Qt must not lose it."""


def _lay_out(html: str, drawings: list[Drawing], width: float, height: float) -> "QTextDocument":
    """Lay the report out in pixels of 96 an inch, on pages without their margins."""
    from PySide6.QtCore import QSizeF, QUrl
    from PySide6.QtGui import QFont, QTextDocument, QTextOption

    left, top, right, bottom = (mm / _INCH_MM * DPI for mm in MARGIN_MM)
    document = QTextDocument()
    document.setDocumentMargin(0)
    document.setUseDesignMetrics(True)
    font = QFont()
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    document.setDefaultFont(font)
    option = QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
    document.setDefaultTextOption(option)
    for number, drawing in enumerate(drawings):
        document.addResource(
            QTextDocument.ResourceType.ImageResource.value,
            QUrl(f"drawing:{number}"),
            _picture_of(drawing),
        )
    document.setHtml(html)
    document.setPageSize(QSizeF(width - left - right, height - top - bottom))
    return document


def _picture_of(drawing: Drawing) -> object:
    from PySide6.QtCore import QByteArray
    from PySide6.QtGui import QImage, QPainter
    from PySide6.QtSvg import QSvgRenderer

    sharp = 3
    image = QImage(drawing.width * sharp, drawing.height * sharp, QImage.Format.Format_RGB32)
    image.fill(0xFFFFFF)
    painter = QPainter(image)
    QSvgRenderer(QByteArray(drawing.svg.encode())).render(painter)
    painter.end()
    return image


def _paint(
    painter: "QPainter", document: "QTextDocument", page: int, pages: int, name: str
) -> None:
    """Paint one page with its foot line."""
    from PySide6.QtCore import QRectF, Qt
    from PySide6.QtGui import QFont, QFontMetricsF

    left, top, _, bottom = (mm / _INCH_MM * DPI for mm in MARGIN_MM)
    size = document.pageSize()
    painter.save()
    painter.translate(left, top - page * size.height())
    window = QRectF(0, page * size.height(), size.width(), size.height())
    document.drawContents(painter, window)
    painter.restore()
    font = QFont(document.defaultFont())
    font.setPixelSize(10)
    painter.setFont(font)
    painter.setPen(Qt.GlobalColor.darkGray)
    foot = QRectF(left, top + size.height() + bottom * 0.35, size.width(), 14)
    said = QFontMetricsF(font).elidedText(
        " ".join(name.split()), Qt.TextElideMode.ElideRight, size.width() * 0.8
    )
    painter.drawText(foot, Qt.AlignmentFlag.AlignLeft, said)
    painter.drawText(foot, Qt.AlignmentFlag.AlignRight, f"{page + 1} of {pages}")
