"""Methods, tests and known values from a table of the user's."""

from collections.abc import Mapping
from datetime import datetime

from app.survey.import_tables import Row, Table, match_columns, read_rows
from app.survey.method import Method, Test
from app.survey.sample import KnownValue
from calibration.errors import AnalyteError
from calibration.indicator import normal_quantity, normal_ratio, normal_unit

_NOTES = ("notes", "note", "remarks", "comment", "comments")

METHOD_FIELDS: Mapping[str, tuple[str, ...]] = {
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
"""Fields of a method, and the headings that are taken for them."""

TEST_FIELDS: Mapping[str, tuple[str, ...]] = {
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

KNOWN_FIELDS: Mapping[str, tuple[str, ...]] = {
    "sample": ("sample", "label", "sample label", "bag"),
    "quantity": ("quantity", "what"),
    "unit": ("unit",),
    "value": ("value", "result"),
    "standard_uncertainty": ("standard uncertainty", "uncertainty"),
    "source": ("source", "from", "measured by"),
}
"""Fields of what a sample is known to be; the source is certificate, electrode or laboratory."""


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
