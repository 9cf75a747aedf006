"""The Photos page: photos read, looked at, moved, named and kept."""

import time
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from threading import Lock

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QInputDialog, QLineEdit, QMessageBox, QPushButton
from pytestqt.qtbot import QtBot

from app.desk_outlines import CARD_PLACE
from app.records.record_book import create_survey, open_survey
from app.tasks.look_at_photo import guarded_look, look_at_photo
from app.tasks.read_photo import ReadOrder, read_one
from app.tube_reading import PhotoLook, TubeReading
from app.window.known_tube_dialog import KnownTubeDialog
from app.window.main_window import MainWindow
from app.window.names_dialog import NamesDialog
from app.window.photos_page import PhotosPage
from app.window.tube_table_model import CHART, ROLE, SAMPLE
from app.wording import say_value
from calibration.chart import Chart
from colorcore.geometry import Box, box_of
from tests.app.window.conftest import SAMPLES

MORNING = (SAMPLES / "survey" / "plot-a-morning.jpg").resolve()
SHAKEN = (SAMPLES / "survey" / "plot-e-shaken.jpg").resolve()
KNOWN = (SAMPLES / "ph" / "ph-1.jpg").resolve()
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


def read_all(window: MainWindow, qtbot: QtBot) -> None:
    """Wait until nothing is left to read or to draw."""
    qtbot.waitUntil(
        lambda: (
            window.reader.is_idle
            and not window.bench.works
            and all(photo.look is not None for photo in window.model.desk.photos)
        ),
        timeout=20_000,
    )


@pytest.fixture(scope="module")
def morning_look(ph_chart: Chart) -> PhotoLook:
    """Read the photo once for all tests."""
    order = ReadOrder(charts=((ph_chart.name, ph_chart),), entries={}, known={})
    return look_at_photo(MORNING, order, None, ph_chart.card_reflectance)


@pytest.fixture
def page(window: MainWindow, ph_chart: Chart, morning_look: PhotoLook, qtbot: QtBot) -> PhotosPage:
    """Lay one photo of three tubes open; the third tube is another test's and is refused."""
    found = window.find_page("Photos")
    assert isinstance(found, PhotosPage)
    window.model.add_chart(ph_chart)
    window.ways_in.take_photos([MORNING])
    window.reader.stop()
    window.model.set_look(MORNING, morning_look)
    qtbot.waitUntil(lambda: not found.pane.view.picture.boundingRect().isEmpty(), timeout=10_000)
    return found


def lines(window: MainWindow) -> tuple[TubeReading, ...]:
    """Return the readings of the chosen photo."""
    photo = window.model.desk.chosen_photo
    assert photo is not None
    assert photo.look is not None
    return photo.look.lines


def shown_value(page: PhotosPage) -> str:
    """Return the large value as plain text."""
    from PySide6.QtGui import QTextDocument

    document = QTextDocument()
    document.setHtml(page.reading.value.text())
    return document.toPlainText()


def name_tubes(window: MainWindow, page: PhotosPage, *names: str) -> None:
    """Write names into the table."""
    for row, name in enumerate(names):
        page.table.tubes.setData(page.table.tubes.index(row, SAMPLE), name)


