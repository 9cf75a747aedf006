"""Photos read in threads and processes: the same lines, whatever happens to a process."""

import os
import time
from concurrent.futures import Executor, ThreadPoolExecutor
from pathlib import Path

import pytest

from app.tasks.batch import read_batch
from app.tasks.read_photo import ReadOrder
from app.tasks.readers import WORTH_A_PROCESS, readers
from app.tube_reading import TubeReading
from tests.app.sample_surveys import CHART

ORDER = ReadOrder(charts=(("ph", CHART),), entries={}, known={})


def read_elsewhere(pool: Executor) -> bool:
    """Whether a process takes the work within half a minute."""
    end = time.monotonic() + 30
    while time.monotonic() < end:
        if pool.submit(os.getpid).result() != os.getpid():
            return True
        time.sleep(0.05)
    return False


def end_of_a_process(photo: str, order: ReadOrder) -> tuple[TubeReading, ...]:
    """Stand in for a photo that ends the process that reads it."""
    os._exit(3)


@pytest.mark.parametrize("workers", [1, 2])
def test_work_is_done_whoever_does_it(workers: int) -> None:
    """What is handed out comes back, whether a process was ready or not."""
    with readers(workers, WORTH_A_PROCESS) as pool:
        jobs = [pool.submit(divmod, number, 7) for number in range(50)]
        assert [job.result() for job in jobs] == [divmod(number, 7) for number in range(50)]


def test_a_process_reads_until_one_of_its_photos_ends_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only that photo is refused; the others are read here."""
    photos = [str(tmp_path / f"{number}.jpg") for number in range(5)]  # there are none
    with readers(2, WORTH_A_PROCESS) as pool:
        assert read_elsewhere(pool)
        with monkeypatch.context() as broken:
            broken.setattr("app.tasks.batch.guarded", end_of_a_process)
            ((line,),) = read_batch(photos[:1], ORDER, pool, 2)
        assert "process" in line.reading.reasons[0].text
        lines = [line for (line,) in read_batch(photos[1:], ORDER, pool, 2)]
    assert ["no such file" in line.reading.reasons[0].text for line in lines] == [True] * 4


def test_few_photos_start_no_process() -> None:
    """A process is not worth its start where there is little to read."""
    with readers(2, WORTH_A_PROCESS - 1) as pool:
        assert isinstance(pool, ThreadPoolExecutor)
