"""The chart's swatches in order, the measured color laid against all of them, and probabilities."""

from dataclasses import dataclass

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.tube_reading import TubeReading
from app.window.theme import SPACE, SURROUND, current_tones

MEASURED_WIDTH = 68
SWATCH_WIDTH = 52


@dataclass(frozen=True, slots=True, kw_only=True)
class SwatchRow:
    """One swatch beside the measured color.

    Parameters
    ----------
    words : str
        Its value or label.
    color : str
        Six hexadecimal digits of sRGB.
    probability : float or None
        That it is the nearest to the truth; None where nothing was read.
    is_nearest : bool
        Whether it is the most probable one.
    """

    words: str
    color: str
    probability: float | None
    is_nearest: bool


def swatch_rows(line: TubeReading) -> tuple[tuple[SwatchRow, ...], str | None]:
    """Return the swatches of a reading's chart, and the color that was measured."""
    from app.exports.screen_color import screen_color

    reading, chart = line.reading, line.chart
    if chart is None:
        return (), None
    chances = reading.probabilities or (None,) * len(chart.swatches)
    rows = []
    for swatch, chance in zip(chart.swatches, chances, strict=True):
        said = [] if swatch.value is None else [f"{swatch.value:g}"]
        said += [swatch.label] if swatch.label and swatch.label not in said else []
        rows.append(
            SwatchRow(
                words=" ".join(said),
                color=screen_color(swatch.lab),
                probability=chance,
                is_nearest=reading.confidence is not None
                and (swatch.value, swatch.label) == (reading.swatch, reading.swatch_label),
            )
        )
    seen = line.measurement
    return tuple(rows), None if seen is None else screen_color(seen.lab)


class SwatchLadder(QWidget):
    """Draws the swatches one below the other; the measured color runs along all of them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[SwatchRow, ...] = ()
        self._measured: str | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(MEASURED_WIDTH + SWATCH_WIDTH + 130)

    def show_rows(self, rows: tuple[SwatchRow, ...], measured: str | None) -> None:
        """Show these swatches against a measured color."""
        self._rows, self._measured = rows, measured
        said = ", ".join(
            row.words
            + ("" if row.probability is None else f": {100 * row.probability:.0f} %")
            + (" (nearest)" if row.is_nearest else "")
            for row in rows
        )
        self.setAccessibleName(f"Swatches with their probability: {said}")
        self.setToolTip(said.replace(", ", "\n"))
        self.setVisible(bool(rows))
        self.updateGeometry()
        self.update()

    def _step(self) -> int:
        return max(self.fontMetrics().height() + 8, 24)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Return the height of all rows with their head."""
        head = self.fontMetrics().height() + SPACE // 2
        return QSize(300, head + 2 * SPACE + self._step() * len(self._rows))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        """Draw head, colors on neutral grey, values and bars."""
        painter = QPainter(self)
        tones = current_tones()
        line, step = self.fontMetrics().height(), self._step()
        top = line + SPACE // 2
        left = SPACE
        beside = left + MEASURED_WIDTH + SWATCH_WIDTH + SPACE
        words = beside + SPACE
        value_width = max(
            [self.fontMetrics().horizontalAdvance(row.words) for row in self._rows] + [24]
        )
        value_width = min(value_width + SPACE, (self.width() - words) // 2)
        chance = self.fontMetrics().horizontalAdvance("100 %")
        bar_left = words + value_width + SPACE
        bar_width = max(self.width() - bar_left - chance - SPACE, 12)
        painter.setPen(QColor(tones.muted))
        middle = Qt.AlignmentFlag.AlignHCenter
        painter.drawText(QRect(left, 0, MEASURED_WIDTH, line), middle, "This tube")
        painter.drawText(QRect(left + MEASURED_WIDTH, 0, SWATCH_WIDTH, line), middle, "Swatch")
        painter.drawText(
            QRect(bar_left, 0, self.width() - bar_left, line),
            Qt.AlignmentFlag.AlignRight,
            "Probability",
        )
        height = step * len(self._rows)
        painter.fillRect(QRect(0, top, beside, height + 2 * SPACE), QColor(SURROUND))
        ground = QRect(left, top + SPACE, MEASURED_WIDTH, height)
        if self._measured is not None:
            painter.fillRect(ground, QColor(f"#{self._measured}"))
        else:
            painter.setPen(QColor("#ffffff"))
            painter.drawText(ground, Qt.AlignmentFlag.AlignCenter, "not\nmeasured")
        for number, row in enumerate(self._rows):
            y = top + SPACE + number * step
            place = QRect(left + MEASURED_WIDTH, y, SWATCH_WIDTH, step)
            painter.fillRect(place, QColor(f"#{row.color}"))
            self._draw_words(painter, row, QRect(words, y, value_width, step))
            if row.is_nearest:
                self._draw_nearest(painter, place)
            if row.probability is not None:
                bar = QRectF(bar_left, y + step / 2 - 4, bar_width, 8)
                self._draw_bar(painter, row, bar)
                painter.drawText(
                    QRect(self.width() - chance, y, chance, step),
                    Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
                    f"{100 * row.probability:.0f} %",
                )
        painter.end()

    def _draw_words(self, painter: QPainter, row: SwatchRow, place: QRect) -> None:
        font = QFont(self.font())
        font.setBold(row.is_nearest)
        painter.setFont(font)
        painter.setPen(QColor(current_tones().text))
        text = painter.fontMetrics().elidedText(
            row.words, Qt.TextElideMode.ElideRight, place.width()
        )
        painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, text)

    def _draw_nearest(self, painter: QPainter, place: QRect) -> None:
        for color, wide, inset in (("#101210", 4, 2), ("#ffffff", 2, 2)):
            painter.setPen(QPen(QColor(color), wide))
            painter.drawRect(place.adjusted(inset, inset, -inset - 1, -inset - 1))

    def _draw_bar(self, painter: QPainter, row: SwatchRow, place: QRectF) -> None:
        tones = current_tones()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.fillRect(QRectF(place.x(), place.center().y() - 0.5, place.width(), 1), tones.line)
        filled = QRectF(place)
        filled.setWidth(place.width() * float(row.probability or 0.0))
        painter.fillRect(filled, QColor(tones.text if row.is_nearest else tones.muted))
        painter.setPen(QColor(tones.text))
