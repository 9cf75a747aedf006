"""Kept readings: value objects to rows and back."""

import hashlib
import math
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from typing import Any

from app.records.errors import NOT_RIGHT, RecordsDamagedError
from app.records.packing import (
    pack,
    pack_or_none,
    unpack_alternatives,
    unpack_box,
    unpack_hand,
    unpack_known,
    unpack_measurement,
    unpack_numbers,
    unpack_reasons,
)
from app.records.times import offset_min, to_moment, to_text
from app.survey.kept_reading import KeptReading
from app.survey.names import tidy_name, tidy_text
from app.tube_reading import KnownTube, TubeEntry, TubeReading
from app.version import VERSION
from calibration.chart import Chart
from calibration.chart_file import chart_text
from calibration.reading import Reading
from colorcore.measurement import Triple

_NUMBERS = (
    *("value", "low", "high", "swatch", "confidence"),
    *("nearest_by_color", "color_distance", "curve_distance"),
)
COLUMNS = (
    *("id", "kept_at", "kept_offset_min", "person", "software_version", "test"),
    *("corrects", "correction", "withdrawn"),
    *("photo_name", "photo", "tube", "sample", "replicate", "role", "said_chart"),
    *("chart", "other_chart_id", "quantity", "status"),
    *_NUMBERS,
    *("swatch_label", "largest_term", "taken_at", "origin"),
)
DETAILS = (
    *("reading", "measurement", "box", "card", "alternatives", "probabilities", "reasons"),
    *("known", "card_reflectance", "hand"),
)
SELECT = (
    f"SELECT {', '.join(f'r.{column}' for column in COLUMNS)}, "
    f"{', '.join(f'd.{column}' for column in DETAILS)}, "
    "(SELECT c.id FROM readings AS c WHERE c.corrects = r.id) AS corrected_by, p.sha256 "
    "FROM readings AS r JOIN reading_details AS d ON d.reading = r.id "
    "LEFT JOIN photos AS p ON p.number = r.photo"
)
_NAMES = (*COLUMNS, *DETAILS, "corrected_by", "sha256")


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """What is the same for all readings that are kept at once.

    Parameters
    ----------
    person : str
        Code of who keeps them.
    now : datetime
        With its offset from UTC.
    card_reflectance : tuple or None
        Of the card, where it is not the chart's.
    corrects : int or None
        The reading that is corrected.
    correction : str or None
        Why.
    withdrawn : bool
        Whether it is only taken back.
    software_version : str
        What read them.
    origin : str or None
        Survey and number that a single reading had there.
    """

    person: str
    now: datetime
    card_reflectance: Triple | None = None
    corrects: int | None = None
    correction: str | None = None
    withdrawn: bool = False
    software_version: str = VERSION
    origin: str | None = None


def sample_of(line: TubeReading) -> str | None:
    """Return the sample's label as the survey writes it; None where there is none."""
    said = line.entry.sample
    return None if said is None else tidy_name(said) or None


def chart_row(chart: Chart) -> tuple[str, str, str, str]:
    """Return fingerprint, id, name and the whole text of a chart's file."""
    text = chart_text(chart)
    return hashlib.sha256(text.encode("utf-8")).hexdigest(), chart.id, chart.name, text


