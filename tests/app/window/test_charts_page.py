"""The Charts page: charts listed, saved, compared, and a new one made from photos."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

import sample_images
from app.desk import DeskChart
from app.desk_outlines import quad_of
from app.tasks.calibrate_chart import StandardsPhoto, look_at_standards
from app.tasks.chart_draft import ChartDraft, DraftTube
from app.window.calibrate_folder import draft_folder
from app.window.calibrate_model import CalibrateModel
from app.window.calibrate_pane import CalibratePane
from app.window.calibrate_typing import BUFFER, DEGREES, LABEL, NOTE, ROLE, VALUE
from app.window.chart_facts import fact_rows
from app.window.charts_page import ChartsPage
from app.window.main_window import MainWindow
from calibration.chart import Chart
from calibration.chart_file import load_chart, save_chart
from calibration.sheets import read_standards_sheet
from colorcore.geometry import Box, Point, box_of
from colorcore.hand_outlines import HandOutlines

SAMPLES = Path(sample_images.__file__).resolve().parent / "ph"
PHOTOS = (SAMPLES / "ph-2.jpg", SAMPLES / "ph-5.jpg")
CARD = (0.18, 0.18, 0.18)


@pytest.fixture(scope="session")
def seen() -> dict[Path, StandardsPhoto]:
    """Look at two photos of known tubes, once; each shows three."""
    return {path: look_at_standards(path, CARD) for path in PHOTOS}


@pytest.fixture
def page(window: MainWindow) -> ChartsPage:
    """Show the Charts page."""
    window.show_page("Charts")
    shown = window.page
    assert isinstance(shown, ChartsPage)
    return shown


@pytest.fixture
def pane(page: ChartsPage, seen: dict[Path, StandardsPhoto]) -> CalibratePane:
    """Begin a chart whose photos were looked at already."""
    page.calibrate()
    assert page.pane is not None
    page.pane.model.looks.seen.update(seen)
    page.pane.take_files(PHOTOS)
    return page.pane


def judged(model: CalibrateModel, qtbot: QtBot) -> None:
    """Wait until everything that was said is judged."""
    qtbot.waitUntil(lambda: not model.is_judging, timeout=15000)


def fill(pane: CalibratePane, values: dict[tuple[int, int], float]) -> None:
    """Say values of tubes by photo and place."""
    pane.model.say_tubes(
        [DraftTube(path=PHOTOS[p], tube=t, value=v) for (p, t), v in values.items()], "values"
    )


KNOWN = {(0, 1): 6.5, (0, 2): 5.0, (0, 3): 8.0, (1, 1): 8.0, (1, 2): 4.0, (1, 3): 5.5}


# -- the list ---------------------------------------------------------------------------------


def test_an_empty_page_says_what_to_do(page: ChartsPage, qtbot: QtBot) -> None:
    """Without charts the page explains them, and its main button begins one."""
    assert page.stack.currentWidget() is page.empty
    assert not page.save_action.isEnabled()
    page.empty.asked.emit("new")
    assert page.stack.currentWidget() is page.pane


def test_a_chart_is_opened_used_saved_and_taken_off(
    page: ChartsPage,
    window: MainWindow,
    ph_chart: Chart,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    """What a file holds is listed and shown; a copy holds the same; another is never replaced."""
    file, copy = tmp_path / "ph.json", tmp_path / "copy.json"
    save_chart(ph_chart, file)
    window.ways_in.open_chart(file)
    assert page.stack.currentWidget() is page.split
    texts = [page.table.index(0, column).data() for column in range(7)]
    assert texts[:5] == ["yes", "Demo pH", "pH", "pH", "4 to 8"]
    with qtbot.waitSignal(page.detail.judgement.came, timeout=15000):
        pass
    page.use_action.trigger()
    assert window.model.desk.charts_in_use == ()
    monkeypatch.setattr(window.messages, "ask_new_file", lambda *_: copy)
    page.save_action.trigger()
    assert load_chart(copy) == ph_chart
    with qtbot.waitSignal(window.messages.complained, timeout=1000):
        page.save_action.trigger()  # the file is there already
    page.remove_action.trigger()
    assert window.model.desk.charts == ()
    assert copy.is_file()


def test_a_chart_without_a_file_is_not_lost_unasked(
    page: ChartsPage, window: MainWindow, ph_chart: Chart, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Taking it off the desk asks first; no leaves it there."""
    window.model.add_chart(ph_chart)
    monkeypatch.setattr(window.messages, "ask", lambda *_: False)
    page.remove_action.trigger()
    assert len(window.model.desk.charts) == 1


