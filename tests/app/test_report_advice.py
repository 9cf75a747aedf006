"""A report says of the soil what `advise` says, by the same options."""

from pathlib import Path

import pytest

from app.command_line import run
from app.records.record_book import create_survey
from app.survey.sample import Sample
from app.survey.site import Site
from tests.app.sample_surveys import NOW, make_line, write_photo


def test_products_reach_the_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Told what the soil was shaken in and which lime is at hand, the report names the product."""
    with create_survey(tmp_path / "Beds", id="b" * 32, now=NOW) as book:
        book.add_sites([Site(name="Bed", area_ha=0.01)], person="P1", now=NOW)
        book.add_samples([Sample(label="A1", site="Bed", texture="loam")], person="P1", now=NOW)
        book.keep_readings([make_line(write_photo(tmp_path), value=5.0)], "P1", NOW)
    sheet = tmp_path / "products.csv"
    sheet.write_text("name,cce,bag_kg,price\nWhite lime,95,25,6\n", "utf-8")
    asked = ["--crop", "bean", "--region", "iowa", "--medium", "water", "--products", str(sheet)]
    target = tmp_path / "beds.html"
    assert run(["report", str(tmp_path / "Beds"), "-o", str(target), *asked]) == 0
    assert run(["advise", str(tmp_path / "Beds"), *asked]) == 0
    said = capsys.readouterr().out
    assert "White lime" in said
    assert "White lime" in target.read_text("utf-8")
