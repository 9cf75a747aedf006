"""One reading as one row: what every export of a survey says, and in which order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from app.survey.kept_reading import KeptReading
from app.survey.method import Test
from app.survey.sample import Sample
from app.survey.site import Site
from app.survey.survey import Survey

Cell = str | int | float | bool | date | datetime | None
"""What a cell holds; a datetime carries no offset where it is in the camera's own time."""

COLUMNS = (
    *("reading", "kept_at_utc", "person", "sample", "kind", "site", "taken_on"),
    *("depth_top_cm", "depth_bottom_cm", "replicate", "role", "test", "method"),
    *("quantity", "form", "basis", "ratio", "unit", "status", "value", "low_90", "high_90"),
    *("swatch", "swatch_label", "confidence", "nearest_by_color", "lightness", "a", "b"),
    *("largest_term", "reasons", "what_to_do", "photo", "tube", "photo_taken_at", "outline"),
    *("chart", "chart_id", "software_version", "photo_sha256"),
    *("stands", "corrects", "corrected_by", "correction"),
)
POSITION = ("latitude_deg", "longitude_deg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The survey's sites, samples and tests by their names."""

    sites: Mapping[str, Site]
    samples: Mapping[str, Sample]
    tests: Mapping[str, Test]


def places_of(survey: Survey) -> Places:
    """Index a survey by name."""
    return Places(
        sites={site.name: site for site in survey.sites},
        samples={sample.label: sample for sample in survey.samples},
        tests={test.id: test for test in survey.tests},
    )


def columns(*, with_positions: bool) -> tuple[str, ...]:
    """Headings, with the positions of the sites only where they are asked for."""
    return (*COLUMNS, *POSITION) if with_positions else COLUMNS


def site_of(kept: KeptReading, places: Places) -> Site | None:
    """Return the site that the reading's sample was taken at."""
    sample = places.samples.get(kept.line.entry.sample or "")
    return None if sample is None or sample.site is None else places.sites.get(sample.site)


def row_of(kept: KeptReading, places: Places, *, with_positions: bool) -> tuple[Cell, ...]:
    """One reading as cells, in the order of `columns`; what is unknown is None."""
    line, reading, entry = kept.line, kept.line.reading, kept.line.entry
    sample = places.samples.get(entry.sample or "")
    test = places.tests.get(kept.test or "")
    chart, seen = line.chart, line.measurement
    analyte = None if chart is None else chart.analyte
    lab: Sequence[float | None] = (None, None, None) if seen is None else seen.lab
    taken_at = kept.taken_at
    cells: tuple[Cell, ...] = (
        kept.id,
        kept.kept_at.astimezone(UTC).replace(tzinfo=None, microsecond=0),
        kept.person,
        entry.sample,
        None if sample is None else sample.kind,
        None if sample is None else sample.site,
        None if sample is None else sample.taken_on,
        None if sample is None else sample.depth_top_cm,
        None if sample is None else sample.depth_bottom_cm,
        entry.replicate,
        entry.role,
        kept.test,
        None if test is None else test.method,
        None if analyte is None else analyte.quantity,
        None if analyte is None else analyte.form,
        None if analyte is None else analyte.basis,
        None if analyte is None else analyte.ratio,
        None if analyte is None else analyte.unit,
        reading.status,
        _rounded(reading.value),
        _rounded(reading.low),
        _rounded(reading.high),
        _rounded(reading.swatch),
        reading.swatch_label,
        _rounded(reading.confidence),
        _rounded(reading.nearest_by_color),
        *(_rounded(value, 3) for value in lab),
        reading.largest_term,
        " ".join(reason.code for reason in reading.reasons) or None,
        " ".join(reason.what_to_do for reason in reading.reasons) or None,
        line.photo,
        line.tube,
        None if taken_at is None else taken_at.replace(tzinfo=None, microsecond=0),
        None if seen is None else seen.outline,
        None if chart is None else chart.name,
        reading.chart_id,
        kept.software_version,
        line.sha256,
        kept.stands,
        kept.corrects,
        kept.corrected_by,
        kept.correction,
    )
    if not with_positions:
        return cells
    site = site_of(kept, places)
    return (*cells, *((None, None) if site is None else (site.latitude_deg, site.longitude_deg)))


def _rounded(value: float | None, places: int = 4) -> float | None:
    """Round far below any uncertainty, so that a cell shows no digits of the computer's own."""
    return None if value is None else round(value, places)