def test_a_chart_is_kept_in_the_open_survey(
    page: ChartsPage, window: MainWindow, ph_chart: Chart, tmp_path: Path
) -> None:
    """It comes back with the survey, before any reading was made with it."""
    window.model.add_chart(ph_chart)
    assert not page.keep_action.isEnabled()
    window.model.new_survey(tmp_path / "Spring")
    page.show_list()
    page.keep_action.trigger()
    assert window.model.book is not None
    assert window.model.book.survey().charts == (ph_chart,)
    page.keep_action.trigger()  # twice is once
    assert len(window.model.book.survey().charts) == 1


def test_two_charts_are_laid_side_by_side(
    page: ChartsPage, window: MainWindow, ph_chart: Chart, qtbot: QtBot
) -> None:
    """The same colors under another id do not differ."""
    window.model.add_chart(ph_chart)
    window.model.add_chart(replace(ph_chart, id="b" * 32, name="Again", supersedes=ph_chart.id))
    with qtbot.waitSignal(page.compare.judgement.came, timeout=15000):
        page.compare_action.trigger()
    assert "0.0 CIEDE2000" in page.compare.words.text()
    page.compare.left.emit()
    assert page.stack.currentWidget() is page.split


# -- a new chart ------------------------------------------------------------------------------


def test_values_are_typed_from_tube_to_tube(pane: CalibratePane, qtbot: QtBot) -> None:
    """A number and Enter goes on to the next tube; every tube that was found has a line."""
    view, table = pane.tubes.list, pane.tubes.table
    assert table.rowCount() == 6
    view.setCurrentIndex(table.index(0, VALUE))
    view.setFocus()
    for keys in ("6.5", "5"):
        qtbot.keyClicks(view, keys[0])
        editor = QApplication.focusWidget()
        assert editor is not None
        qtbot.keyClicks(editor, keys[1:])
        qtbot.keyClick(editor, Qt.Key.Key_Return)
        qtbot.wait(1)
    assert [table.index(row, VALUE).data() for row in range(3)] == ["6.5", "5", ""]
    assert view.currentIndex().row() == 2
    assert table.index(2, NOTE).data() == "no value: not used"


def test_a_buffer_gives_its_certified_value(pane: CalibratePane) -> None:
    """Borax at 25 degrees is pH 9.180 (IUPAC 2002); at 10 degrees 9.332."""
    table = pane.tubes.table
    assert table.setData(table.index(0, BUFFER), "borax")
    assert table.index(0, VALUE).data() == "9.180"
    table.setData(table.index(0, DEGREES), "10")
    assert table.index(0, VALUE).data() == "9.332"
    table.setData(table.index(0, VALUE), "9.1")
    assert (table.index(0, BUFFER).data(), table.index(0, VALUE).data()) == ("", "9.1")


def test_nonsense_is_not_taken_and_said(pane: CalibratePane, window: MainWindow) -> None:
    """A word for a number and an unknown buffer change nothing and tell why."""
    told: list[str] = []
    window.messages.told.connect(told.append)
    table = pane.tubes.table
    assert not table.setData(table.index(0, VALUE), "seven")
    assert not table.setData(table.index(0, BUFFER), "borrax")
    assert "seven" in told[0]
    assert "borax" in told[1]
    assert pane.model.draft.tubes == ()


def test_a_series_is_repeated_pasted_filled_down_and_undone(
    pane: CalibratePane, window: MainWindow
) -> None:
    """Values go into the next photo, come from a spreadsheet, and go back with undo."""
    fill(pane, {(0, 1): 6.5, (0, 2): 5.0})
    pane.tubes.list.setCurrentIndex(pane.tubes.table.index(0, VALUE))
    pane.tubes.same_in_next()
    assert pane.model.draft.tube(PHOTOS[1], 2).value == 5.0
    QApplication.clipboard().setText("4\n5,5\n6\n")
    pane.tubes.list.setCurrentIndex(pane.tubes.table.index(3, VALUE))
    pane.tubes.list.paste()
    assert [pane.model.draft.tube(PHOTOS[1], t).value for t in (1, 2, 3)] == [4.0, 5.5, 6.0]
    window.does.undo.trigger()
    assert [pane.model.draft.tube(PHOTOS[1], t).value for t in (1, 2, 3)] == [6.5, 5.0, None]
    pane.tubes.table.fill_down([0, 1, 2], [VALUE, ROLE, LABEL])
    assert {pane.model.draft.tube(PHOTOS[0], t).value for t in (1, 2, 3)} == {6.5}


