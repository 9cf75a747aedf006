"""Ways for photos to come in, and the desk that is remembered."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QMimeData, QUrl
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

import sample_images
from app.bench_clock import BenchClock
from app.desk import PhotoEdits
from app.survey.method import Method
from app.tasks.desk_file import load_desk
from app.tube_reading import TubeEntry
from app.window.camera_dialog import CameraDialog
from app.window.frame_source import FrameSource
from app.window.label_dialog import LabelDialog
from app.window.main_window import MainWindow
from app.window.open_window import page_plans
from app.window.pasted import pasted_photos
from app.window.preferences import Preferences
from colorcore._cv import cv2
from colorcore.errors import TintwellError

SAMPLE = Path(sample_images.__file__).parent / "survey" / "plot-a-morning.jpg"


FRAMES = 300  # enough that they do not end while a slow machine looks at the first ones


@pytest.fixture
def video(tmp_path: Path) -> Path:
    """Frames with a burnt-out corner."""
    path = tmp_path / "bench.avi"
    codec = cv2.VideoWriter_fourcc(*"MJPG")  # type: ignore[attr-defined]
    writer = cv2.VideoWriter(str(path), codec, 10, (320, 240))
    frame = np.full((240, 320, 3), 120, np.uint8)
    frame[:60, :80] = 255
    for _ in range(FRAMES):
        writer.write(frame)
    writer.release()
    return path


def test_frames_come_from_a_video_like_from_a_camera(video: Path) -> None:
    """All frames come, then none; what is no video is refused with what to do."""
    source = FrameSource(video)
    frames = []
    while (frame := source.next_frame()) is not None:
        frames.append(frame)
    source.close()
    assert len(frames) == FRAMES
    assert frames[0].shape == (240, 320, 3)
    with pytest.raises(TintwellError, match="cannot be opened"):
        FrameSource(video.with_name("none.avi"))


def test_the_live_picture_tells_of_overexposure_and_takes_photos(
    window: MainWindow, qtbot: QtBot, video: Path, tmp_path: Path
) -> None:
    """The share that is burnt out is said; a photo is saved whole and handed on."""
    dialog = CameraDialog(video, tmp_path / "shots", window.bench, window)
    qtbot.waitUntil(dialog.take.isEnabled, timeout=5000)
    assert "over-exposed" in dialog.said.text()
    with qtbot.waitSignal(dialog.taken) as taken:
        dialog.take_photo()
    assert taken.args is not None
    picture = cv2.imdecode(np.fromfile(taken.args[0], np.uint8), cv2.IMREAD_COLOR)
    assert np.asarray(picture).shape == (240, 320, 3)
    qtbot.waitUntil(lambda: dialog.said.text().endswith("stripes."), timeout=5000)
    assert dialog.saved.text() == f"Saved {taken.args[0].name}."
    dialog.close()


def test_a_window_that_closes_lets_go_of_the_camera(
    window: MainWindow, qtbot: QtBot, video: Path, tmp_path: Path
) -> None:
    """Nobody closed the live picture; the window does not wait for the end of it."""
    dialog = CameraDialog(video, tmp_path / "shots", window.bench, window)
    qtbot.waitUntil(dialog.take.isEnabled, timeout=5000)
    window.close()
    assert window.bench.is_closed
    assert dialog.said.text() != "The camera gives no more pictures."


def test_no_camera_is_said_plainly(window: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    """Without a camera the dialog says so and takes nothing."""
    dialog = CameraDialog(tmp_path / "none.avi", tmp_path, window.bench, window)
    qtbot.waitUntil(lambda: "cannot be opened" in dialog.said.text(), timeout=5000)
    assert not dialog.take.isEnabled()
    dialog.close()


def test_a_watched_folder_gives_new_whole_photos(
    window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    """What was there is left alone; what comes is read once it has stopped growing."""
    (tmp_path / "old.jpg").write_bytes(SAMPLE.read_bytes())
    window.bench_tools.watch(tmp_path)
    assert window.bench_tools.watch_action.isChecked()
    new = tmp_path / "new.jpg"
    new.write_bytes(SAMPLE.read_bytes())
    qtbot.waitUntil(lambda: len(window.model.desk.photos) == 1, timeout=10_000)
    assert window.model.desk.photos[0].path == new.resolve()
    window.bench_tools.ask_watch()
    assert window.bench_tools.watcher.folder is None


def test_files_and_pictures_are_pasted() -> None:
    """Files come as they are, a bare picture as a new PNG, anything else not at all."""
    files = QMimeData()
    files.setUrls([QUrl.fromLocalFile(str(SAMPLE))])
    assert pasted_photos(files) == (SAMPLE,)
    picture = QMimeData()
    image = QImage(8, 6, QImage.Format.Format_RGB32)
    image.fill(0)
    picture.setImageData(image)
    (path,) = pasted_photos(picture)
    assert path.suffix == ".png"
    path.unlink()
    words = QMimeData()
    words.setText("tea")
    assert pasted_photos(words) == ()


def test_labels_are_written_as_a_pdf(window: MainWindow, tmp_path: Path) -> None:
    """Every sample gets its replicates; more than a page's worth goes on."""
    dialog = LabelDialog([f"Plot {n}" for n in range(10)], window.messages, window)
    dialog.replicates.setValue(3)
    assert dialog.wanted()[1] == ("Plot 0", "2")
    path = tmp_path / "labels.pdf"
    dialog.write(path)
    data = path.read_bytes()
    assert data.startswith(b"%PDF")
    assert data.count(b"/Type /Page\n") == 2


def test_the_desk_is_as_it_was_left(window: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    """Photos, names and clocks survive a window that was closed; a second window leaves them."""
    folder = tmp_path / "desk"
    window.remember_desk(folder)
    window.model.add_photos([SAMPLE])
    path = SAMPLE.resolve()
    named = PhotoEdits().with_entry(1, TubeEntry(sample="Plot A"))
    window.model.edit({path: named}, "name")
    clock = BenchClock(
        id="1", samples=("Plot A",), method=Method(name="m", color_to_min=5.0),
        shaken_at=datetime(2026, 3, 1, tzinfo=UTC),
    )  # fmt: skip
    window.model.set_clocks([clock])
    window.model.set_offset("Camera 1", timedelta(seconds=12))
    second = MainWindow(Preferences(), page_plans())
    qtbot.addWidget(second)
    second.remember_desk(folder)
    assert second.model.desk.photos == ()
    second.close()
    window.close()
    remembered = load_desk(folder)
    assert remembered is not None
    desk, survey = remembered
    assert survey is None
    assert desk.photos[0].edits == named
    assert desk.clocks == (clock,)
    assert desk.offsets == (("Camera 1", timedelta(seconds=12)),)


def test_a_damaged_memory_is_said_and_stops_nothing(
    window: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    """A desk file that is no longer one is complained about; the window opens empty."""
    (tmp_path / "desk.json").write_text('{"format": 1, "charts": 7}', "utf-8")
    with qtbot.waitSignal(window.messages.complained):
        window.remember_desk(tmp_path)
    assert window.model.desk.photos == ()
