"""The Samples page: what was kept is found, traced, corrected, judged and handed over."""

from pathlib import Path

import openpyxl
import pytest
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QInputDialog
from pytestqt.qtbot import QtBot

from app.records.tables_in import read_table
from app.window.field_forms import sample_form, site_form
from app.window.hand_over import HandOverDialog
from app.window.import_dialog import ImportDialog
from app.window.main_window import MainWindow
from app.window.samples_page import SamplesPage
from tests.app.sample_surveys import NOW, make_line, write_photo


@pytest.fixture
def page(window: MainWindow, tmp_path: Path) -> SamplesPage:
    """Show the page over a survey of three kept readings."""
    window.model.new_survey(tmp_path / "Spring")
    photo = write_photo(tmp_path)
    lines = [
        make_line(photo, value=value, tube=tube, sample=sample)
        for tube, (sample, value) in enumerate([("A1", 6.2), ("A1", 6.3), ("B2", 5.1)], start=1)
    ]
    assert window.model.book is not None
    window.model.book.keep_readings(lines, "P1", NOW)
    window.model.refresh_survey()
    window.model.readings_changed.emit()
    window.show_page("Samples")
    found = window.find_page("Samples")
    assert isinstance(found, SamplesPage)
    return found


def test_without_a_survey_it_says_what_to_do(window: MainWindow) -> None:
    """An empty page names the next step; nothing can be exported."""
    window.show_page("Samples")
    page = window.find_page("Samples")
    assert isinstance(page, SamplesPage)
    assert page.stack.currentIndex() == 0
    assert not page.export_action.isEnabled()


def test_readings_are_found_by_typing(page: SamplesPage, qtbot: QtBot) -> None:
    """Typing a sample's name leaves its readings, the newest first."""
    tab = page.readings
    assert tab.readings.rowCount() == 3
    tab.search.setText("B2")
    qtbot.waitUntil(lambda: tab.readings.rowCount() == 1, timeout=2000)
    assert tab.pane.value.text().startswith("pH 5.1")
    assert "P1" in tab.pane.said


def test_a_withdrawn_reading_stays_in_the_history(
    page: SamplesPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Withdrawing asks why; the reading no longer counts but can still be shown."""
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("spilt", True))
    page.withdraw_action.trigger()
    tab = page.readings
    assert tab.readings.rowCount() == 2
    tab.all_rows.setChecked(True)
    assert tab.readings.rowCount() == 4
    assert "spilt" in tab.pane.history.text()


def test_a_wrong_name_is_corrected_with_its_reason(
    page: SamplesPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reading gets another sample; a reason that is blank is refused."""
    said = iter([("C3", True), ("mixed up", True)])
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: next(said))
    page.relabel_action.trigger()
    kept = page.readings.readings.reading_at(0)
    assert kept is not None
    assert (kept.line.entry.sample, kept.correction) == ("C3", "mixed up")
    said = iter([("D4", True), ("  ", True)])
    complaints: list[object] = []
    page.tools.messages.complained.connect(complaints.append)
    page.relabel_action.trigger()
    assert len(complaints) == 1


def test_sites_and_samples_are_typed_in(page: SamplesPage) -> None:
    """Facts that cannot be right are said to be wrong; right ones are in the survey."""
    form = site_form(None, page)
    form.inputs["name"].setText("Low field")  # type: ignore[union-attr]
    form.inputs["latitude_deg"].setText("95")  # type: ignore[union-attr]
    form.try_to_save()
    assert "cannot be right" in form.problem.text()
    form.inputs["latitude_deg"].setText("")  # type: ignore[union-attr]
    form.inputs["area_ha"].setText("0,5")  # type: ignore[union-attr]
    form.try_to_save()
    page._write("add_sites", form.made)
    sample = sample_form(None, ("Low field",), page)
    sample.inputs["label"].setText("A9")  # type: ignore[union-attr]
    sample.inputs["taken_on"].setText("2026-04-01")  # type: ignore[union-attr]
    sample.try_to_save()
    page._write("add_samples", sample.made)
    opened = page.tools.model.desk.survey
    assert opened is not None
    assert opened.survey.sites[0].area_ha == 0.5
    assert "A9" in [item.label for item in opened.survey.samples]


def test_a_table_is_imported_with_its_columns_matched(page: SamplesPage, tmp_path: Path) -> None:
    """Guesses come from the headings, the user corrects them, wrong rows are named."""
    sheet = tmp_path / "sites.csv"
    sheet.write_text("Feld,lat,lon\nNorth,50.1,8.2\nSouth,999,8.2\n", "utf-8")
    dialog = ImportDialog(read_table(sheet), "sites", page.tools, page)
    assert dialog.columns["latitude_deg"].currentText() == "lat"
    dialog.columns["name"].setCurrentText("Feld")
    dialog.take()
    assert "3" in dialog.problem.text()
    sheet.write_text("Feld,lat,lon\nNorth,50.1,8.2\n", "utf-8")
    dialog = ImportDialog(read_table(sheet), "sites", page.tools, page)
    dialog.columns["name"].setCurrentText("Feld")
    dialog.take()
    opened = page.tools.model.desk.survey
    assert opened is not None
    assert [site.name for site in opened.survey.sites] == ["North"]


@pytest.mark.parametrize("kind", ["xlsx", "csv", "geojson", "html"])
def test_the_survey_is_handed_over(
    page: SamplesPage, qtbot: QtBot, tmp_path: Path, kind: str
) -> None:
    """Every kind of file is written off the screen's thread."""
    dialog = HandOverDialog(kind, page)
    target = tmp_path / f"out.{kind}"
    with qtbot.waitSignal(page.tools.messages.told, timeout=20_000):
        page._hand_over.write(target, dialog)
    if kind == "xlsx":
        book = openpyxl.load_workbook(target)
        assert book.worksheets[0].max_row == 4
    else:
        assert "B2" in target.read_text("utf-8") or kind == "geojson"


def test_quality_is_judged_when_it_is_looked_at(page: SamplesPage, qtbot: QtBot) -> None:
    """Replicates of one sample are put together."""
    page.tabs.setCurrentWidget(page.quality)
    qtbot.waitUntil(lambda: page.quality._blocks.count() > 2, timeout=5000)


def test_chosen_readings_are_copied_for_a_spreadsheet(page: SamplesPage) -> None:
    """The clipboard holds headings and one line a reading, cells apart by tabs."""
    page.readings.table.selectAll()
    page.readings.copy_chosen()
    lines = QGuiApplication.clipboard().text().splitlines()
    assert len(lines) == 4
    assert "\t" in lines[0]
