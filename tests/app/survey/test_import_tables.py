"""Columns are matched, rows checked, and errors named by row."""

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.survey.import_tables import (
    SAMPLE_FIELDS,
    SITE_FIELDS,
    read_known_values,
    read_methods,
    read_samples,
    read_sites,
    read_tests,
)
from app.survey.sample import Sample
from app.survey.site import Site
from app.survey.table_rows import Cell, Table, guess_columns, match_columns
from colorcore.errors import SheetError
from tests.app.sample_surveys import NOW


def table(*rows: tuple[Cell, ...], decimal_comma: bool = False) -> Table:
    """Make a table; the first row holds the headings."""
    head, *rest = rows
    return Table(
        name="field.csv",
        headings=tuple(str(cell) for cell in head),
        rows=tuple(enumerate(rest, start=2)),
        decimal_comma=decimal_comma,
    )


def test_headings_are_recognized() -> None:
    """Case, units, underscores and the order do not matter; what is left over is named."""
    found = guess_columns(["LON", "Site Name", "lat [°]", "Area (ha)", "Owner", ""], SITE_FIELDS)
    assert found.columns == {"name": 1, "latitude_deg": 2, "longitude_deg": 0, "area_ha": 3}
    assert found.unused == ("Owner",)
    found = guess_columns(["Sample", "Plot", "Depth (cm)", "depth_top_cm"], SAMPLE_FIELDS)
    assert found.columns == {"label": 0, "site": 1, "depth_cm": 2, "depth_top_cm": 3}


def test_a_unit_that_is_not_ours_is_no_match() -> None:
    """Inches and acres are left to the user."""
    assert guess_columns(["sample", "depth (in)"], SAMPLE_FIELDS).columns == {"label": 0}
    assert guess_columns(["site", "area (acre)"], SITE_FIELDS).unused == ("area (acre)",)


def test_what_the_user_says_comes_first() -> None:
    """A column that was given away is not guessed again."""
    lines = table(("Name", "Owner", "Lat", "Lon"), ("A", "B", 1.0, 2.0))
    matching = match_columns(lines, SITE_FIELDS, {"name": "Owner"})
    assert matching.columns["name"] == 1
    assert matching.unused == ("Name",)
    assert read_sites(lines, {"name": "Owner"})[0].name == "B"
    with pytest.raises(SheetError, match="no column 'Nobody'"):
        match_columns(lines, SITE_FIELDS, {"name": "Nobody"})
    with pytest.raises(SheetError, match="no field 'color'"):
        match_columns(lines, SITE_FIELDS, {"color": "Owner"})


def test_sites() -> None:
    """Numbers from text or from a workbook; blanks are unknown; our apostrophe is taken off."""
    lines = table(
        ("site", "latitude", "longitude", "elevation_m", "crop", "notes"),
        ("'=North", "50.5", 8, "", None, "  "),
        (12.0, None, None, "3e2", "'s corn", "x"),
    )
    assert read_sites(lines) == (
        Site(name="=North", latitude_deg=50.5, longitude_deg=8.0),
        Site(name="12", elevation_m=300.0, crop="'s corn", notes="x"),
    )


def test_samples() -> None:
    """Dates from text or from a workbook; a depth from one column or two."""
    lines = table(
        ("sample", "site", "date", "depth", "kind", "taken_by"),
        ("A1", "North", "2026-05-01", "0-20", "Soil", "P1"),
        ("A2", "North", datetime(2026, 5, 2, 8, 30), "7,5 – 30", "check standard", None),
        ("A3", None, date(2026, 5, 3), 15, None, None),
    )
    assert read_samples(lines, sites={"North"}) == (
        Sample(
            label="A1",
            site="North",
            taken_on=date(2026, 5, 1),
            depth_top_cm=0.0,
            depth_bottom_cm=20.0,
            taken_by="P1",
        ),
        Sample(
            label="A2",
            kind="check standard",
            site="North",
            taken_on=date(2026, 5, 2),
            depth_top_cm=7.5,
            depth_bottom_cm=30.0,
        ),
        Sample(label="A3", taken_on=date(2026, 5, 3), depth_bottom_cm=15.0),
    )


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (("", "1", "2"), "Row 3: the name is blank"),
        (("B", "north", "2"), "the latitude_deg 'north' is not a number"),
        (("B", "1,5", "2"), "write it with a point"),
        (("B", "123", "45"), "swapped"),
        (("B", "1", None), "go together"),
        (("B", "#REF!", "2"), "an error of the spreadsheet"),
        (("A", "1", "2"), "'A' stands in row 2 already"),
        ((date(2026, 1, 2), "1", "2"), "format the column as text"),
        (("B", True, "2"), "not a number"),
        (("B", "nan", "2"), "not a number"),
        (("B", 10**400, "2"), "not a number"),
        (("B" * 3000, "1", "2"), "characters"),
    ],
)
def test_errors_are_named_by_row(row: tuple[Cell, ...], message: str) -> None:
    """What is wrong, where, and that nothing was added."""
    lines = table(("site", "lat", "lon"), ("A", "1", "2"), row)
    with pytest.raises(SheetError, match=r"1 of 2 rows of field\.csv") as caught:
        read_sites(lines)
    assert message in caught.value.what_happened
    assert "nothing was added" in caught.value.what_to_do


