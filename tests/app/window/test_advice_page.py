"""The Advice page: a grower with one bed, and what is said where nothing can be."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QTableWidgetItem
from pytestqt.qtbot import QtBot

from app.survey.sample import Sample
from app.survey.site import Site
from app.window.advice_controls import TYPED, AdviceControls
from app.window.advice_page import AdvicePage
from app.window.main_window import MainWindow
from app.window.sheet_dialog import SheetDialog
from tests.app.sample_surveys import NOW, make_line, write_photo


@pytest.fixture
def page(window: MainWindow, tmp_path: Path) -> AdvicePage:
    """Show the page over two beds of one grower."""
    window.model.new_survey(tmp_path / "Beds")
    book = window.model.book
    assert book is not None
    sites = [Site(name="Bed", crop="bean, pole", area_ha=0.01), Site(name="Dump", crop="potato")]
    book.add_sites(
        [sites[0], replace(sites[1], suspected_contamination=True)], person="P1", now=NOW
    )
    book.add_samples(
        [Sample(label=s.name, site=s.name, texture="loam") for s in sites], person="P1", now=NOW
    )
    photo = write_photo(tmp_path)
    lines = [
        make_line(photo, value=value, tube=tube, sample=name)
        for tube, (name, value) in enumerate([("Bed", 5.2), ("Dump", 5.1)], start=1)
    ]
    book.keep_readings(lines, "P1", NOW)
    window.model.refresh_survey()
    window.show_page("Advice")
    found = window.find_page("Advice")
    assert isinstance(found, AdvicePage)
    return found


def said(page: AdvicePage, qtbot: QtBot) -> str:
    """Wait for the advice and return its words."""
    qtbot.waitUntil(lambda: page._advice is not None, timeout=10_000)
    return page.words.toPlainText()


def test_a_bed_gets_its_class_and_its_lime(page: AdvicePage, qtbot: QtBot) -> None:
    """Told that the soil was shaken in water, an acid bed gets a range of lime with its source."""
    said(page, qtbot)
    page._advice = None
    page.controls.medium.setCurrentIndex(page.controls.medium.findData("water"))
    words = said(page, qtbot)
    assert "strongly acid" in words
    assert "Lime" in words
    assert "Sources" in words
    page.steps.setChecked(True)
    assert "How it was worked out" in page.words.toPlainText()


def test_suspected_ground_gets_no_amounts(page: AdvicePage, qtbot: QtBot) -> None:
    """Ground under suspicion is told to the authority, not limed."""
    said(page, qtbot)
    page.overview.selectRow(2)
    words = page.words.toPlainText()
    assert "under suspicion" in words
    assert "kg" not in words


def test_a_wrong_sheet_names_its_line(page: AdvicePage, qtbot: QtBot, tmp_path: Path) -> None:
    """A sheet that makes no sense is refused where it is chosen; without it all is well again."""
    said(page, qtbot)
    sheet = tmp_path / "products.csv"
    sheet.write_text("name,grade\nbag,ten\n", "utf-8")
    page.controls.sheets["products"].take(sheet)
    qtbot.waitUntil(lambda: page._advice is None, timeout=5000)
    assert page.words.toPlainText()
    page.controls.sheets["products"].take(None)
    said(page, qtbot)


def test_the_advice_is_copied(page: AdvicePage, qtbot: QtBot) -> None:
    """All samples go to the clipboard as text, cautions included."""
    said(page, qtbot)
    page.copy_action.trigger()
    text = QGuiApplication.clipboard().text()
    assert "Cautions" in text
    assert "Dump" in text


def test_without_a_survey_it_says_what_to_do(window: MainWindow) -> None:
    """An empty page names the next step."""
    window.show_page("Advice")
    page = window.find_page("Advice")
    assert isinstance(page, AdvicePage)
    assert page.stack.currentIndex() == 0


def test_region_and_crop_are_remembered(page: AdvicePage, qtbot: QtBot) -> None:
    """A hint stands until a region was chosen; the next page begins with it."""
    said(page, qtbot)
    controls = page.controls
    assert controls.region_hint.isVisibleTo(controls)
    controls.region.setCurrentIndex(1)
    controls.region.activated.emit(1)
    controls.crop.setCurrentIndex(controls.crop.findText("potato"))
    again = AdviceControls(page.tools)
    qtbot.addWidget(again)
    assert again.region.currentData() == controls.region.currentData()
    assert again.crop.currentText() == "potato"
    assert not again.region_hint.isVisibleTo(again)


def test_laboratory_values_are_typed_and_used(page: AdvicePage, qtbot: QtBot) -> None:
    """What is typed lies as a sheet in the survey's folder and is used when it opens again."""
    said(page, qtbot)
    opened = page.tools.model.desk.survey
    assert opened is not None
    path = opened.folder / "laboratory.csv"
    columns = TYPED["laboratory"]
    dialog = SheetDialog("Laboratory", columns, path, ["Bed", "Dump"], page)
    dialog.save()
    assert not path.exists()
    for column, text in ((1, "pH in water"), (2, "5.4")):
        dialog.table.setItem(0, column, QTableWidgetItem(text))
    dialog.save()
    assert path.read_text("utf-8").splitlines() == ["sample,method,value", "Bed,pH in water,5.4"]
    page.controls.use_folder(None)
    page.controls.use_folder(opened.folder)
    assert page.controls.sheets["laboratory"].path == path
    (value,) = page.controls.order().laboratory
    assert value.reading.value == 5.4


