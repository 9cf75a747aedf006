"""Batches stopped, carried on, and spread over a cluster: nothing lost, nothing doubled."""

import csv
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from app.errors import OrderError
from app.tasks import batch
from app.tasks.batch import read_batch
from app.tasks.read_photo import ReadOrder, failed
from app.terminal import cluster
from app.terminal.words import SOME_REFUSED, STOPPED
from app.tube_reading import TubeReading
from calibration.chart_file import save_chart
from tests.app.conftest import Commands
from tests.app.sample_surveys import CHART, make_line
from tests.calibration.sample_charts import make_chart

READ = ("read", "photos", "--chart", "ph.json", "--format")
ORDER = ReadOrder(charts=(("ph", CHART),), entries={}, known={})


def grey(path: Path, shade: int) -> Path:
    """Write a small picture in which there is nothing to find."""
    Image.fromarray(np.full((48, 64, 3), shade, np.uint8)).save(path)
    return path


@pytest.fixture
def photos(tintwell: Commands, tmp_path: Path) -> Path:
    """Lay five photos and a chart ready; two of the photos are the same."""
    folder = tmp_path / "photos"
    folder.mkdir()
    for number, shade in enumerate((20, 60, 60, 140, 180)):
        grey(folder / f"{number}.png", shade)
    save_chart(CHART, tmp_path / "ph.json")
    return folder


def rows_of(path: Path) -> list[dict[str, object]]:
    """Rows of a CSV or JSON lines file."""
    if path.suffix == ".csv":
        with path.open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


def names_in(path: Path) -> list[str]:
    """Photos in a file of results, one a line."""
    return [Path(str(row["photo"])).name for row in rows_of(path)]


ALL = [f"{number}.png" for number in range(5)]


@pytest.mark.parametrize("form", ["csv", "jsonl"])
def test_a_file_that_is_there_is_replaced_only_when_asked(
    tintwell: Commands, photos: Path, tmp_path: Path, form: str
) -> None:
    """Nobody loses yesterday's readings to a forgotten name."""
    out = tmp_path / f"out.{form}"
    out.write_text("yesterday")
    words = (*READ, form, "-o", out.name)
    code, _, err = tintwell(*words)
    assert (code, out.read_text()) == (STOPPED, "yesterday")
    assert "--resume" in err
    assert tintwell(*words, "--replace")[0] == SOME_REFUSED
    assert names_in(out) == ALL


@pytest.mark.parametrize("form", ["csv", "jsonl"])
@pytest.mark.parametrize("cut", [0, 1, 120, 100_000])
def test_a_stopped_batch_is_carried_on(
    tintwell: Commands, photos: Path, tmp_path: Path, form: str, cut: int
) -> None:
    """Wherever the writing was cut off, the file is the same in the end; done photos stay done."""
    out = tmp_path / f"out.{form}"
    words = (*READ, form, "-o", out.name)
    assert tintwell(*words)[0] == SOME_REFUSED
    whole = out.read_bytes()
    out.write_bytes(whole[: len(whole) - cut])
    code, _, err = tintwell(*words, "--resume")
    assert (code, out.read_bytes()) == (SOME_REFUSED, whole)
    assert "done already" in err


def test_what_is_done_is_known_by_its_content(
    tintwell: Commands, photos: Path, tmp_path: Path
) -> None:
    """A renamed photo is not read again, a changed one is; a file that was unreadable is too."""
    broken = photos / "5.png"
    broken.write_bytes(b"no picture")
    words = (*READ, "jsonl", "-o", "out.jsonl")
    tintwell(*words)
    grey(broken, 220)
    grey(photos / "3.png", 200)
    (photos / "0.png").rename(photos / "9.png")
    _, _, err = tintwell(*words, "--resume")
    assert "4 photos done already, 2 left." in err
    assert names_in(tmp_path / "out.jsonl") == [*ALL, "3.png", "5.png"]


