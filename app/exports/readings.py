"""Readings as JSON lines, as a CSV table and as a table for the terminal."""

import csv
import io
import json
from collections.abc import Iterable

from app.tube_reading import TubeReading
from app.wording import say_confidence, say_swatch, say_value
from calibration.sheet_reader import FORMULA_STARTS
from colorcore.geometry import Box

CSV_COLUMNS = (
    "photo",
    "tube",
    "sample",
    "replicate",
    "role",
    "chart",
    "quantity",
    "form",
    "basis",
    "unit",
    "status",
    "value",
    "low",
    "high",
    "swatch",
    "swatch_label",
    "confidence",
    "nearest_by_color",
    "lightness",
    "a",
    "b",
    "largest_term",
    "reasons",
    "what_to_do",
    "outline",
    "sha256",
)


def _box(box: Box | None) -> list[float] | None:
    return None if box is None else [round(float(v), 1) for v in box]


def _rounded(value: float | None, places: int = 4) -> float | None:
    return None if value is None else round(value, places)


def as_object(line: TubeReading) -> dict[str, object]:
    """One tube as the JSON object of the contract."""
    reading, measurement, chart = line.reading, line.measurement, line.chart
    analyte = None if chart is None else chart.analyte
    return {
        "photo": line.photo,
        "tube": line.tube,
        "sample": line.entry.sample,
        "replicate": line.entry.replicate,
        "role": line.entry.role,
        "chart": None if chart is None else chart.id,
        "quantity": None if analyte is None else analyte.quantity,
        "form": None if analyte is None else analyte.form,
        "basis": None if analyte is None else analyte.basis,
        "unit": None if analyte is None else analyte.unit,
        "status": reading.status,
        "value": _rounded(reading.value),
        "low": _rounded(reading.low),
        "high": _rounded(reading.high),
        "alternatives": [
            {
                "value": round(a.value, 4),
                "low": round(a.low, 4),
                "high": round(a.high, 4),
                "probability": round(a.probability, 4),
            }
            for a in reading.alternatives
        ],
        "swatch": reading.swatch,
        "swatch_label": reading.swatch_label,
        "confidence": _rounded(reading.confidence),
        "probabilities": [round(p, 4) for p in reading.probabilities],
        "nearest_by_color": reading.nearest_by_color,
        "lab": None if measurement is None else [round(v, 3) for v in measurement.lab],
        "largest_term": reading.largest_term,
        "reasons": [
            {"code": r.code, "text": r.text, "what_to_do": r.what_to_do} for r in reading.reasons
        ],
        "outline": "found" if measurement is None else measurement.outline,
        "box": _box(line.box),
        "card": _box(line.card),
        "sha256": line.sha256,
    }


def as_json_line(line: TubeReading) -> str:
    """One tube as one line of JSON, with its line end."""
    return json.dumps(as_object(line), ensure_ascii=False, allow_nan=False) + "\n"


def safe_text(text: str) -> str:
    """Text that no spreadsheet takes for a formula: a quote is put before a suspicious start.

    Examples
    --------
    >>> safe_text("=1+1"), safe_text("plot 7")
    ("'=1+1", 'plot 7')
    """
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) else text


def csv_row(cells: Iterable[object]) -> str:
    """One row of a CSV table (RFC 4180), with its line end."""
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    return out.getvalue()


def as_csv_row(line: TubeReading) -> str:
    """One tube as a row of a CSV table: numbers as numbers, missing values empty."""
    return csv_row(csv_cells(line))


def csv_cells(line: TubeReading) -> list[object]:
    """Return the cells of one tube's row, in the order of `CSV_COLUMNS`."""
    values = as_object(line)
    lab = values["lab"] or (None, None, None)
    values |= dict(zip(("lightness", "a", "b"), lab, strict=True))  # type: ignore[call-overload]
    values["reasons"] = " ".join(r.code for r in line.reading.reasons)
    values["what_to_do"] = " ".join(r.what_to_do for r in line.reading.reasons)
    cells = (values[column] for column in CSV_COLUMNS)
    return [safe_text(cell) if isinstance(cell, str) else cell for cell in cells]


def as_table(lines: Iterable[TubeReading]) -> str:
    """Tubes as a table for the terminal; what to do stands under each doubtful line."""
    head = ("photo", "tube", "sample", "status", "value (90 %)", "swatch", "confidence")
    rows: list[tuple[tuple[str, ...], tuple[str, ...]]] = []
    for line in lines:
        reading = line.reading
        said = "" if line.chart is None else say_value(reading, line.chart)
        row: tuple[str, ...] = (
            line.photo,
            "-" if line.tube is None else str(line.tube),
            line.entry.sample or ("known" if line.entry.role == "in_frame" else ""),
            reading.status,
            said,
            say_swatch(reading),
            say_confidence(reading.confidence),
        )
        notes = tuple(f"{r.text} {r.what_to_do}" for r in reading.reasons if r.weight != "note")
        rows.append((row, notes))
    widths = [max(len(row[i]) for row in (head, *(r for r, _ in rows))) for i in range(len(head))]

    def padded(row: tuple[str, ...]) -> str:
        return "  ".join(
            cell.ljust(width) for cell, width in zip(row, widths, strict=True)
        ).rstrip()

    out = [padded(head), padded(tuple("-" * width for width in widths))]
    for row, notes in rows:
        out.append(padded(row))
        out.extend(f"    {note}" for note in notes)
    return "\n".join(out) + "\n"