def test_quality_follows_what_is_typed(pane: CalibratePane, qtbot: QtBot) -> None:
    """One value makes no curve; six do, with a gap that is named and a recipe for it."""
    fill(pane, {(0, 1): 6.5})
    judged(pane.model, qtbot)
    assert pane.model.quality is None
    assert "two tubes" in pane.live.trouble.text()
    assert not pane.finish.make_button.isEnabled()
    fill(pane, KNOWN)
    judged(pane.model, qtbot)
    quality = pane.model.quality
    assert quality is not None
    assert quality.names == ("4", "5", "5.5", "6.5", "8")
    doubts = [finding for finding in quality.findings if finding.weight == "doubt"]
    assert any("6.5 to 8" in finding.text for finding in doubts)
    assert any("disodium phosphate" in finding.what_to_do for finding in doubts)
    assert pane.finish.make_button.isEnabled()


@pytest.mark.parametrize(
    ("typed", "said"),
    [("18", "percent sign"), ("118 %", "between 0 and 1"), ("grey", "card's label")],
)
def test_a_card_that_cannot_be_is_refused_with_a_hint(
    pane: CalibratePane, typed: str, said: str
) -> None:
    """18 without its percent sign is no fraction."""
    line = pane.facts.lines["card"]
    line.setText(typed)
    line.editingFinished.emit()
    assert said in pane.facts.trouble.text()


