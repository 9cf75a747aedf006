"""Sites, samples, methods, tests and known values from tables of the user's."""

import re
from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Literal

from app.survey.method import Method, Test
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site
from app.survey.table_rows import Fields, Row, Table, match_columns, read_rows
from calibration.errors import AnalyteError
from calibration.indicator import normal_quantity, normal_ratio, normal_unit

Listed = Literal["sites", "samples", "methods", "tests", "known"]
_NOTES = ("notes", "note", "remarks", "comment", "comments")

SITE_FIELDS: Fields = {
    "name": ("site", "name", "site name", "site id", "place", "plot"),
    "latitude_deg": ("latitude", "lat", "latitude deg"),
    "longitude_deg": ("longitude", "lon", "long", "lng", "longitude deg"),
    "elevation_m": ("elevation", "elevation m", "altitude", "altitude m"),
    "map_x_m": ("map x", "map x m", "x m"),
    "map_y_m": ("map y", "map y m", "y m"),
    "land_use": ("land use", "use"),
    "area_ha": ("area ha", "hectares", "ha"),
    "crop": ("crop",),
    "notes": _NOTES,
    "suspected_contamination": ("contamination suspected", "contaminated"),
}

SAMPLE_FIELDS: Fields = {
    "label": ("sample", "label", "sample label", "sample name", "sample id", "bag"),
    "kind": ("kind", "sample kind", "sample type"),
    "site": ("site", "site name", "site id", "place", "plot"),
    "taken_on": ("taken on", "date", "sampled", "sampled on", "sampling date", "sample date"),
    "depth_cm": ("depth cm", "depth"),
    "depth_top_cm": ("depth top cm", "depth from cm", "from cm", "top cm"),
    "depth_bottom_cm": ("depth bottom cm", "depth to cm", "to cm", "bottom cm"),
    "texture": ("texture", "soil texture"),
    "taken_by": ("taken by", "sampler", "person"),
    "notes": _NOTES,
}
"""Fields of a sample; `depth_cm` takes "0-20" apart, or a single number as the lower end."""

METHOD_FIELDS: Fields = {
    "name": ("method", "name", "method name"),
    "ratio": ("ratio", "soil to liquid", "soil liquid", "soil water"),
    "extractant": ("extractant", "liquid"),
    "indicator": ("indicator", "dye"),
    "settling_from_min": ("settling from min", "settling min"),
    "settling_to_min": ("settling to min",),
    "color_from_min": ("color from min", "color min", "colour from min", "colour min"),
    "color_to_min": ("color to min", "colour to min"),
    "subtract_blank": ("subtract blank", "blank taken off"),
    "notes": _NOTES,
}

TEST_FIELDS: Fields = {
    "id": ("test", "id", "test id"),
    "sample": ("sample", "label", "sample label", "bag"),
    "quantity": ("quantity", "what"),
    "method": ("method",),
    "indicator_batch": ("indicator batch", "batch"),
    "shaken_at": ("shaken at", "shaken"),
    "indicator_added_at": ("indicator added at", "indicator at", "indicator added"),
    "notes": _NOTES,
}
"""Fields of a test; without a column of ids a test is named by sample and quantity."""

KNOWN_FIELDS: Fields = {
    "sample": ("sample", "label", "sample label", "bag"),
    "quantity": ("quantity", "what"),
    "unit": ("unit",),
    "value": ("value", "result"),
    "standard_uncertainty": ("standard uncertainty", "uncertainty"),
    "source": ("source", "from", "measured by"),
}
"""Fields of what a sample is known to be; the source is certificate, electrode or laboratory."""

FIELDS: Mapping[Listed, Fields] = {
    "sites": SITE_FIELDS,
    "samples": SAMPLE_FIELDS,
    "methods": METHOD_FIELDS,
    "tests": TEST_FIELDS,
    "known": KNOWN_FIELDS,
}
"""What a table may list, and the fields of each."""


def read_sites(table: Table, said: Mapping[str, str] | None = None) -> tuple[Site, ...]:
    """Make sites of a table's rows.

    Raises
    ------
    SheetError
        If the column of names is missing, or rows cannot be right; each is named with its number.
    """
    return read_rows(table, match_columns(table, SITE_FIELDS, said), ("name",), _site)


def read_samples(
    table: Table, said: Mapping[str, str] | None = None, *, sites: Collection[str] | None = None
) -> tuple[Sample, ...]:
    """Make samples of a table's rows.

    Parameters
    ----------
    table : Table
        The table.
    said : mapping, optional
        Heading by field, where the user matched columns.
    sites : collection of str, optional
        Names of the survey's sites; a sample of any other is refused.

    Raises
    ------
    SheetError
        If the column of labels is missing, or rows cannot be right; each is named with its number.
    """

    def sample(row: Row) -> Sample:
        made = _sample(row)
        if sites is not None and made.site is not None and made.site not in sites:
            raise ValueError(f"the site '{made.site}' is not in the survey; add the sites first")
        return made

    return read_rows(table, match_columns(table, SAMPLE_FIELDS, said), ("label",), sample)


