"""Prints the speed of a whole reading as ratios that hold on any machine.

    python -m tests.benchmarks.speed --chart CHART PHOTO [PHOTO ...]

Photos of 12 megapixels tell most; both are the user's. Every figure is a median of nine, taken in
turn with the thing it is compared with, so that other work on the machine falls on both.
"""

import argparse
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program does, before NumPy is loaded

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from app.tasks.batch import read_batch
from app.tasks.read_photo import ReadOrder, read_one
from app.tasks.readers import readers
from calibration.chart_file import load_chart
from colorcore._cv import cv2

RUNS = 9


def median_ratio(one: Callable[[], object], other: Callable[[], object]) -> tuple[float, float]:
    """Median time of `one` in seconds, and over that of `other`, run in turn."""
    one()
    other()
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(RUNS):
        for kept, run in zip(times, (one, other), strict=True):
            start = time.perf_counter()
            run()
            kept.append(time.perf_counter() - start)
    first, second = (float(np.median(t)) for t in times)
    return first, first / second


def main() -> None:
    """Measure and print."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("photos", nargs="+", type=Path)
    words.add_argument("--chart", type=Path, required=True)
    order = words.parse_args()
    chart = load_chart(order.chart)
    reading = ReadOrder(charts=((order.chart.stem, chart),), entries={}, known={})
    flags = cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION
    for photo in order.photos:
        data = np.fromfile(photo, np.uint8)
        seconds, ratio = median_ratio(
            lambda photo=photo: read_one(str(photo), reading),  # type: ignore[misc]
            lambda data=data: cv2.imdecode(data, flags),  # type: ignore[misc]
        )
        shape = cv2.imdecode(data, flags).shape
        size = shape[0] * shape[1] / 1e6
        print(
            f"{photo.name}: {size:.1f} MP, {1000 * seconds:.0f} ms, {ratio:.2f} x one full decode"
        )
    many = [str(order.photos[i % len(order.photos)]) for i in range(24)]

    def batch(workers: int) -> None:
        with readers(workers, len(many)) as pool:
            for _ in read_batch(many, reading, pool, workers):
                pass

    _, ratio = median_ratio(lambda: batch(1), lambda: batch(2))
    print(f"batch of {len(many)}: two workers are {ratio:.2f} x as fast as one")
    bare = [sys.executable, "-c", "pass"]
    version = [sys.executable, "-m", "app", "--version"]
    quiet = {"stdout": subprocess.DEVNULL}
    _, ratio = median_ratio(
        lambda: subprocess.run(version, check=True, **quiet),  # type: ignore[call-overload]
        lambda: subprocess.run(bare, check=True),
    )
    print(f"tintwell --version: {ratio:.2f} x the bare interpreter")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of this process: {peak:.0f} MB on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