def test_the_chart_is_made_saved_used_and_takes_the_place_of_an_older_one(
    page: ChartsPage,
    pane: CalibratePane,
    window: MainWindow,
    ph_chart: Chart,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    """The older one is unchanged and no longer in use; the draft is gone."""
    window.model.add_chart(ph_chart)
    facts = replace(pane.model.draft.facts, name="New", supersedes=ph_chart.id, batch="12")
    pane.model.say_facts(facts)
    fill(pane, KNOWN)
    monkeypatch.setattr(window.messages, "ask_new_file", lambda *_: None)
    with qtbot.waitSignal(pane.model.made, timeout=15000):
        pane.model.make()
    assert len(window.model.desk.charts) == 1  # the dialog was left: nothing was made
    file = tmp_path / "new.json"
    monkeypatch.setattr(window.messages, "ask_new_file", lambda *_: file)
    with qtbot.waitSignal(pane.model.made, timeout=15000):
        pane.model.make()
    new = load_chart(file)
    assert (new.name, new.batch, new.supersedes) == ("New", "12", ph_chart.id)
    assert [(c.chart.name, c.in_use) for c in window.model.desk.charts] == [
        ("Demo pH", False),
        ("New", True),
    ]
    assert window.model.desk.charts[0].chart == ph_chart
    assert not (draft_folder() / "facts.json").exists()
    assert page.stack.currentWidget() is page.split


def test_a_draft_survives_the_end_of_the_window(
    page: ChartsPage, pane: CalibratePane, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was typed is there again, after a question."""
    fill(pane, KNOWN)
    pane.model.say_facts(replace(pane.model.draft.facts, name="Half done"))
    draft = pane.model.draft
    pane.closing()
    again = CalibratePane(window.tools, page._library)
    monkeypatch.setattr(window.messages, "ask", lambda *_: True)
    again.take_up_draft()
    assert again.model.draft == draft
    again.closing()
    again.deleteLater()


def test_a_damaged_draft_is_complained_about(
    page: ChartsPage, window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    """Its file stays; the page works."""
    draft_folder().mkdir(parents=True)
    (draft_folder() / "facts.json").write_text(json.dumps({"facts": 3}))
    monkeypatch.setattr(window.messages, "ask", lambda *_: True)
    with qtbot.waitSignal(window.messages.complained, timeout=1000):
        page.calibrate()
    assert page.pane is not None
    assert page.pane.model.draft == ChartDraft()


def test_a_sheet_goes_in_and_out(
    page: ChartsPage,
    pane: CalibratePane,
    window: MainWindow,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The exported sheet says of every tube what the imported one did."""
    fill(pane, KNOWN)
    out = tmp_path / "out.csv"
    monkeypatch.setattr(window.messages, "ask_new_file", lambda *_: out)
    pane.export_button.click()
    rows = read_standards_sheet(out)
    assert {(row.path, row.tube): row.value for row in rows} == {
        (PHOTOS[p], t): v for (p, t), v in KNOWN.items()
    }
    pane.model.edit(ChartDraft(), "empty")
    pane.sheets.take(out)
    assert {(t.path, t.tube): t.value for t in pane.model.draft.tubes} == {
        (PHOTOS[p], t): v for (p, t), v in KNOWN.items()
    }


def test_photos_are_looked_at_and_a_bad_one_says_why(
    page: ChartsPage, tmp_path: Path, qtbot: QtBot
) -> None:
    """A file that is no photo is named; the others are used."""
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"no photo")
    page.calibrate()
    assert page.pane is not None
    model = page.pane.model
    page.pane.take_files([SAMPLES / "ph-1.jpg", bad])
    qtbot.waitUntil(
        lambda: bad in model.looks.unusable and len(model.looks.seen) == 1, timeout=15000
    )
    assert page.pane.tubes.table.rowCount() == 2
    page.pane.tubes.photo.show_photo(bad)
    assert "⚠" in page.pane.tubes.photo.state.text()


def test_looking_can_be_stopped_and_taken_up_again(
    page: ChartsPage, window: MainWindow, qtbot: QtBot
) -> None:
    """What was not looked at says so; Look again goes on."""
    page.calibrate()
    assert page.pane is not None
    model = page.pane.model
    photos = sorted(SAMPLES.glob("ph-*.jpg"))[:3]
    page.pane.take_files(photos)
    window.work_bar.stop()
    qtbot.waitUntil(lambda: not window.bench.works, timeout=15000)
    stopped = set(photos) - set(model.looks.seen)
    assert stopped
    assert stopped == set(model.looks.unusable)
    page.pane.tubes.photo.again_button.click()
    qtbot.waitUntil(lambda: set(model.looks.seen) == set(photos), timeout=15000)


def test_closing_while_photos_are_looked_at_keeps_the_draft(
    page: ChartsPage, window: MainWindow
) -> None:
    """The window closes at once; the draft names its photos."""
    page.calibrate()
    assert page.pane is not None
    page.pane.take_files(PHOTOS)
    window.close()
    data = json.loads((draft_folder() / "facts.json").read_text())
    assert data["photos"] == [str(path) for path in PHOTOS]


def test_patches_of_a_printed_chart_are_marked_by_mouse_and_by_numbers(
    page: ChartsPage, qtbot: QtBot
) -> None:
    """A dragged rectangle is a patch; its numbers move it; two values make a chart."""
    page.calibrate()
    assert page.pane is not None
    pane, photo = page.pane, SAMPLES / "ph-3.jpg"
    pane.facts.kind_chosen.emit("printed")
    pane.take_files([photo])
    step = pane.patches
    qtbot.waitUntil(lambda: step.view.is_drawing, timeout=15000)
    where = step.view.mapFromScene(300, 600)
    port = step.view.viewport()
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=where)
    qtbot.mouseMove(port, where + QPoint(30, 20))
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=where + QPoint(30, 20))
    assert len(step.table.rows) == 1
    places = ("Value", 5), ("Left", 260), ("Top", 700), ("Width", 50), ("Height", 80)
    for name, number in places:
        column = step.table.headings.index(name)
        step.table.setData(step.table.index(0, column), number)
    assert step.table.rows[0].value == 5.0
    step.add_beside()
    for name, number in (("Value", 7), ("Left", 450)):
        column = step.table.headings.index(name)
        step.table.setData(step.table.index(1, column), number)
    quads = [patch.quad for patch in step.table.rows]
    assert quads[0][0] == pytest.approx((260, 700))
    assert quads[1][2] == pytest.approx((500, 780))
    judged(pane.model, qtbot)
    assert pane.model.quality is not None
    assert pane.model.quality.chart.kind == "printed"