def read_methods(table: Table, said: Mapping[str, str] | None = None) -> tuple[Method, ...]:
    """Make methods of a table's rows.

    Raises
    ------
    SheetError
        If the column of names is missing, or rows cannot be right; each is named with its number.
    """
    return read_rows(table, match_columns(table, METHOD_FIELDS, said), ("name",), _method)


def read_tests(table: Table, said: Mapping[str, str] | None = None) -> tuple[Test, ...]:
    """Make tests of a table's rows.

    Raises
    ------
    SheetError
        As `read_methods`, for the columns of samples and quantities.
    """
    matching = match_columns(table, TEST_FIELDS, said)
    keys = ("id",) if "id" in matching.columns else ("sample", "quantity")
    return read_rows(table, matching, keys, _test)


def read_known_values(
    table: Table, said: Mapping[str, str] | None = None, *, noted_at: datetime, noted_by: str
) -> tuple[KnownValue, ...]:
    """Make known values of a table's rows.

    Parameters
    ----------
    table : Table
        The table.
    said : mapping, optional
        Heading by field, where the user matched columns.
    noted_at : datetime
        With its offset from UTC.
    noted_by : str
        Code of the person.

    Raises
    ------
    SheetError
        As `read_methods`, for the columns of samples, quantities, values and sources.
    """

    def known(row: Row) -> KnownValue:
        value = row.number("value")
        if value is None:
            raise ValueError("the value is blank")
        quantity = _quantity(row)
        unit = row.text("unit")
        return KnownValue(
            sample=row.needed("sample"),
            quantity=quantity,
            unit="pH" if quantity == "ph" else normal_unit(unit),
            value=value,
            standard_uncertainty=row.number("standard_uncertainty"),
            source=row.needed("source").casefold(),  # type: ignore[arg-type]  # checked there
            noted_at=noted_at,
            noted_by=noted_by,
        )

    keys = ("sample", "quantity", "source")
    return read_rows(table, match_columns(table, KNOWN_FIELDS, said), keys, known)


def _site(row: Row) -> Site:
    latitude = row.number("latitude_deg")
    if latitude is not None and not -90 <= latitude <= 90:
        raise ValueError(
            f"the latitude {latitude:g} is not between -90 and 90; are latitude and longitude "
            "swapped?"
        )
    return Site(
        name=row.needed("name"),
        latitude_deg=latitude,
        longitude_deg=row.number("longitude_deg"),
        elevation_m=row.number("elevation_m"),
        map_x_m=row.number("map_x_m"),
        map_y_m=row.number("map_y_m"),
        land_use=row.text("land_use"),
        area_ha=row.number("area_ha"),
        crop=row.text("crop"),
        notes=row.text("notes"),
        suspected_contamination=row.yes_or_no("suspected_contamination"),
    )


def _sample(row: Row) -> Sample:
    top, bottom = _depths(row)
    kind = row.text("kind")
    return Sample(
        label=row.needed("label"),
        kind="soil" if kind is None else kind.casefold(),  # type: ignore[arg-type]  # checked there
        site=row.text("site"),
        taken_on=row.day("taken_on"),
        depth_top_cm=top,
        depth_bottom_cm=bottom,
        texture=row.text("texture"),
        taken_by=row.text("taken_by"),
        notes=row.text("notes"),
    )


def _depths(row: Row) -> tuple[float | None, float | None]:
    """Both ends of the depth, from two columns or from one."""
    top, bottom = row.number("depth_top_cm"), row.number("depth_bottom_cm")
    cell = row.cell("depth_cm")
    if cell is None or top is not None or bottom is not None:
        return top, bottom
    span = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*[-–]\s*(\d+(?:[.,]\d+)?)", str(cell), re.ASCII)
    if span is None:
        return None, row.number("depth_cm")
    low, high = (float(part.replace(",", ".")) for part in span.groups())
    return low, high


def _method(row: Row) -> Method:
    ratio = row.text("ratio")
    return Method(
        name=row.needed("name"),
        ratio=_plain_ratio(ratio),
        extractant=row.text("extractant"),
        indicator=row.text("indicator"),
        settling_from_min=row.number("settling_from_min"),
        settling_to_min=row.number("settling_to_min"),
        color_from_min=row.number("color_from_min"),
        color_to_min=row.number("color_to_min"),
        subtract_blank=row.yes_or_no("subtract_blank") or False,
        notes=row.text("notes"),
    )


def _test(row: Row) -> Test:
    sample, quantity = row.needed("sample"), _quantity(row)
    return Test(
        id=row.text("id") or f"{sample}, {quantity}",
        sample=sample,
        quantity=quantity,
        method=row.text("method"),
        indicator_batch=row.text("indicator_batch"),
        shaken_at=row.moment("shaken_at"),
        indicator_added_at=row.moment("indicator_added_at"),
        notes=row.text("notes"),
    )


def _quantity(row: Row) -> str:
    """Read a quantity by any of its usual names, as charts know it."""
    text = row.needed("quantity")
    return normal_quantity(text)[0] or text


def _plain_ratio(text: str | None) -> str | None:
    """Write a ratio as charts do; what is none stays the user's words."""
    try:
        return normal_ratio(text)
    except AnalyteError:
        return text