def test_many_errors_are_shortened() -> None:
    """Ten are shown, the rest counted."""
    lines = table(("site", "lat", "lon"), *[("", 1, 2)] * 25)
    with pytest.raises(SheetError, match="25 of 25 rows") as caught:
        read_sites(lines)
    assert "And 15 more rows." in caught.value.what_happened


def test_samples_of_unknown_sites_and_bad_dates() -> None:
    """Both are named; an American date is not guessed."""
    lines = table(("sample", "site", "date"), ("A", "X", ""), ("B", "", "5/1/2026"))
    with pytest.raises(SheetError) as caught:
        read_samples(lines, sites=())
    assert "Row 2: the site 'X' is not in the survey" in caught.value.what_happened
    assert "Row 3: the taken_on '5/1/2026' is not a date; write it as" in caught.value.what_happened


def test_a_decimal_comma_is_read_where_the_table_has_one() -> None:
    """A table divided by semicolons writes 50,5."""
    lines = table(("site", "lat", "lon"), ("A", "50,5", "8,25"), decimal_comma=True)
    assert read_sites(lines)[0].latitude_deg == 50.5


def test_the_column_of_names_is_needed() -> None:
    """The error lists the columns that are there."""
    with pytest.raises(SheetError, match="no column for the label"):
        read_samples(table(("a", "b"), ("1", "2")))


cells = (
    st.none()
    | st.text(max_size=12)
    | st.booleans()
    | st.integers(-200, 200)
    | st.floats()
    | st.dates()
    | st.datetimes()
)


@given(st.lists(st.tuples(*[cells] * 6), min_size=1, max_size=5))
def test_any_cells_give_samples_or_a_plain_error(rows: list[tuple[Cell, ...]]) -> None:
    """Nothing else comes out, whatever stands in the cells."""
    for head, read in (
        (("sample", "site", "date", "depth", "depth_top_cm", "kind"), read_samples),
        (("site", "lat", "lon", "map_x_m", "map_y_m", "area_ha"), read_sites),
    ):
        try:
            made = read(table(head, *rows))  # type: ignore[operator]
        except SheetError:
            continue
        assert len(made) == len(rows)


def test_methods() -> None:
    """Ratio as charts write it, minutes as numbers, yes and no as such."""
    (method,) = read_methods(
        table(
            ("Method", "Soil:water", "Extractant", "Color from (min)", "Subtract blank"),
            ("shake", "1 : 5", "water", "10", "yes"),
        )
    )
    assert (method.ratio, method.color_from_min, method.subtract_blank) == ("1:5", 10, True)
    with pytest.raises(SheetError, match=r"Row 2: .*neither yes nor no"):
        read_methods(table(("method", "subtract blank"), ("shake", "perhaps")))


def test_tests() -> None:
    """The quantity by any usual name; without an id the sample and quantity make one."""
    (test,) = read_tests(
        table(
            ("Sample", "Quantity", "Indicator at"),
            ("A1", "nitrate nitrogen", "2026-05-01T09:30+02:00"),
        )
    )
    assert (test.id, test.quantity) == ("A1, nitrogen", "nitrogen")
    assert test.indicator_added_at == NOW
    assert test.indicator_added_at.utcoffset() == timedelta(hours=2)
    (local,) = read_tests(table(("sample", "quantity", "shaken"), ("A1", "pH", "2026-05-01 09:30")))
    assert local.shaken_at is not None
    assert local.shaken_at.utcoffset() is not None
    with pytest.raises(SheetError, match=r"Row 2: .*write it as 2026-05-01 09:30"):
        read_tests(table(("sample", "quantity", "shaken"), ("A1", "pH", "2026-05-01")))
    with pytest.raises(SheetError, match="'A1, ph' stands in row 2 already"):
        read_tests(table(("sample", "quantity"), ("A1", "pH"), ("A1", "ph")))


def test_known_values() -> None:
    """A pH has its unit by itself; an unknown source or a blank value is named by its row."""
    head = ("Sample", "Quantity", "Value", "Unit", "Source")
    one, two = read_known_values(
        table(
            head,
            ("A1", "pH", 6.5, None, "Electrode"),
            ("A1", "Phosphorus", 12, "mg / L", "laboratory"),
        ),
        noted_at=NOW,
        noted_by="P1",
    )
    assert (one.quantity, one.unit, one.value, one.source) == ("ph", "pH", 6.5, "electrode")
    assert (two.quantity, two.unit) == ("phosphorus", "mg/L")
    for row, said in (
        (("A1", "pH", None, None, "electrode"), "the value is blank"),
        (("A1", "pH", 6.5, None, "a friend"), "source must be one of"),
    ):
        with pytest.raises(SheetError, match=f"Row 2: {said}"):
            read_known_values(table(head, row), noted_at=NOW, noted_by="P1")
