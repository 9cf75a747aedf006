"""What is known about a chart, in words; what is unknown says so."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QWidget

from app.desk import DeskChart
from app.window.labels import muted, plain
from app.window.theme import SPACE

if TYPE_CHECKING:
    from calibration.chart import Chart

QUANTITY_WORDS = {
    "ph": "pH", "nitrogen": "Nitrogen", "phosphorus": "Phosphorus", "potassium": "Potassium"
}  # fmt: skip
UNKNOWN = "not known"
CHECK_HINT = (
    "no date was set; check it with a known tube at every new indicator batch, lamp or phone"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartWords:
    """How a chart is listed."""

    name: str
    quantity: str
    unit: str
    span: str
    made_on: str
    tubes: str


def chart_words(chart: "Chart") -> ChartWords:
    """Return a chart's line of the list."""
    analyte = chart.analyte
    first, last = chart.swatches[0], chart.swatches[-1]
    quantity = QUANTITY_WORDS.get(analyte.quantity or "", analyte.quantity or UNKNOWN)
    return ChartWords(
        name=chart.name,
        quantity=quantity if analyte.form is None else f"{quantity} as {analyte.form}",
        unit="pH" if analyte.is_ph else analyte.unit or UNKNOWN,
        span="labels"
        if first.value is None or last.value is None
        else f"{round(first.value, 2):.4g} to {round(last.value, 2):.4g}",
        made_on=f"{chart.created_at:%Y-%m-%d}",
        tubes="printed" if chart.kind == "printed" else str(len(chart.measurements)),
    )


def reflectance_words(chart: "Chart") -> str:
    """Write the card's reflectance: one number for a neutral card, else three."""
    parts = chart.card_reflectance
    if len(set(parts)) == 1:
        return f"{100 * parts[0]:g} %"
    return " / ".join(f"{100 * part:g}" for part in parts) + " % (red / green / blue)"


def by_hand_row(chart: "Chart") -> tuple[tuple[str, str], ...]:
    """Say how much was outlined by hand, besides patches on paper; nothing where all was found."""
    seen = [item.measurement for item in chart.measurements]
    tubes = sum(1 for item in seen if item.outline == "by_hand")
    cards = sum(1 for item in seen if any(r.code == "outline_by_hand" for r in item.reasons))
    if chart.kind == "printed":
        return (("Drawn by hand", "the grey card"),) if cards else ()
    if not tubes + cards:
        return ()
    said = [f"the region of {tubes} of {len(seen)} tubes"] if tubes else []
    said += [f"the card beside {cards} of {len(seen)} tubes"] if cards else []
    return (("Drawn by hand", ", ".join(said)),)


def fact_rows(
    item: DeskChart, older: "Chart | None", used_by: int | None
) -> tuple[tuple[str, str], ...]:
    """Return everything known about a chart, each with its name."""
    chart = item.chart
    analyte, words = chart.analyte, chart_words(chart)
    basis = {None: UNKNOWN, "extract": "in the extract", "soil": "in the soil"}[analyte.basis]
    measured = "pH" if analyte.is_ph else f"{words.quantity}, {words.unit}, {basis}"
    rows = [
        ("Measures", measured),
        ("Soil to liquid", analyte.ratio or UNKNOWN),
        ("Indicator", chart.indicator or UNKNOWN),
        ("Batch", chart.batch or UNKNOWN),
        ("Extractant", chart.extractant or UNKNOWN),
        ("Method", chart.method or UNKNOWN),
        ("Grey card", reflectance_words(chart)),
        *by_hand_row(chart),
        ("Camera", ", ".join(chart.cameras) or UNKNOWN),
        ("Light", chart.light_notes or UNKNOWN),
        ("Made on", f"{chart.created_at:%Y-%m-%d %H:%M}, Tintwell {chart.software_version}"),
        ("Check again", f"{chart.check_again_on}" if chart.check_again_on else CHECK_HINT),
    ]
    if chart.supersedes is not None:
        name = f"'{older.name}'" if older is not None else "a chart that is not on the desk"
        rows.append(("Takes the place of", f"{name} ({chart.supersedes[:8]})"))
    rows.append(
        ("File", "kept in the survey or not saved" if item.path is None else str(item.path))
    )
    rows.append(("Id", chart.id))
    if used_by is not None:
        rows.append(("Used by", f"{used_by} kept readings of the open survey"))
    return tuple(rows)


class FactList(QWidget):
    """Shows facts below each other."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._form = QFormLayout(self)
        self._form.setContentsMargins(0, 0, 0, 0)
        self._form.setHorizontalSpacing(2 * SPACE)
        self._form.setVerticalSpacing(SPACE // 2)
        self._form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)

    def show_facts(self, rows: tuple[tuple[str, str], ...]) -> None:
        """Show these."""
        while self._form.rowCount():
            self._form.removeRow(0)
        for name, words in rows:
            value = plain(words)
            value.setAccessibleName(f"{name}: {words}")
            self._form.addRow(muted(name), value)