def drag(page: PhotosPage, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Drag the mouse over the photo, from pixel to pixel."""
    view, left = page.pane.view, Qt.MouseButton.LeftButton
    first, last = (view.mapFromScene(QPointF(*at)) for at in (start, end))
    QTest.mousePress(view.viewport(), left, pos=first)
    for share in (0.3, 0.7, 1.0):
        QTest.mouseMove(view.viewport(), first + (last - first) * share)
    QTest.mouseRelease(view.viewport(), left, pos=last)


# -- reading ---------------------------------------------------------------------------------


def test_the_window_says_what_the_command_line_says(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """Both walk the same path: same readings, same words."""
    window.model.look_again()
    read_all(window, qtbot)
    read = read_one(str(MORNING), window.model.order_for(MORNING))
    assert [line.reading for line in lines(window)] == [line.reading for line in read]
    first = lines(window)[0]
    assert first.chart is not None
    assert shown_value(page) == say_value(first.reading, first.chart)
    assert page.reading.standing.text().casefold() == first.reading.status


def test_a_click_on_a_tube_shows_its_reading(window: MainWindow, page: PhotosPage) -> None:
    """The glass and the region both stand for the tube."""
    look = window.model.desk.chosen_photo.look  # type: ignore[union-attr]
    assert look is not None
    x, y = box_of(look.tubes[1].vessel).center
    view = page.pane.view
    QTest.mouseClick(
        view.viewport(), Qt.MouseButton.LeftButton, pos=view.mapFromScene(QPointF(x, y))
    )
    assert window.model.desk.tube == 2
    assert page.reading.place.text() == "Tube 2 of 3"
    assert page.table.currentIndex().row() == 1


def test_a_refusal_says_why_and_what_to_do(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """A blurred photo has no value; the pane carries its reason."""
    window.ways_in.take_photos([SHAKEN])
    read_all(window, qtbot)
    assert window.model.desk.chosen == SHAKEN
    assert shown_value(page) == "no value"
    said = [label.text() for label in page.reading.doubts.findChildren(type(page.reading.interval))]
    assert any("blurred" in text for text in said)
    assert any("Rest the phone" in text for text in said)


def test_a_file_that_is_no_photo_is_refused_like_a_photo(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, tmp_path: Path
) -> None:
    """It stands in the strip with its reason; the window goes on."""
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"no picture")
    window.ways_in.take_photos([broken])
    read_all(window, qtbot)
    photo = window.model.desk.chosen_photo
    assert photo is not None
    assert photo.standing == "refused"
    assert page.table.tubes.rowCount() == 0


def test_without_a_chart_the_color_is_shown_and_ways_to_one(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """The pane offers to calibrate or to open a chart."""
    page.charts.use(window.model.desk.charts[0].chart.id)
    read_all(window, qtbot)
    assert page.reading.facts.text().startswith("L* ")
    buttons = page.reading.no_chart.findChildren(QPushButton)
    with qtbot.waitSignal(page.asked) as asked:
        buttons[0].click()
    assert asked.args == ["calibrate"]
    assert window.page.name == "Charts"


def test_the_probe_measures_a_white_wall_as_neutral(page: PhotosPage, qtbot: QtBot) -> None:
    """On the grey card itself the balanced color has no hue: a* and b* near 0."""
    look = page.tools.model.desk.chosen_photo.look  # type: ignore[union-attr]
    assert look is not None
    assert look.card is not None
    page.pane.view.hovered.emit(QPointF(*box_of(look.card).center))
    qtbot.waitUntil(lambda: "balanced on the card" in page.probe.text(), timeout=10_000)
    words = page.probe.text().split()
    a, b = float(words[words.index("a*") + 1]), float(words[words.index("b*") + 1])
    assert abs(a) < 1.5
    assert abs(b) < 1.5


# -- keys and view ---------------------------------------------------------------------------


def test_photos_and_tubes_are_reached_by_keys(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """Alt and arrows go through photos and tubes."""
    window.ways_in.take_photos([SHAKEN])
    read_all(window, qtbot)
    alt = Qt.KeyboardModifier.AltModifier
    qtbot.keyClick(window, Qt.Key.Key_Up, alt)
    assert window.model.desk.chosen == MORNING
    qtbot.keyClick(window, Qt.Key.Key_Right, alt)
    assert window.model.desk.tube == 2
    qtbot.keyClick(window, Qt.Key.Key_Left, alt)
    assert window.model.desk.tube == 1


def test_zoom_by_keys_and_back_to_fit(page: PhotosPage, qtbot: QtBot) -> None:
    """Ctrl and plus comes closer; Ctrl and 0 on the photo shows all of it again."""
    view = page.pane.view
    fitted = view.scale_now
    qtbot.keyClick(view, Qt.Key.Key_Plus, CTRL)
    assert view.scale_now == pytest.approx(1.25 * fitted)
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_0, CTRL)
    assert view.scale_now == pytest.approx(fitted)


def test_the_strip_shows_photos_of_one_standing(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """Accepted ones alone, then all again; worst first puts it last, as added second."""
    window.ways_in.take_photos([KNOWN])
    read_all(window, qtbot)
    page.strip.chosen_photos.show_standing("accepted")
    assert [photo.path for photo in page.strip.shown()] == [KNOWN]
    page.strip.chosen_photos.show_standing(None)
    for order, first in (("worst", MORNING), ("name", KNOWN), ("added", MORNING)):
        page.strip.photos.show_order(order)
        assert page.strip.shown()[0].path == first


def test_the_photo_that_is_shown_stays_when_it_leaves_the_strip(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """A photo whose standing no longer passes the filter is still the one that is worked on."""
    window.ways_in.take_photos([KNOWN])
    read_all(window, qtbot)
    page.strip.chosen_photos.show_standing("accepted")
    page.acts.move.trigger()
    page.pane.editor.choose(CARD_PLACE)
    page.pane.editor.put(((5, 5), (30, 5), (30, 30), (5, 30)))
    read_all(window, qtbot)
    photo = window.model.desk.chosen_photo
    assert photo is not None
    assert photo.path == KNOWN
    assert photo.standing != "accepted"
    assert page.strip.selected() == ()


def test_taking_named_photos_off_the_desk_asks_first(
    window: MainWindow, page: PhotosPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Names would be lost: cancel keeps the photo, yes takes it off."""
    name_tubes(window, page, "Oak Bed")
    page.strip.follow()
    answers = iter((False, True))
    monkeypatch.setattr(window.messages, "ask", lambda *_: next(answers))
    page.acts.remove.trigger()
    assert len(window.model.desk.photos) == 1
    page.acts.remove.trigger()
    assert window.model.desk.photos == ()
    assert not page.acts.keep.isEnabled()


# -- outlines --------------------------------------------------------------------------------


def test_a_dragged_region_is_read_by_hand_and_undone(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """The reading says that the outline was set by hand; undo brings the old one back."""
    before = lines(window)[0].reading
    page.acts.move.trigger()
    quad = page.pane.editor.quad()
    assert quad is not None
    (x, y), _, (x2, y2), _ = quad
    drag(page, (x, y), (x + 0.3 * (x2 - x), y + 0.3 * (y2 - y)))
    read_all(window, qtbot)
    seen = lines(window)[0].measurement
    assert seen is not None
    assert seen.outline == "by_hand"
    assert "Read by hand-set outline" in page.reading.facts.text()
    window.does.undo.trigger()
    read_all(window, qtbot)
    assert lines(window)[0].reading == before


def test_nudges_in_a_row_are_one_step_back(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """Tab takes a corner, arrows move it by 1 and 10 pixels, one undo takes all back."""
    page.acts.move.trigger()
    editor, view = page.pane.editor, page.pane.view
    before = editor.quad()
    assert before is not None
    qtbot.keyClick(view, Qt.Key.Key_Tab)
    assert editor.corner == 0
    for _ in range(3):
        qtbot.keyClick(view, Qt.Key.Key_Right)
    qtbot.keyClick(view, Qt.Key.Key_Down, SHIFT)
    after = editor.quad()
    assert after is not None
    assert after[0] == (before[0][0] + 3, before[0][1] + 10)
    assert after[1:] == before[1:]
    window.does.undo.trigger()
    read_all(window, qtbot)
    assert editor.quad() == before


def test_a_held_key_does_not_pile_up_work(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However fast outlines are moved, no more photos are read at once than there are workers."""
    lock, running, most = Lock(), [0], [0]

    def slow(*given: object) -> PhotoLook:
        with lock:
            running[0] += 1
            most[0] = max(most[0], running[0])
        time.sleep(0.15)
        with lock:
            running[0] -= 1
        look = window.model.desk.chosen_photo.look  # type: ignore[union-attr]
        assert look is not None
        return look

    monkeypatch.setattr("app.window.photo_reader._look", slow)
    monkeypatch.setattr(window.bench, "workers", 1)  # the pool itself has more
    page.acts.move.trigger()
    for _ in range(8):
        page.pane.editor.nudge((1, 0))
        qtbot.wait(40)
    read_all(window, qtbot)
    assert most == [1]


def test_corners_are_set_by_numbers(window: MainWindow, page: PhotosPage, qtbot: QtBot) -> None:
    """A number moves its corner; one that would turn the outline over is not taken."""
    page.acts.move.trigger()
    before = page.pane.editor.quad()
    assert before is not None
    x, _ = page.outline_panel.numbers[0]
    x.setValue(round(before[0][0]) + 4)
    read_all(window, qtbot)
    after = page.pane.editor.quad()
    assert after is not None
    assert after[0][0] == round(before[0][0]) + 4
    x.setValue(round(before[1][0]) + 60)
    assert page.pane.editor.quad() == after
    assert x.value() == round(after[0][0])


def test_a_region_is_drawn_removed_and_reset(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """A drawn region is a fourth tube; names follow their tubes; reset goes back to three."""
    name_tubes(window, page, "Oak Bed", "Plot 7", "Fern End")
    page.acts.move.trigger()
    look = window.model.desk.chosen_photo.look  # type: ignore[union-attr]
    assert look is not None
    liquid = Box(*box_of(look.tubes[0].vessel))
    page.acts.draw.trigger()
    left = liquid.x - 60
    drag(page, (left, liquid.y + 200), (left + 40, liquid.y + 300))
    read_all(window, qtbot)
    assert [line.entry.sample for line in lines(window)] == [None, "Oak Bed", "Plot 7", "Fern End"]
    assert window.model.desk.tube == 1
    page.acts.drop.trigger()
    read_all(window, qtbot)
    assert [line.entry.sample for line in lines(window)] == ["Oak Bed", "Plot 7", "Fern End"]
    page.acts.reset.trigger()
    read_all(window, qtbot)
    photo = window.model.desk.chosen_photo
    assert photo is not None
    assert photo.edits.hand.tubes is None
    assert [line.entry.sample for line in lines(window)] == ["Oak Bed", "Plot 7", "Fern End"]


def test_escape_gives_up_a_drag(window: MainWindow, page: PhotosPage, qtbot: QtBot) -> None:
    """Nothing is changed, and nothing is there to be undone."""
    page.acts.move.trigger()
    quad = page.pane.editor.quad()
    assert quad is not None
    view = page.pane.view
    at = view.mapFromScene(QPointF(*box_of(quad).center))
    QTest.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    QTest.mouseMove(view.viewport(), at + at * 0.1)
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    QTest.mouseRelease(view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert page.pane.editor.quad() == quad
    assert not window.model.undo_stack.canUndo()


def test_the_card_can_be_moved_too(window: MainWindow, page: PhotosPage, qtbot: QtBot) -> None:
    """Its outline is another one in the panel's choice."""
    page.acts.move.trigger()
    page.pane.editor.choose(CARD_PLACE)
    page.pane.editor.nudge((5, 0))
    read_all(window, qtbot)
    photo = window.model.desk.chosen_photo
    assert photo is not None
    assert photo.look is not None
    assert photo.edits.hand.card == photo.look.card
    for line in photo.look.lines:
        assert "The grey card was drawn by hand." in {r.text for r in line.reading.reasons}


def test_a_card_that_was_not_found_can_be_drawn(
    window: MainWindow, page: PhotosPage, morning_look: PhotoLook
) -> None:
    """Choosing it in the panel lets the next drag draw it; its tubes stay what they were."""
    window.model.set_look(MORNING, replace(morning_look, card=None))
    page.acts.move.trigger()
    assert page.outline_panel.which.itemText(0) == "Grey card (draw it)"
    page.pane.editor.choose(CARD_PLACE)
    assert page.pane.editor.is_drawing
    drag(page, (100, 100), (200, 200))
    photo = window.model.desk.chosen_photo
    assert photo is not None
    assert photo.edits.hand.card is not None
    assert photo.edits.hand.tubes is None
    assert page.pane.editor.place == CARD_PLACE


# -- names -----------------------------------------------------------------------------------


def test_pasted_names_fill_the_tubes_and_can_be_undone(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """The preview shows it first; one undo takes all names back."""
    page.acts.names.trigger()
    dialog = page.findChild(NamesDialog)
    assert isinstance(dialog, NamesDialog)
    dialog.names.setPlainText("Oak Bed x2\nPlot 7")
    assert [tube.sample for tube in dialog.model.rows] == ["Oak Bed", "Oak Bed", "Plot 7"]
    dialog.apply.click()
    read_all(window, qtbot)
    assert [(li.entry.sample, li.entry.replicate) for li in lines(window)] == [
        ("Oak Bed", "1"),
        ("Oak Bed", "2"),
        ("Plot 7", None),
    ]
    assert "All tubes of Oak Bed" in page.reading.replicates.title.text()
    window.does.undo.trigger()
    read_all(window, qtbot)
    assert [line.entry.sample for line in lines(window)] == [None] * 3


def test_names_given_up_change_nothing(window: MainWindow, page: PhotosPage) -> None:
    """Cancel leaves the tubes as they are."""
    page.acts.names.trigger()
    dialog = page.findChild(NamesDialog)
    assert isinstance(dialog, NamesDialog)
    dialog.names.setPlainText("Oak Bed")
    dialog.reject()
    assert not window.model.undo_stack.canUndo()


def test_the_table_says_what_a_tube_is(window: MainWindow, page: PhotosPage, qtbot: QtBot) -> None:
    """Sample by typing, chart and role by choice; a blank is read as one."""
    tubes = page.table.tubes
    page.table.setFocus()
    page.table.setCurrentIndex(tubes.index(1, SAMPLE))
    qtbot.keyClick(page.table, Qt.Key.Key_F2)
    editor = page.table.findChild(QLineEdit)
    assert isinstance(editor, QLineEdit)
    qtbot.keyClicks(editor, "Oak")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: tubes.index(1, SAMPLE).data() == "Oak", timeout=10_000)
    assert page.table.currentIndex() == tubes.index(2, SAMPLE)
    tubes.setData(tubes.index(1, CHART), "Demo pH")
    tubes.setData(tubes.index(2, ROLE), "blank")
    read_all(window, qtbot)
    assert lines(window)[1].entry.sample == "Oak"
    assert lines(window)[1].entry.chart == "Demo pH"
    assert lines(window)[2].entry.role == "blank"


def test_a_known_tube_is_declared_with_its_value(
    window: MainWindow, page: PhotosPage, qtbot: QtBot
) -> None:
    """A word instead of a number is not taken; the number is, and stands in the table."""
    page.table.known_asked.emit(1)
    dialog = page.findChild(KnownTubeDialog)
    assert isinstance(dialog, KnownTubeDialog)
    dialog.value.setText("soap")
    dialog._take()
    assert "number" in dialog.fault.text()
    dialog.value.setText("6,5")
    dialog._take()
    read_all(window, qtbot)
    assert lines(window)[0].entry.role == "in_frame"
    assert page.table.tubes.index(0, ROLE).data() == "Known: 6.5"


# -- keeping ---------------------------------------------------------------------------------


def test_keeping_takes_back_and_keeps_again(
    window: MainWindow,
    page: PhotosPage,
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Kept once, said when kept before, taken back with a reason, then kept anew."""
    window.model.new_survey(tmp_path / "Spring")
    name_tubes(window, page, "Oak Bed")
    told: list[str] = []
    window.messages.told.connect(told.append)
    page.acts.keep.trigger()  # at once, before the photo has been read again
    qtbot.waitUntil(lambda: any("Kept 1 reading." in text for text in told), timeout=10_000)
    assert "without a name" in told[-1]
    page.acts.keep.trigger()
    qtbot.waitUntil(lambda: any("kept before" in text for text in told), timeout=10_000)
    answers = iter((("", False), ("Wrong tube", True)))
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: next(answers))
    page.acts.take_back.trigger()
    assert window.model.book is not None
    assert window.model.book.count() == 1
    page.acts.take_back.trigger()
    assert window.model.book.count() == 0
    assert window.model.book.reading(2).correction == "Wrong tube"
    page.acts.keep_all.trigger()
    qtbot.waitUntil(lambda: window.model.desk.survey.count == 1, timeout=10_000)  # type: ignore[union-attr]


def test_keeping_without_a_survey_offers_one(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cancel keeps nothing; "New survey" asks the window for one."""
    name_tubes(window, page, "Oak Bed")
    read_all(window, qtbot)
    wanted: list[str] = []
    monkeypatch.setattr(window, "ask_new_survey", lambda: wanted.append("survey"))
    clicked: list[str] = ["Cancel", "New survey…"]

    def choose(box: QMessageBox) -> int:
        word = clicked.pop(0)
        button = next(b for b in box.buttons() if b.text().replace("&", "") == word)
        button.click()
        return 0

    monkeypatch.setattr(QMessageBox, "exec", choose)
    page.acts.keep.trigger()
    assert wanted == []
    page.acts.keep.trigger()
    assert wanted == ["survey"]
    assert not window.bench.works


def test_tubes_without_names_are_not_kept_silently(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, tmp_path: Path
) -> None:
    """The window says that names are missing."""
    window.model.new_survey(tmp_path / "Spring")
    with qtbot.waitSignal(window.messages.complained) as complained:
        page.acts.keep.trigger()
    assert complained.args is not None
    assert "name" in complained.args[0].what_happened


def test_nothing_is_kept_in_a_survey_that_may_not_be_written(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, tmp_path: Path
) -> None:
    """A second window on the same survey is told why."""
    create_survey(tmp_path / "Spring", id="spring", now=datetime.now().astimezone()).close()
    with open_survey(tmp_path / "Spring"):
        window.model.open_survey(tmp_path / "Spring")
        name_tubes(window, page, "Oak Bed")
        with qtbot.waitSignal(window.messages.complained) as complained:
            page.acts.keep.trigger()
        window.model.close_survey()
    assert complained.args is not None
    assert "Nothing can be kept" in complained.args[0].what_happened


def test_keeping_that_is_stopped_keeps_what_is_done(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, tmp_path: Path
) -> None:
    """Stopping between two photos leaves no half of one."""
    window.model.new_survey(tmp_path / "Spring")
    name_tubes(window, page, "Oak Bed")
    read_all(window, qtbot)
    told: list[str] = []
    window.messages.told.connect(told.append)
    page.acts.keep.trigger()
    window.bench.works[0].stop()
    qtbot.waitUntil(lambda: bool(told), timeout=10_000)
    assert window.model.book is not None
    assert window.model.book.count() in (0, 1)
    page.acts.keep.trigger()
    qtbot.waitUntil(lambda: window.model.desk.survey.count == 1, timeout=10_000)  # type: ignore[union-attr]


def test_a_photo_that_is_gone_is_complained_about(
    window: MainWindow, ph_chart: Chart, qtbot: QtBot, tmp_path: Path
) -> None:
    """The survey keeps photos; one that was moved away cannot be kept, and nothing is."""
    path = tmp_path / "gone.jpg"
    path.write_bytes(MORNING.read_bytes())
    page = window.find_page("Photos")
    assert isinstance(page, PhotosPage)
    window.model.add_chart(ph_chart)
    window.model.new_survey(tmp_path / "Spring")
    window.ways_in.take_photos([path])
    read_all(window, qtbot)
    name_tubes(window, page, "Oak Bed")
    read_all(window, qtbot)
    path.unlink()
    with qtbot.waitSignal(window.messages.complained, timeout=10_000):
        page.acts.keep.trigger()
    assert window.model.desk.survey is not None
    assert window.model.desk.survey.count == 0


# -- handing on ------------------------------------------------------------------------------


def test_the_table_is_copied(page: PhotosPage) -> None:
    """Tab-separated: a head and a row a tube."""
    page.acts.copy.trigger()
    rows = QGuiApplication.clipboard().text().splitlines()
    assert rows[0].split("\t")[:3] == ["photo", "tube", "sample"]
    assert len(rows) == 4


def test_pictures_with_outlines_are_saved(
    window: MainWindow,
    page: PhotosPage,
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One picture a photo in the folder that was chosen; cancel writes nothing."""
    answers = iter((None, tmp_path / "out"))
    monkeypatch.setattr(window.messages, "ask_folder", lambda *_: next(answers))
    page.acts.pictures.trigger()
    assert not window.bench.works
    page.acts.pictures.trigger()
    qtbot.waitUntil(lambda: not window.bench.works, timeout=10_000)
    assert len(list((tmp_path / "out").glob("*.png"))) == 1


def test_a_wrong_reflectance_is_not_taken(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """18 instead of 0.18 is complained about; 0.2 is taken and everything is read again."""
    answers = iter((("18", True), ("0.2", True)))
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: next(answers))
    with qtbot.waitSignal(window.messages.complained):
        page.charts.ask_reflectance()
    assert window.model.desk.card_reflectance is None
    page.charts.ask_reflectance()
    assert window.model.desk.card_reflectance == (0.2, 0.2, 0.2)
    read_all(window, qtbot)


def test_closing_while_photos_are_read(
    window: MainWindow, ph_chart: Chart, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Closing right after dropping a folder waits for what has begun, and begins nothing more."""
    begun: list[str] = []
    ended: list[str] = []

    def slow(path: Path, *given: object) -> PhotoLook:
        begun.append(path.name)
        time.sleep(0.3)
        ended.append(path.name)
        return guarded_look(path, *given)  # type: ignore[arg-type]

    monkeypatch.setattr("app.window.photo_reader._look", slow)
    window.model.add_chart(ph_chart)
    window.ways_in.take_photos([SAMPLES / "survey"])
    qtbot.waitUntil(lambda: bool(begun), timeout=10_000)
    window.close()
    assert sorted(begun) == sorted(ended)
    assert len(begun) < len(window.model.desk.photos)


def test_other_photos_take_over_the_same_tests(
    window: MainWindow, page: PhotosPage, qtbot: QtBot, morning_look: PhotoLook
) -> None:
    """What is said of one photo's places holds for photos of as many tubes; undo takes it back."""
    window.ways_in.take_photos([KNOWN])
    window.reader.stop()
    window.model.set_look(KNOWN, morning_look)
    window.model.choose(MORNING)
    page.table.tubes.setData(page.table.tubes.index(0, CHART), "Demo pH")
    page.acts.same.trigger()
    other = window.model.desk.photo(KNOWN)
    assert other is not None
    assert other.edits.entry(1).chart == "Demo pH"
    window.does.undo.trigger()
    other = window.model.desk.photo(KNOWN)
    assert other is not None
    assert other.edits.entries == ()
    read_all(window, qtbot)
