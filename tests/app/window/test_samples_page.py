"""The Samples page: what was kept is found, traced, corrected, judged and handed over."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from threading import Event

import openpyxl
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QComboBox, QInputDialog
from pytestqt.qtbot import QtBot

from app.records.record_book import RecordBook, open_survey
from app.records.tables_in import read_table
from app.tasks.judge_quality import Judged, judge_quality
from app.tasks.match_photos import MatchOrder
from app.tasks.read_photo import ReadOrder, read_one
from app.tasks.step import Task
from app.window.facts_table import FactsTable
from app.window.field_forms import sample_form, site_form
from app.window.hand_over import HandOverDialog
from app.window.import_dialog import ImportDialog
from app.window.listings import KNOWN, METHODS, SAMPLES, SITES, TESTS
from app.window.main_window import MainWindow
from app.window.people_dialog import PeopleDialog
from app.window.samples_page import SamplesPage
from calibration.chart import Chart
from tests.app.sample_surveys import NOW, make_line, write_photo
from tests.app.window.conftest import SAMPLES as PICTURES

PHOTO = PICTURES / "survey" / "plot-a-morning.jpg"


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
    qtbot.waitUntil(lambda: tab.readings.rowCount() == 1, timeout=10_000)
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


def test_a_tube_is_read_again_on_a_newer_chart(
    page: SamplesPage, ph_chart: Chart, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the kept photo, off the screen's thread; the old reading stays in the history."""
    model = page.tools.model
    assert model.book is not None
    order = ReadOrder(charts=(("ph", ph_chart),), entries={}, known={})
    (first, *_) = read_one(str(PHOTO), order)
    older = replace(ph_chart, id="a" * 32, created_at=NOW)
    acid = replace(first.reading, chart_id=older.id, value=4.0, low=3.8, high=4.2)
    kept = replace(first, chart=older, reading=acid)
    model.book.keep_readings([kept], "P1", NOW)
    model.refresh_survey()
    model.readings_changed.emit()
    model.add_chart(replace(ph_chart, name="Newer"))

    def choose(*given: object) -> tuple[str, bool]:
        names = given[3]
        assert isinstance(names, list)
        return next(name for name in names if name.startswith("Newer")), True

    monkeypatch.setattr(QInputDialog, "getItem", choose)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("new chart", True))
    with qtbot.waitSignal(page.tools.messages.told, timeout=10_000) as told:
        page.readings.pane.again.click()
    assert told.args == ["Noted as reading 5; the old one stays in the history."]
    again = page.readings.chosen()
    assert again is not None
    assert (again.corrects, again.correction) == (4, "new chart")
    assert again.line.reading.value == first.reading.value
    assert again.line.chart is not None
    assert again.line.chart.name == "Newer"
    assert "Standards 18 in 8 photos" in page.readings.pane.said


def test_sites_and_samples_are_typed_in(page: SamplesPage) -> None:
    """Facts that cannot be right are said to be wrong; right ones are in the survey."""
    survey = page.tools.model.desk.survey
    assert survey is not None
    form = site_form(None, survey.survey, page)
    form.inputs["name"].setText("Low field")  # type: ignore[union-attr]
    form.inputs["latitude_deg"].setText("95")  # type: ignore[union-attr]
    form.try_to_save()
    assert "cannot be right" in form.problem.text()
    form.inputs["latitude_deg"].setText("")  # type: ignore[union-attr]
    form.inputs["area_ha"].setText("0,5")  # type: ignore[union-attr]
    form.try_to_save()
    page.keep(SITES, form.made)
    survey = page.tools.model.desk.survey
    assert survey is not None
    sample = sample_form(None, survey.survey, page)
    sample.inputs["site"].setCurrentText("Low field")  # type: ignore[union-attr]
    sample.inputs["label"].setText("A9")  # type: ignore[union-attr]
    sample.inputs["taken_on"].setText("2026-04-01")  # type: ignore[union-attr]
    sample.try_to_save()
    page.keep(SAMPLES, sample.made)
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
    dialog = HandOverDialog(kind, page.tools.preferences, page)
    target = tmp_path / f"out.{kind}"
    with qtbot.waitSignal(page.tools.messages.told, timeout=20_000):
        page._hand_over.write(target, dialog)
    if kind == "xlsx":
        book = openpyxl.load_workbook(target)
        assert book.worksheets[0].max_row == 4
    else:
        assert "B2" in target.read_text("utf-8") or kind == "geojson"