@pytest.mark.skipif(sys.platform != "linux", reason="names of files are text elsewhere")
def test_a_name_that_is_no_text(tintwell: Commands, photos: Path, tmp_path: Path) -> None:
    """A photo from an old camera card is read like any other."""
    odd = os.fsdecode(b"caf\xe9.png")
    grey(photos / odd, 10)
    for form in ("csv", "jsonl", "table"):
        assert tintwell(*READ, form)[0] == SOME_REFUSED
        assert tintwell(*READ, form, "-o", f"out.{form}")[0] == SOME_REFUSED
    assert odd in names_in(tmp_path / "out.jsonl")
    _, _, err = tintwell(*READ, "jsonl", "-o", "out.jsonl", "--resume")
    assert "6 photos done already, 0 left." in err


def test_only_a_file_of_the_same_batch_is_carried_on(
    tintwell: Commands, photos: Path, tmp_path: Path
) -> None:
    """Anything else is left as it is."""
    out = tmp_path / "out.jsonl"
    words = (*READ, "jsonl", "-o", out.name)
    assert tintwell(*words)[0] == SOME_REFUSED
    whole = out.read_bytes()
    other = make_chart(((4.0, (50, 40, 40)), (5.0, (60, 10, 40)), (8.0, (40, -20, 10))))
    save_chart(replace(other, id="f" * 32), tmp_path / "other.json")
    attempts: tuple[tuple[str, ...], ...] = (
        ("read", "photos", "--chart", "other.json", "--format", "jsonl", "-o", out.name),
        (*READ, "csv", "-o", out.name),
        (*READ, "table", "-o", out.name),
        (*READ, "jsonl"),
        (*READ, "jsonl", "-o", "photos/0.png"),
    )
    for attempt in attempts:
        assert tintwell(*attempt, "--resume")[0] == STOPPED, attempt
    assert out.read_bytes() == whole
    assert tintwell(*READ, "jsonl", "-o", "new.jsonl", "--resume")[0] == SOME_REFUSED
    assert names_in(tmp_path / "new.jsonl") == ALL


def test_a_killed_batch_loses_no_more_than_a_photo(photos: Path, tmp_path: Path) -> None:
    """What was read is on the disk when the program dies."""
    out = tmp_path / "out.jsonl"
    script = (
        "import sys, time\n"
        "from app.tasks import batch\n"
        "from app.command_line import run\n"
        "real = batch.read_one\n"
        "def slow(photo, order):\n"
        "    time.sleep(30 if photo.endswith('3.png') else 0)\n"
        "    return real(photo, order)\n"
        "batch.read_one = slow\n"
        f"run([*{READ!r}, 'jsonl', '-o', 'out.jsonl', '--jobs', '1'])\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(batch.__file__).parents[2])}
    with subprocess.Popen([sys.executable, "-c", script], cwd=tmp_path, env=environment) as run:
        _wait_for(lambda: out.exists() and out.read_text().count("\n") == 3)
        run.kill()
    assert names_in(out) == ALL[:3]


def _wait_for(what: Callable[[], bool], seconds: float = 30) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.02)


class _Gone(Executor):
    """An executor whose workers have gone."""

    def submit(self, fn: object, /, *args: object, **named: object) -> Future:  # type: ignore[type-arg, override]
        future: Future[object] = Future()
        future.cancel()
        return future


def test_an_executor_that_is_gone_stops_the_batch() -> None:
    """The photos are not to blame, so they are not refused."""
    with pytest.raises(OrderError, match="complete"):
        list(read_batch(["a.png", "b.png"], ORDER, _Gone(), 1))


class _Worn(Executor):
    """An executor that gives up on a photo after its workers died of it."""

    def submit(self, fn: object, /, *args: object, **named: object) -> Future:  # type: ignore[type-arg, override]
        future: Future[object] = Future()
        future.set_exception(RuntimeError("died of it"))
        return future


def test_a_photo_that_kills_its_readers_is_refused() -> None:
    """The others go on."""
    lines = list(read_batch(["a.png", "b.png"], ORDER, _Worn(), 1))
    assert [line.photo for photo in lines for line in photo] == ["a.png", "b.png"]
    assert all(line.reading.status == "refused" for photo in lines for line in photo)