def test_facts_of_the_ground_are_typed_and_used(page: AdvicePage, qtbot: QtBot) -> None:
    """Every column that is offered is one that is understood."""
    said(page, qtbot)
    opened = page.tools.model.desk.survey
    assert opened is not None
    path = opened.folder / "grounds.csv"
    dialog = SheetDialog("Ground", TYPED["grounds"], path, ["Bed", "Dump"], page)
    texts = ("Bed", "40", "1.3", "20", "1000", "2", "no", "allowed", "no")
    for column, text in enumerate(texts):
        dialog.table.setItem(0, column, QTableWidgetItem(text))
    dialog.save()
    page.controls.use_folder(None)
    page.controls.use_folder(opened.folder)
    (ground,) = page.controls.order().grounds
    assert (ground.area_m2, ground.fizzes, ground.months_since_lime) == (40, False, 2)


def test_a_lime_is_typed_with_its_sieves(page: AdvicePage, qtbot: QtBot) -> None:
    """95, 70 and 50 % passing by Cornell's rule and a CCE of 90 make 68.4 % (Cornell's example)."""
    said(page, qtbot)
    opened = page.tools.model.desk.survey
    assert opened is not None
    columns = TYPED["products"]
    dialog = SheetDialog("Products", columns, opened.folder / "products.csv", [], page)
    typed = {"name": "Grey", "cce": "90", "fineness_by": "cornell", "pass_20": "95"}
    typed |= {"pass_60": "70", "pass_100": "50"}
    for name, text in typed.items():
        dialog.table.setItem(0, columns.index(name), QTableWidgetItem(text))
    dialog.save()
    page.controls.use_folder(None)
    page.controls.use_folder(opened.folder)
    products = page.controls.order().products
    assert products is not None
    assert products.lime is not None
    assert products.lime.effective_percent == pytest.approx(68.4)


def test_the_mix_may_aim_at_the_least_excess(page: AdvicePage) -> None:
    """Cheapest where all prices are known is the usual aim."""
    assert page.controls.order().least is None
    page.controls.least.setCurrentIndex(1)
    assert page.controls.order().least == "excess"


def test_the_overview_is_in_the_preferred_units(page: AdvicePage, qtbot: QtBot) -> None:
    """Who prefers US units reads pounds in the table, whatever the words below it print."""
    said(page, qtbot)
    page.tools.preferences.units = "us"
    page._advice = None
    page.controls.medium.setCurrentIndex(page.controls.medium.findData("water"))
    said(page, qtbot)
    model = page.overview.model()
    assert model is not None
    cells = [
        str(model.index(row, column).data() or "")
        for row in range(model.rowCount())
        for column in range(model.columnCount())
    ]
    assert any(" lb" in cell for cell in cells)
    assert not any(" kg" in cell for cell in cells)


@pytest.mark.parametrize("ending", ["html", "txt", "pdf"])
def test_the_advice_is_saved(page: AdvicePage, qtbot: QtBot, tmp_path: Path, ending: str) -> None:
    """Page, text and pages to print are written whole."""
    said(page, qtbot)
    target = tmp_path / f"advice.{ending}"
    page.write_pdf(target) if ending == "pdf" else page.save(target)
    if ending == "pdf":
        assert target.read_bytes().startswith(b"%PDF")
    else:
        assert "Dump" in target.read_text("utf-8")


def test_an_adviser_sees_forty_samples_at_once(
    window: MainWindow, page: AdvicePage, qtbot: QtBot
) -> None:
    """Forty samples stand in one overview, each with its crop's advice behind it."""
    said(page, qtbot)
    book = window.model.book
    assert book is not None
    names = [f"Field {number:02}" for number in range(1, 39)]
    book.add_sites([Site(name=n, crop="potato", area_ha=1) for n in names], person="P1", now=NOW)
    book.add_samples([Sample(label=n, site=n) for n in names], person="P1", now=NOW)
    photo = write_photo(book.folder.parent, "many.jpg", b"many")
    lines = [make_line(photo, value=6.0, tube=i, sample=n) for i, n in enumerate(names, start=1)]
    book.keep_readings(lines, "P1", NOW)
    page._advice = None
    window.model.refresh_survey()
    qtbot.waitUntil(
        lambda: page._advice is not None and len(page._advice.samples) == 40, timeout=10_000
    )
    assert page.overview.facts.rowCount() == 41
    page.overview.selectRow(40)
    assert "Field" in page.words.toPlainText()
