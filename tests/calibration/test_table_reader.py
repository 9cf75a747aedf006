"""No table without its source."""

from pathlib import Path

import pytest

import calibration
from calibration.errors import TableError
from calibration.table_reader import load_table, parse_table

WHOLE = "# source: s\n# region: r\n# year: 1999\n# unit: u\nx,y\n1,2\n"


@pytest.mark.parametrize("key", ["source", "region", "year", "unit"])
@pytest.mark.parametrize("change", ["gone", "blank"])
def test_a_table_without_one_of_the_four_is_refused(key: str, change: str) -> None:
    """File and missing key are named."""
    lines = WHOLE.splitlines()
    if change == "gone":
        lines = [line for line in lines if not line.startswith(f"# {key}")]
    else:
        lines = [f"# {key}:" if line.startswith(f"# {key}") else line for line in lines]
    with pytest.raises(TableError, match=rf"lime\.csv does not give its {key}"):
        parse_table("\n".join(lines), "lime.csv")


@pytest.mark.parametrize("body", ["", "x,y", "x,y\n1", "x,y\n1,2\n1,2,3"])
def test_a_torn_table_is_refused(body: str) -> None:
    """Rows of unequal length, or none, are no table."""
    with pytest.raises(TableError, match="damaged"):
        parse_table(WHOLE.replace("x,y\n1,2\n", body), "lime.csv")


def test_a_table_that_is_not_there_is_named() -> None:
    """A broken installation says so."""
    with pytest.raises(TableError, match=r"nothing\.csv"):
        load_table("nothing.csv")


def test_every_table_that_ships_can_be_read() -> None:
    """Each has its source, its region, its year and its unit."""
    files = sorted((Path(calibration.__file__).parent / "tables").glob("*.csv"))
    assert len(files) >= 4
    for file in files:
        assert load_table(file.name).rows