def insert_reading(
    db: sqlite3.Connection,
    number: int,
    line: TubeReading,
    keeping: Keeping,
    *,
    photo: int | None,
    chart: int | None,
    test: str | None,
    known: tuple[KnownTube, ...],
) -> None:
    """Write one reading; inside a transaction.

    Parameters
    ----------
    number : int
        Its number in the survey.
    line : TubeReading
        The reading.
    keeping : Keeping
        Who, when, why.
    photo, chart : int or None
        Numbers of its photo and chart in the survey.
    test : str or None
        The test that it belongs to.
    known : tuple of KnownTube
        Tubes of known value in its photo.

    Raises
    ------
    ValueError
        If it holds a number that is not finite.
    """
    reading, entry, measurement = line.reading, line.entry, line.measurement
    taken_at = None if measurement is None else measurement.taken_at
    row = {
        "id": number,
        "kept_at": to_text(keeping.now),
        "kept_offset_min": offset_min(keeping.now),
        "person": keeping.person,
        "software_version": keeping.software_version,
        "test": test,
        "corrects": keeping.corrects,
        "correction": keeping.correction and tidy_text(keeping.correction),
        "withdrawn": int(keeping.withdrawn),
        "photo_name": tidy_text(PurePath(line.photo).name),
        "photo": photo,
        "tube": line.tube,
        "sample": sample_of(line),
        "replicate": entry.replicate and tidy_text(entry.replicate),
        "role": tidy_text(entry.role),
        "said_chart": entry.chart and tidy_text(entry.chart),
        "chart": chart,
        "other_chart_id": None
        if line.chart and line.chart.id == reading.chart_id
        else reading.chart_id,
        "quantity": None if line.chart is None else line.chart.analyte.quantity,
        "status": reading.status,
        **{name: _finite(name, getattr(reading, name)) for name in _NUMBERS},
        "swatch_label": reading.swatch_label,
        "largest_term": reading.largest_term,
        "taken_at": taken_at and taken_at.isoformat(),
        "origin": keeping.origin,
    }
    details = {
        "reading": number,
        "measurement": pack_or_none(measurement),
        "box": pack_or_none(line.box),
        "card": pack_or_none(line.card),
        "alternatives": pack(reading.alternatives),
        "probabilities": pack(reading.probabilities),
        "reasons": pack(reading.reasons),
        "known": pack(known),
        "card_reflectance": pack_or_none(keeping.card_reflectance),
        "hand": pack_or_none(line.hand),
    }
    db.execute(_INSERT_READING, [row[column] for column in COLUMNS])
    db.execute(_INSERT_DETAILS, [details[column] for column in DETAILS])


def _insert(table: str, columns: Sequence[str]) -> str:
    marks = ", ".join("?" * len(columns))
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"


_INSERT_READING = _insert("readings", COLUMNS)
_INSERT_DETAILS = _insert("reading_details", DETAILS)


def _finite(name: str, number: float | None) -> float | None:
    """Refuse what SQLite would turn into nothing (NaN) or no JSON can hold (infinity)."""
    if number is None:
        return None
    if not math.isfinite(number):
        raise ValueError(f"{name} must be finite, got {number}")
    return float(number)


def kept_of(row: Sequence[Any], chart_of: Callable[[int], Chart]) -> KeptReading:
    """Make a kept reading of one row of `SELECT`.

    Parameters
    ----------
    row : sequence
        The cells.
    chart_of : callable
        Gives the chart of a number.

    Raises
    ------
    RecordsDamagedError
        If the row cannot be right.
    """
    cells = dict(zip(_NAMES, row, strict=True))
    try:
        return _kept(cells, chart_of)
    except NOT_RIGHT as error:
        raise RecordsDamagedError(
            f"Reading {cells['id']} of the survey cannot be right ({error}).",
            what_to_do="Restore a backup; the other readings can still be exported.",
        ) from error


def _kept(cells: Mapping[str, Any], chart_of: Callable[[int], Chart]) -> KeptReading:
    chart = None if cells["chart"] is None else chart_of(cells["chart"])
    ends = [cells[name] for name in ("low", "value", "high") if cells[name] is not None]
    if ends != sorted(ends):
        raise ValueError(f"low, value and high must not fall, got {ends}")
    reading = Reading(
        status=cells["status"],
        alternatives=unpack_alternatives(cells["alternatives"]),
        probabilities=unpack_numbers(cells["probabilities"]),
        reasons=unpack_reasons(cells["reasons"]),
        chart_id=cells["other_chart_id"] or (chart.id if chart else ""),
        swatch_label=cells["swatch_label"],
        largest_term=cells["largest_term"],
        **{name: _finite(name, cells[name]) for name in _NUMBERS},
    )
    line = TubeReading(
        photo=cells["photo_name"],
        tube=cells["tube"],
        entry=TubeEntry(
            sample=cells["sample"],
            replicate=cells["replicate"],
            chart=cells["said_chart"],
            role=cells["role"],
        ),
        chart=chart,
        reading=reading,
        measurement=unpack_measurement(cells["measurement"]),
        box=unpack_box(cells["box"]),
        card=unpack_box(cells["card"]),
        sha256=cells["sha256"],
        hand=unpack_hand(cells["hand"]),
    )
    return KeptReading(
        id=cells["id"],
        kept_at=to_moment(cells["kept_at"], cells["kept_offset_min"]),
        person=cells["person"],
        software_version=cells["software_version"],
        test=cells["test"],
        line=line,
        known=unpack_known(cells["known"]),
        card_reflectance=unpack_numbers(cells["card_reflectance"]),
        corrects=cells["corrects"],
        correction=cells["correction"],
        withdrawn=bool(cells["withdrawn"]),
        corrected_by=cells["corrected_by"],
        origin=cells["origin"],
    )