def _die(photo: str, order: ReadOrder) -> tuple[TubeReading, ...]:
    os._exit(1)


def test_a_pool_of_processes_that_dies_stops_the_batch(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any executor will do, and its end is said."""
    monkeypatch.setattr(batch, "guarded", _die)
    with ProcessPoolExecutor(1) as pool, pytest.raises(OrderError, match="complete"):
        list(read_batch(["a.png"], ORDER, pool, 1))


SLOW_S = 0.15


def slowly(photo: str, order: ReadOrder) -> tuple[TubeReading, ...]:
    """Stand for the reading of a photo, on a worker."""
    time.sleep(SLOW_S)
    return (make_line(Path(photo)),) if Path(photo).is_file() else failed(photo, order, OSError())


@pytest.fixture
def scheduler() -> Iterator[tuple[str, Callable[[], list[int]]]]:
    """Start a cluster of two workers; gives its address and what tells the workers' ids."""
    distributed = pytest.importorskip(
        "distributed", reason="Dask is not installed (pip install tintwell[cluster])"
    )
    root = str(Path(batch.__file__).parents[2])
    environment = {**os.environ, "PYTHONPATH": root, "DASK_DISTRIBUTED__WORKER__DAEMON": "False"}
    command = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "env": environment}
    from socket import socket

    with socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    helpers = [
        subprocess.Popen([*command, "--port", str(port), "--no-dashboard"], **quiet)  # type: ignore[call-overload]
    ]
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", address, "--no-dashboard"]
    worker += ["--no-nanny", "--nthreads", "1"]
    helpers += [subprocess.Popen(worker, **quiet) for _ in range(2)]  # type: ignore[call-overload]
    try:
        with distributed.Client(address, timeout=30, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=30)
        yield address, lambda: [helper.pid for helper in helpers[1:]]
    finally:
        for helper in helpers:
            helper.kill()
            helper.wait()


def test_a_cluster_loses_a_worker_and_no_photo(
    scheduler: tuple[str, Callable[[], list[int]]],
    tintwell: Commands,
    photos: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two workers, one killed in mid-run: every photo is there once, in the order given."""
    address, workers = scheduler
    for number in range(20):
        grey(photos / f"more-{number:02}.png", number)
    names = sorted(path.name for path in photos.iterdir())
    monkeypatch.setattr(batch, "guarded", slowly)
    out = tmp_path / "out.jsonl"

    def kill_one() -> None:
        _wait_for(lambda: out.exists() and out.read_text().count("\n") >= 4)
        os.kill(workers()[0], signal.SIGKILL)

    killer = threading.Thread(target=kill_one)
    killer.start()
    words = (*READ, "jsonl", "-o", out.name, "--scheduler", address)
    assert tintwell(*words)[0] == 0
    killer.join()
    assert names_in(out) == names
    assert {str(Path(str(row["photo"])).parent) for row in rows_of(out)} == {"photos"}


def test_no_cluster_is_said(
    tintwell: Commands, photos: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing answers, or nothing that could, nothing is read."""
    monkeypatch.setattr(cluster, "ANSWER_S", 0.5)
    pytest.importorskip(
        "distributed", reason="Dask is not installed (pip install tintwell[cluster])"
    )
    for address in ("tcp://127.0.0.1:9", "nonsense"):
        code, out, err = tintwell(*READ, "jsonl", "--scheduler", address, "-o", "out.jsonl")
        assert (code, out, Path("out.jsonl").exists()) == (STOPPED, "", False)
        assert address in err


def test_without_dask_it_is_said_how_to_install_it(
    tintwell: Commands, photos: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The part is optional."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    code, _, err = tintwell(*READ, "jsonl", "--scheduler", "tcp://127.0.0.1:9")
    assert (code, "tintwell[cluster]" in err) == (STOPPED, True)
