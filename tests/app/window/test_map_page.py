"""The Map page: sites placed on a plan, readings on the map, a source asked for, saved."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.exports.map_drawing import draw_map
from app.exports.map_shapes import LEGEND, Words
from app.exports.map_shapes import Path as Outline
from app.exports.screen_color import screen_color
from app.site_map.map_view import MapView
from app.survey.sample import Sample
from app.survey.site import Site
from app.window.main_window import MainWindow
from app.window.map_page import MapPage
from app.window.plan_dialog import PlanDialog
from app.window.practice_dialog import PracticeDialog
from colorcore._cv import cv2
from tests.app.sample_surveys import NOW, make_line, write_photo

PLACES = {
    "A": (0, 0, 7.1),
    "B": (40, 5, 7.0),
    "C": (60, 40, 4.9),
    "D": (20, 50, 6.0),
    "E": (80, 80, 5.6),
}


@pytest.fixture
def page(window: MainWindow, tmp_path: Path) -> MapPage:
    """Show the page over five sites with a reading each."""
    window.model.new_survey(tmp_path / "Spring")
    book = window.model.book
    assert book is not None
    sites = [Site(name=n, map_x_m=x, map_y_m=y) for n, (x, y, _) in PLACES.items()]
    book.add_sites([*sites, Site(name="F")], person="P1", now=NOW)
    book.add_samples([Sample(label=n, site=n, kind="water") for n in PLACES], person="P1", now=NOW)
    photo = write_photo(tmp_path)
    lines = [
        make_line(photo, value=value, tube=tube, sample=name)
        for tube, (name, (_, _, value)) in enumerate(PLACES.items(), start=1)
    ]
    book.keep_readings(lines, "P1", NOW)
    window.model.refresh_survey()
    window.show_page("Map")
    found = window.find_page("Map")
    assert isinstance(found, MapPage)
    return found


def drawn(page: MapPage, qtbot: QtBot) -> str:
    """Wait for the map and return its words."""
    qtbot.waitUntil(lambda: page._view is not None, timeout=20_000)
    return page.words.toPlainText()


def test_readings_stand_at_their_sites(page: MapPage, qtbot: QtBot) -> None:
    """Every site is listed with letter and value; one without a place is said to be missing."""
    words = drawn(page, qtbot)
    assert "pH of water samples" in words
    assert "4.9" in words
    assert page.plan_tab.unplaced.currentText() == "F"


def test_a_source_is_asked_for_with_background_sites(page: MapPage, qtbot: QtBot) -> None:
    """Marked background sites bring a ranking that claims no more than it can."""
    drawn(page, qtbot)
    page._view = None
    item = page.controls.background.item(0)
    item.setCheckState(item.checkState().Checked)
    words = drawn(page, qtbot)
    assert "The most suspect first" in words
    assert "never proves a source" in words


def test_looking_for_a_source_marks_the_survey(page: MapPage, qtbot: QtBot) -> None:
    """A map alone does not; with a background site the survey counts as ground under suspicion."""

    def mark() -> bool | None:
        opened = page.tools.model.desk.survey
        assert opened is not None
        return opened.survey.suspected_contamination

    drawn(page, qtbot)
    assert mark() is None
    item = page.controls.background.item(0)
    item.setCheckState(item.checkState().Checked)
    qtbot.waitUntil(lambda: mark() is True, timeout=20_000)
    assert page.controls.checked() == ("A",)


def test_water_levels_tell_direction_and_speed(page: MapPage, qtbot: QtBot) -> None:
    """With levels in wells and what it flows through: gradient, residual, speed, travel times."""
    drawn(page, qtbot)
    controls = page.controls
    assert not controls.material.isVisibleTo(controls)
    controls.way.setCurrentIndex(controls.way.findData("heads"))
    assert controls.material.isVisibleTo(controls)
    for row, level in enumerate((10.0, 9.7, 9.3, 9.6, 9.0)):
        cell = controls.heads.item(row, 1)
        assert cell is not None
        cell.setText(f"{level}")
    page._view = None
    controls.material.setCurrentIndex(controls.material.findText("clean sand"))
    words = drawn(page, qtbot)
    for said in ("from the water levels", "largest residual", "m a day", "Water from A to C"):
        assert said in words


def test_a_direction_that_cannot_be_had_is_said(page: MapPage, qtbot: QtBot) -> None:
    """Without water levels the page says what is missing and draws nothing."""
    drawn(page, qtbot)
    page.controls.way.setCurrentIndex(page.controls.way.findData("heads"))
    qtbot.waitUntil(lambda: page._view is None, timeout=10_000)
    assert page.words.toPlainText()
    assert not page.save_action.isEnabled()


def test_a_site_is_put_on_the_plan(page: MapPage, qtbot: QtBot) -> None:
    """A site without a place gets one, in metres, in the survey itself."""
    drawn(page, qtbot)
    page.plan_tab.put_site()
    opened = page.tools.model.desk.survey
    assert opened is not None
    site = next(s for s in opened.survey.sites if s.name == "F")
    assert site.map_x_m is not None


def test_sites_are_placed_by_their_photos(
    page: MapPage, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On request alone, a site without any place gets that of its photo: 50 15' N, 8 30' W."""
    drawn(page, qtbot)
    model = page.tools.model
    assert model.book is not None
    picture = Image.new("RGB", (64, 48), (120, 120, 120))
    exif = picture.getexif()
    exif[0x8825] = {1: "N", 2: (50.0, 15.0, 0.0), 3: "W", 4: (8.0, 30.0, 0.0)}  # the GPS directory
    picture.save(tmp_path / "field.jpg", exif=exif)
    model.book.add_samples([Sample(label="F", site="F", kind="water")], person="P1", now=NOW)
    model.book.keep_readings([make_line(tmp_path / "field.jpg", sample="F")], "P1", NOW)
    model.refresh_survey()

    def place() -> tuple[float | None, float | None]:
        opened = model.desk.survey
        assert opened is not None
        site = next(s for s in opened.survey.sites if s.name == "F")
        return site.latitude_deg, site.longitude_deg

    answers = iter([False, True])
    monkeypatch.setattr(page.tools.messages, "ask", lambda *_: next(answers))
    page.photos_action.trigger()
    assert place() == (None, None)
    page.photos_action.trigger()
    qtbot.waitUntil(lambda: place() == (50.25, -8.5), timeout=10_000)