def test_quality_is_judged_when_it_is_looked_at(page: SamplesPage, qtbot: QtBot) -> None:
    """Replicates of one sample are put together, in order; what nobody looks at is not laid out."""
    page.tabs.setCurrentWidget(page.judge.quality)
    qtbot.waitUntil(lambda: page.judge.quality.blocks.count() > 2, timeout=10_000)
    table = page.judge.quality.findChild(FactsTable)
    assert table is not None
    names = [table.facts.index(row, 0).data() for row in range(table.facts.rowCount())]
    assert names == sorted(names)
    heads = table.facts.headings
    assert heads[:4] == ("Sample", "Quantity", "Unit", "n")  # neither form nor basis is known
    assert table.facts.index(0, heads.index("Mean")).data() == "6.25"
    assert page.judge.groups.blocks.count() <= 1  # at most the words that there are no groups


def test_methods_tests_and_known_values_are_imported(
    page: SamplesPage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each list has its own entry in the menu; a left file dialog imports nothing."""
    sheets = {
        "Methods": "method,settling from min\nWater 1:5,10\n",
        "Tests": "sample,quantity,method\nA1,ph,Water 1:5\n",
        "Known values": "sample,quantity,value,source\nB2,ph,5.2,laboratory\n",
    }
    for name, text in sheets.items():
        sheet = tmp_path / "table.csv"
        sheet.write_text(text, "utf-8")
        for path in (None, sheet):
            monkeypatch.setattr(page.tools.messages, "ask_file", lambda *_, path=path: path)
            page.import_actions[name].trigger()
        (dialog,) = page.findChildren(ImportDialog)
        dialog.take()
        dialog.setParent(None)
        assert page.tables[name].facts.rowCount() == 1


def test_an_older_judgement_never_hides_a_newer_one(
    page: SamplesPage, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The survey changes while it is judged; what comes late of the first question is not shown."""
    gate, asked = Event(), []

    def slow(open_book: Callable[[], RecordBook]) -> Task[Judged]:
        asked.append(len(asked))
        is_first = len(asked) == 1
        judged = yield from judge_quality(open_book)
        if is_first:
            gate.wait(20)
        return judged

    monkeypatch.setattr("app.tasks.judge_quality.judge_quality", slow)
    page.tabs.setCurrentWidget(page.judge.quality)
    qtbot.waitUntil(lambda: bool(asked), timeout=10_000)
    model = page.tools.model
    assert model.book is not None
    photo = write_photo(tmp_path, "late.jpg", b"late")
    lines = [make_line(photo, value=6.0, tube=tube, sample="C3") for tube in (1, 2)]
    model.book.keep_readings(lines, "P1", NOW)
    model.refresh_survey()
    model.readings_changed.emit()

    def shown() -> list[str]:
        table = page.judge.quality.findChild(FactsTable)
        rows = 0 if table is None else table.facts.rowCount()
        return [table.facts.index(row, 0).data() for row in range(rows)] if table else []

    qtbot.waitUntil(lambda: "C3" in shown(), timeout=10_000)
    gate.set()
    qtbot.waitUntil(lambda: not page.tools.bench.works, timeout=10_000)
    assert "C3" in shown()


def test_chosen_readings_are_copied_for_a_spreadsheet(page: SamplesPage) -> None:
    """The clipboard holds headings and one line a reading, cells apart by tabs."""
    page.readings.table.selectAll()
    page.readings.copy_chosen()
    lines = QGuiApplication.clipboard().text().splitlines()
    assert len(lines) == 4
    assert "\t" in lines[0]


def test_methods_tests_and_known_values_are_typed_in(page: SamplesPage) -> None:
    """What is typed is kept and listed; what is needed and missing is named."""
    for listing, typed in (
        (METHODS, {"name": "Water 1:5", "settling_from_min": "10", "subtract_blank": "no"}),
        (TESTS, {"sample": "A1", "method": "Water 1:5", "shaken_at": "2026-04-01 09:30"}),
        (KNOWN, {"sample": "B2", "value": "5,2", "source": "laboratory"}),
    ):
        opened = page.tools.model.desk.survey
        assert opened is not None
        form = listing.form(None, opened.survey, "P1", page)
        form.try_to_save()
        assert "Fill in" in form.problem.text()
        for name, text in typed.items():
            box = form.inputs[name]
            box.setCurrentText(text) if isinstance(box, QComboBox) else box.setText(text)
        form.try_to_save()
        page.keep(listing, form.made)
        assert page.tables[listing.name].facts.rowCount() == 1
    opened = page.tools.model.desk.survey
    assert opened is not None
    assert opened.survey.tests[0].shaken_at is not None
    assert opened.survey.known_values[0].value == 5.2


def test_a_read_only_survey_says_why_and_takes_nothing(
    window: MainWindow, page: SamplesPage, tmp_path: Path
) -> None:
    """A second window on the same survey may look but not write."""
    folder = tmp_path / "Spring"
    with open_survey(folder, readonly=True) as second:
        opened = page.tools.model.desk.survey
        assert opened is not None
        window.model._desk = replace(
            window.model.desk,
            survey=replace(opened, read_only_because=second.read_only_because),
        )
        page.refresh()
    assert page.read_only.isVisible()
    assert "Nothing can be written" in page.read_only.text()
    assert not page.new_actions["Samples"].isEnabled()
    assert not page.care.merge_action.isEnabled()
    assert page.export_action.isEnabled()
    assert not page.readings.pane.withdraw.isEnabled()


def test_a_survey_is_backed_up_restored_and_joined(
    window: MainWindow, page: SamplesPage, qtbot: QtBot, tmp_path: Path
) -> None:
    """A copy holds the same readings; joining another survey brings its own."""
    told = page.tools.messages.told
    with qtbot.waitSignal(told, timeout=10_000):
        page.care.back_up(tmp_path / "copy")
    with qtbot.waitSignal(told, timeout=10_000):
        page.care.restore(tmp_path / "copy", tmp_path / "again")
    opened = window.model.desk.survey
    assert opened is not None
    assert (opened.folder.name, opened.count) == ("again", 3)
    window.model.new_survey(tmp_path / "Other")
    with qtbot.waitSignal(told, timeout=10_000) as heard:
        page.care.merge(tmp_path / "copy")
    assert heard.args == ["3 readings came over."]
    assert page.readings.readings.rowCount() == 3


def test_people_are_named_and_blanked(page: SamplesPage) -> None:
    """A name is given to a code and taken away again; the code stays."""
    dialog = PeopleDialog(page.tools, page)
    book = page.tools.model.book
    assert book is not None
    name = dialog.table.item(0, 1)
    assert name is not None
    name.setText("Invented Name")
    assert [(p.code, p.name) for p in book.persons()] == [("P1", "Invented Name")]
    dialog.table.setCurrentCell(0, 1)
    dialog.blank.click()
    assert [(p.code, p.name) for p in book.persons()] == [("P1", None)]


def test_ground_under_suspicion_is_marked(page: SamplesPage) -> None:
    """The mark is in the survey, and comes off again."""
    for expected in (True, False):
        page.care.suspect_action.trigger()
        opened = page.tools.model.desk.survey
        assert opened is not None
        assert opened.survey.suspected_contamination is expected


def test_groups_are_compared_on_shared_samples(page: SamplesPage, qtbot: QtBot) -> None:
    """A second person's readings of the same sample make a group beside the first."""
    book, model = page.tools.model.book, page.tools.model
    assert book is not None
    photo = write_photo(book.folder.parent, "second.jpg", b"second")
    book.keep_readings([make_line(photo, value=6.6, sample="A1")], "P2", NOW)
    model.refresh_survey()
    model.readings_changed.emit()
    page.tabs.setCurrentWidget(page.judge.groups)
    qtbot.waitUntil(lambda: page.judge.groups.blocks.count() > 3, timeout=10_000)
    table = page.judge.groups.findChild(FactsTable)
    assert table is not None
    assert {table.facts.index(row, 3).data() for row in range(2)} == {"P1", "P2"}


def test_photos_are_given_to_samples_by_name(page: SamplesPage, qtbot: QtBot) -> None:
    """A file named after a sample is given to it, and that can be undone."""
    model = page.tools.model
    assert model.book is not None
    path = write_photo(model.book.folder.parent, "B2_2.jpg", b"third")
    model.add_photos([path])
    with qtbot.waitSignal(page.tools.messages.told, timeout=10_000):
        page.by_file.match(MatchOrder(pattern="{sample}_{replicate}"))
    photo = model.desk.photo(path.resolve())
    assert photo is not None
    assert [(e.sample, e.replicate) for _, e in photo.edits.entries] == [("B2", "2")]
    model.undo_stack.undo()
    photo = model.desk.photo(path.resolve())
    assert photo is not None
    assert not photo.edits.entries


def test_numbers_sort_as_numbers(qtbot: QtBot) -> None:
    """Numbers come first by size, unknown ones last; the chosen row stays the same thing."""
    table = FactsTable("Numbers", ("n",))
    qtbot.addWidget(table)
    table.put([(10.0,), (9.0,), (None,), ("x",)])
    assert [table.facts.index(row, 0).data() for row in range(4)] == ["9", "10", "x", "–"]
    table.selectRow(1)
    table.sortByColumn(0, Qt.SortOrder.DescendingOrder)
    assert table.chosen_row() == 0


def test_a_report_carries_advice_where_it_is_asked_for(page: SamplesPage) -> None:
    """Crop and region go into the order; without the tick there is none."""
    dialog = HandOverDialog("html", page.tools.preferences, page)
    assert dialog.advice_order() is None
    dialog.advice.setChecked(True)
    dialog.crop.setCurrentIndex(1)
    order = dialog.advice_order()
    assert order is not None
    assert order.crop is not None
    dialog.kind.setCurrentIndex(dialog.kind.findData("csv"))
    assert dialog.advice_order() is None
