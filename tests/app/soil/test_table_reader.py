"""Every number has its source; a table that lacks one is refused and its line named."""

import pytest

from app.soil.table_reader import load_table, read_soil_table, table_names
from calibration.errors import TableError

NOTES = "# source: a book\n# region: here\n# year: 1999\n# unit: pH\n"


def test_every_table_that_ships_is_whole() -> None:
    """Source, region, year, unit and rows."""
    assert len(table_names()) >= 28
    for name in table_names():
        table = load_table(name)
        assert len(tuple(table)) == len(table.table.rows) > 0
        assert table.citation.source
        assert table.unit


@pytest.mark.parametrize(
    "name",
    [
        "categories_iowa",
        "categories_minnesota",
        "categories_oregon",
        "categories_england_wales",
        "recommendations_us_typical",
        "crops_extension",
        "lime_smp_tristate",
        "lime_smp_kansas",
        "lime_factors_england_wales",
        "sulphur_western",
        "fertilisers",
        "ph_media",
        "scoop_density",
        "textures",
    ],
)
def test_what_was_not_seen_in_print_says_so(name: str) -> None:
    """The words travel with the source to wherever it is shown."""
    citation = load_table(name).citation
    assert "from memory, verify locally" in citation.source


@pytest.mark.parametrize("name", ["categories_new_jersey", "lime_sikora_oregon", "crops_almanac"])
def test_what_was_seen_in_print_does_not(name: str) -> None:
    """Else the warning would be worth nothing."""
    assert "from memory" not in load_table(name).citation.source


@pytest.mark.parametrize("key", ["source", "region", "year", "unit"])
def test_a_missing_note_is_named_with_its_line(key: str) -> None:
    """Gone altogether: the line of the headings; blank: its own line."""
    lines = (NOTES + "x,y\n1,2\n").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith(f"# {key}"))
    gone = "\n".join(lines[:at] + lines[at + 1 :])
    with pytest.raises(TableError, match=rf"own\.csv, line 4: the table's {key}"):
        read_soil_table(gone, "own.csv")
    blank = "\n".join([*lines[:at], f"# {key}:", *lines[at + 1 :]])
    with pytest.raises(TableError, match=rf"own\.csv, line {at + 1}: the table's {key}"):
        read_soil_table(blank, "own.csv")


def test_a_torn_row_is_named() -> None:
    """Too few cells under the headings."""
    with pytest.raises(TableError, match=r"own\.csv, line 7: it has 1 cells under 2"):
        read_soil_table(NOTES + "x,y\n1,2\n3\n", "own.csv")


def test_an_open_quotation_is_named() -> None:
    """A row stays on one line."""
    with pytest.raises(TableError, match=r"own\.csv, line 6: the quotation"):
        read_soil_table(NOTES + 'x,y\n"1,2\n', "own.csv")


@pytest.mark.parametrize("cell", ["abc", "-1", "1e5", "nan", "١", "1 000", "9" * 30])
def test_what_is_no_number_is_named(cell: str) -> None:
    """Line, heading and text."""
    (row,) = read_soil_table(NOTES + f"x,y\n{cell},2\n", "own.csv")
    with pytest.raises(TableError, match=r"own\.csv, line 6: x '.*' is not a number"):
        row.number("x")


def test_a_blank_is_missing_and_no_zero() -> None:
    """None where it may be blank, an error where it may not."""
    (row,) = read_soil_table(NOTES + "x,y\n,2\n", "own.csv")
    assert row.maybe_number("x") is None
    with pytest.raises(TableError, match="line 6: 'x' is blank"):
        row.number("x")


@pytest.mark.parametrize(
    ("cell", "span"), [("2-3", (2, 3)), ("2", (2, 2)), ("0.5 - 1.5", (0.5, 1.5))]
)
def test_spans(cell: str, span: tuple[float, float]) -> None:
    """One number or two."""
    (row,) = read_soil_table(NOTES + f"x,y\n{cell},2\n", "own.csv")
    assert row.span("x") == span


def test_a_span_that_runs_backwards_is_named() -> None:
    """Not swapped in silence."""
    (row,) = read_soil_table(NOTES + "x,y\n3-2,2\n", "own.csv")
    with pytest.raises(TableError, match="line 6: x '3-2' runs backwards"):
        row.span("x")


def test_as_a_spreadsheet_program_saves_it() -> None:
    """Byte mark, semicolons, decimal commas, quoted and filled-up notes, blank lines."""
    text = (
        '\ufeff"# source: a book; second edition";;\n# region: here;;\n# year: 1999;;\n'
        "# unit: kg/ha; of lime;;\n\nx;y;z\n1,5;2,5-3;bean, pole\n;;\n"
    )
    table = read_soil_table(text, "own.csv")
    (row,) = table
    assert table.table.source == "a book; second edition"
    assert table.unit == "kg/ha"
    assert (row.line, row.number("x"), row.span("y")) == (7, 1.5, (2.5, 3))
    assert row.text("z") == "bean, pole"


def test_nothing_at_all() -> None:
    """An empty file is refused, not crashed on."""
    with pytest.raises(TableError, match="source"):
        read_soil_table("", "own.csv")