def test_a_plan_is_scaled_by_two_points(page: MapPage, tmp_path: Path) -> None:
    """Two points and their distance scale the picture; it then belongs to the survey."""
    picture = tmp_path / "sketch.png"
    cv2.imwrite(str(picture), np.full((300, 400, 3), 230, np.uint8))
    dialog = PlanDialog(picture, page)
    dialog.take()
    assert dialog.scale is None
    dialog.mark(50, 150)
    dialog.mark(350, 150)
    dialog.distance.setValue(150)
    dialog.take()
    page.plan_tab.take_picture(picture, dialog)
    assert page.plan_tab.plan is not None
    assert page.plan_tab.plan.scale.metres_per_px == pytest.approx(0.5)
    assert page.plan_tab.plan.picture.parent.name == "Spring"


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_the_map_is_saved(page: MapPage, qtbot: QtBot, tmp_path: Path, ending: str) -> None:
    """A picture of the map is written whole."""
    drawn(page, qtbot)
    target = tmp_path / f"map.{ending}"
    page.save(target)
    assert target.stat().st_size > 5000


def test_a_site_is_moved_by_keys_and_put_back(page: MapPage, qtbot: QtBot) -> None:
    """Arrows move the chosen marker by a metre, with Shift by ten; undo writes the old place."""
    page.tabs.setCurrentIndex(1)
    view = page.plan_tab.view
    view.choose_next(1)
    assert view.chosen == "A"
    QTest.keyClick(view, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(view, Qt.Key.Key_Right)  # last, for the application remembers that Shift is up

    def place() -> tuple[float | None, float | None]:
        opened = page.tools.model.desk.survey
        assert opened is not None
        site = next(s for s in opened.survey.sites if s.name == "A")
        return site.map_x_m, site.map_y_m

    qtbot.waitUntil(lambda: place() == (1, 10), timeout=3000)
    assert view.chosen == "A"
    page.tools.model.undo_stack.undo()
    assert place() == (0, 0)


def test_the_dial_and_the_number_agree(page: MapPage) -> None:
    """Up on the dial is north, right is east."""
    page.controls.degrees.setValue(90)
    assert page.controls.dial.value() == 270
    page.controls.dial.setValue(180)
    assert page.controls.degrees.value() == 0


def test_only_the_chosen_day_is_on_the_map(page: MapPage, qtbot: QtBot) -> None:
    """Samples of two days can be looked at one by one; sites may wear their chart's colors."""
    model = page.tools.model
    assert model.book is not None
    samples = [
        Sample(
            label=n,
            site=n,
            kind="water",
            taken_on=date(2026, 4, 1 if n < "C" else 2),
            depth_bottom_cm=40.0 if n == "E" else 15.0,
        )
        for n in PLACES
    ]
    model.book.add_samples(samples, person="P1", now=NOW, replace=True)
    model.refresh_survey()
    drawn(page, qtbot)
    page._view = None
    page.controls.day.setCurrentIndex(page.controls.day.findText("2026-04-02"))
    page.controls.colors.setCurrentIndex(1)
    drawn(page, qtbot)
    view: MapView | None = page._view
    assert view is not None
    assert [point.reading.name for point in view.points] == ["C", "D", "E"]
    assert all(point.color == point.chart_color for point in view.points)
    page._view = None
    page.controls.below.setCurrentIndex(page.controls.below.findText("0 to 15 cm"))
    drawn(page, qtbot)
    found: MapView | None = page._view
    assert found is not None
    assert [point.reading.name for point in found.points] == ["C", "D"]


def test_a_teacher_makes_a_practice_survey(page: MapPage, tmp_path: Path) -> None:
    """Without clean sites it says what is missing; with them there is a recipe for every site."""
    places = {name: (float(x), float(y)) for name, (x, y, _) in PLACES.items()}
    dialog = PracticeDialog(places, page.tools, page)
    item = dialog.background.item(0)
    for row in range(dialog.background.count()):
        dialog.background.item(row).setCheckState(Qt.CheckState.Checked)
    dialog.show_recipe()
    assert "not all of them" in dialog.words.toPlainText()
    for row in range(1, dialog.background.count()):
        dialog.background.item(row).setCheckState(Qt.CheckState.Unchecked)
    dialog.show_recipe()
    words = dialog.words.toPlainText()
    assert item.text() in words
    assert "Goggles" in words
    dialog.numbers["reach"].setValue(1000)
    dialog.show_recipe()
    assert dialog.words.toPlainText() != words


def test_chart_colors_stand_in_a_legend_with_their_values(page: MapPage, qtbot: QtBot) -> None:
    """Every swatch of the chart has its value beside its color, on the screen and in the picture.

    Without chart colors only the even scale is there.
    """
    drawn(page, qtbot)
    view: MapView | None = page._view
    assert view is not None
    (chart,) = view.charts
    before = legend_of(view)
    assert chart.name not in before.values()
    worn = view.in_chart_colors()
    after = legend_of(worn)
    assert chart.name in after.values()
    for value, color in chart.steps:
        beside = [text for text in after.values() if text == f"{value:.3g}"]
        assert beside
        assert any(
            isinstance(shape, Outline) and shape.fill == screen_color(color)
            for shape in draw_map(worn)
        )
    few = replace(worn, charts=tuple(replace(chart, name=f"No. {i}") for i in range(4)))
    assert "and 2 more charts" in legend_of(few).values()


def legend_of(view: MapView) -> dict[tuple[float, float], str]:
    """Return the words beside the map, by their places; none stands on another."""
    words = [item for item in draw_map(view) if isinstance(item, Words)]
    beside = {item.place: item.text for item in words if item.place[0] >= LEGEND}
    assert len(beside) == sum(1 for item in words if item.place[0] >= LEGEND)
    return beside