def test_the_card_beside_a_printed_chart_is_drawn_by_hand(
    page: ChartsPage, window: MainWindow, qtbot: QtBot
) -> None:
    """A patch becomes the card, the chart says so; undone, the card is the one that is found."""
    page.calibrate()
    assert page.pane is not None
    pane, photo = page.pane, SAMPLES / "ph-3.jpg"
    step = pane.patches
    pane.facts.kind_chosen.emit("printed")
    pane.take_files([photo])
    qtbot.waitUntil(lambda: step.view.is_drawing, timeout=15000)
    found = look_at_standards(photo, CARD).card
    assert found is not None
    box = box_of(found)
    inside = quad_of(Box(box.x + 0.3 * box.w, box.y + 0.3 * box.h, 0.4 * box.w, 0.4 * box.h))
    for quad in (quad_of(Box(260, 700, 50, 80)), quad_of(Box(450, 700, 50, 80)), inside):
        step.table.add(quad)
    for row, value in enumerate((5, 7)):
        step.table.setData(step.table.index(row, step.table.headings.index("Value")), value)
    step.list.setCurrentIndex(step.table.index(2, 0))
    step.card_button.click()
    judged(pane.model, qtbot)
    assert (len(step.table.rows), step.card()) == (2, inside)
    assert pane.model.quality is not None
    drawn = pane.model.quality.chart
    facts = fact_rows(DeskChart(chart=drawn), None, None)
    assert ("Drawn by hand", "the grey card") in facts
    step.find_button.click()
    judged(pane.model, qtbot)
    assert step.card() not in (None, inside)
    again = pane.model.quality.chart
    assert not again.measurements[0].measurement.reasons
    assert again.swatches[0].lab == pytest.approx(drawn.swatches[0].lab, abs=2)
    window.model.undo_stack.undo()
    assert step.card() == inside


def test_a_sheet_of_patches_goes_out_and_comes_in(
    page: ChartsPage,
    window: MainWindow,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    """Marked patches come back from their sheet; undo takes them away; a wrong sheet says why."""
    page.calibrate()
    assert page.pane is not None
    pane, photo, out = page.pane, SAMPLES / "ph-3.jpg", tmp_path / "patches.csv"
    pane.facts.kind_chosen.emit("printed")
    with qtbot.waitSignal(window.messages.complained, timeout=1000):
        pane.take_files([out])  # there is no photo yet
    pane.take_files([photo])
    qtbot.waitUntil(lambda: pane.patches.view.is_drawing, timeout=15000)
    for left, value in ((260.0, 5.0), (450.0, 7.0)):
        pane.patches.table.add(quad_of(Box(left, 700, 50, 80)))
        row = len(pane.patches.table.rows) - 1
        column = pane.patches.table.headings.index("Value")
        pane.patches.table.setData(pane.patches.table.index(row, column), value)
    marked = pane.model.draft.patches
    monkeypatch.setattr(window.messages, "ask_new_file", lambda *_: out)
    monkeypatch.setattr(window.messages, "ask_file", lambda *_: out)
    pane.export_button.click()
    pane.model.edit(replace(pane.model.draft, patches=()), "empty")
    pane.import_button.click()
    assert pane.model.draft.patches == marked
    window.model.undo_stack.undo()
    assert pane.model.draft.patches == ()
    out.write_text(out.read_text().replace(",260,", ",99260,"))
    with qtbot.waitSignal(window.messages.complained, timeout=1000):
        pane.import_button.click()
    assert pane.model.draft.patches == ()


# -- outlines drawn by hand -------------------------------------------------------------------


def drag(pane: CalibratePane, qtbot: QtBot, start: Point, end: Point) -> None:
    """Drag over the photo of known tubes, in its pixels."""
    view = pane.tubes.photo.view
    port = view.viewport()
    first, last = (view.mapFromScene(*place) for place in (start, end))
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=first)
    qtbot.mouseMove(port, last)
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=last)


@pytest.fixture
def shown(pane: CalibratePane, qtbot: QtBot) -> CalibratePane:
    """Show the photo of known tubes with outlines that can be moved."""
    pane.show_step(1)
    photo = pane.tubes.photo
    qtbot.waitUntil(lambda: not photo.view.picture.boundingRect().isEmpty(), timeout=15000)
    photo.outlines.move.trigger()
    return pane


def test_a_tube_that_was_missed_is_drawn_and_the_chart_says_by_hand(
    shown: CalibratePane, window: MainWindow, qtbot: QtBot
) -> None:
    """A region is drawn by mouse, moved by a number, measured, and undone."""
    model, outlines = shown.model, shown.tubes.photo.outlines
    path = PHOTOS[0]
    middle = model.looks.seen[path].tubes[1].region
    assert middle is not None
    shown.tubes.photo.tube_wanted.emit(2)
    outlines.drop.trigger()
    assert shown.tubes.table.row_of(path, 3) == 0  # two are left: a third has no line
    values = {(0, 1): 6.5, (0, 2): 8.0, (1, 1): 8.0, (1, 2): 4.0, (1, 3): 5.5}
    fill(shown, values)
    outlines.draw.trigger()
    drag(shown, qtbot, middle[0], middle[2])
    assert outlines.editor.place == 2
    x, y = outlines.panel.numbers[0]
    x.setValue(round(middle[0][0]) + 3)
    assert y.value() == pytest.approx(middle[0][1], abs=4)
    shown.tubes.photo.tube_wanted.emit(2)
    fill(shown, {(0, 2): 5.0})
    qtbot.waitUntil(lambda: path in model.looks.fresh and not model.is_judging, timeout=30000)
    said = {(t.path, t.tube): t.value for t in model.draft.tubes}
    assert [said[path, tube] for tube in (1, 2, 3)] == [6.5, 5.0, 8.0]
    assert model.quality is not None
    made = model.quality.chart.measurements
    by_hand = [item.measurement.outline == "by_hand" for item in made]
    assert by_hand == [False, True, False, False, False, False]
    assert shown.tubes.table.index(1, NOTE).data() == "region drawn by hand"
    facts = fact_rows(DeskChart(chart=model.quality.chart), None, None)
    assert ("Drawn by hand", "the region of 1 of 6 tubes") in facts
    found = look_at_standards(path, CARD).tubes[1].measurement
    assert found is not None
    assert made[1].measurement.lab == pytest.approx(found.lab, abs=3)
    while window.model.undo_stack.canUndo() and model.draft.hand(path) != HandOutlines():
        window.model.undo_stack.undo()
    assert model.looks.count(path) == 3


def test_a_card_that_was_not_found_is_drawn_and_the_chart_says_by_hand(
    shown: CalibratePane, qtbot: QtBot
) -> None:
    """Choosing it lets the next drag draw it; every tube is then measured on it."""
    model, outlines = shown.model, shown.tubes.photo.outlines
    path = PHOTOS[0]
    seen = model.looks.seen[path]
    assert seen.card is not None
    model.looks.seen[path] = replace(seen, card=None)
    panel = outlines.panel
    outlines.move.trigger()
    outlines.move.trigger()
    assert "draw it" in panel.which.itemText(0)
    panel.which.activated.emit(0)
    panel.which.setCurrentIndex(0)
    outlines.editor.choose(panel.which.itemData(0))
    box = box_of(seen.card)
    drag(shown, qtbot, (box.x + 0.3 * box.w, box.y + 0.3 * box.h), box_of(seen.card).center)
    assert model.draft.hand(path).card is not None
    fill(shown, KNOWN)
    qtbot.waitUntil(lambda: path in model.looks.fresh and not model.is_judging, timeout=30000)
    assert model.quality is not None
    told = [
        any(reason.code == "outline_by_hand" for reason in item.measurement.reasons)
        for item in model.quality.chart.measurements
    ]
    assert told == [True] * 3 + [False] * 3
    facts = fact_rows(DeskChart(chart=model.quality.chart), None, None)
    assert ("Drawn by hand", "the card beside 3 of 6 tubes") in facts
    assert shown.tubes.table.index(0, NOTE).data() == "card drawn by hand"


def test_nudges_of_one_outline_are_undone_together(
    shown: CalibratePane, window: MainWindow, qtbot: QtBot
) -> None:
    """Three arrow keys and one undo; the table makes room for the photo meanwhile."""
    view, path = shown.tubes.photo.view, PHOTOS[0]
    assert not shown.tubes.list.isVisible()
    before = shown.tubes.photo.outlines.editor.quad()
    assert before is not None
    for _ in range(3):
        qtbot.keyClick(view, Qt.Key.Key_Right)
    after = shown.tubes.photo.outlines.editor.quad()
    assert after is not None
    assert after[0] == (before[0][0] + 3, before[0][1])
    window.model.undo_stack.undo()
    assert shown.model.draft.hand(path) == HandOutlines()
    shown.tubes.photo.outlines.move.trigger()
    assert shown.tubes.list.isVisible()
