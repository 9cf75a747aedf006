"""How time and memory grow with the size of a photo, its tubes and the number of photos.

    python -m tests.benchmarks.growth [--photos 2000] [--only size|tubes|photos|start]

One table. Every row is measured in a process of its own, so that its peak of memory is its own, and
in turn with what it is compared with, so that other work on the machine falls on both: medians of
nine (of five for starting); a batch once, with its loading. Photos are the sample photos, enlarged,
put side by side or named again and again.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory

import sample_images

SAMPLES = Path(sample_images.__file__).resolve().parent
SIZES_MP = (0.3, 1, 3, 12, 24, 49.9)
TUBES = (1, 2, 4, 8)
PHOTOS = (1, 10, 100)
STARTS = 5
WINDOW = """
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication(["bare", "-platform", "offscreen"])
window = QMainWindow()
window.show()
app.processEvents()
"""
OURS = """
import sys
sys.argv = ["tintwell", "-platform", "offscreen"]
from app.window.open_window import make_application, page_plans
from app.window.main_window import MainWindow
from app.window.preferences import Preferences
from app.window.theme import wear
app = make_application(sys.argv)
preferences = Preferences()
wear(app, preferences.look)
window = MainWindow(preferences, page_plans())
window.show()
app.processEvents()
"""


def photo_of_size(megapixels: float, folder: Path) -> Path:
    """Write a sample photo as a JPEG of another size."""
    from colorcore._cv import cv2

    picture = cv2.imread(str(SAMPLES / "survey" / "plot-a-morning.jpg"))
    scale = (megapixels * 1e6 / (picture.shape[0] * picture.shape[1])) ** 0.5
    path = folder / "photo.jpg"
    larger = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    cv2.imwrite(str(path), larger, [cv2.IMWRITE_JPEG_QUALITY, 92])
    return path


def photo_of_tubes(tubes: int, folder: Path) -> Path:
    """Write a photo of one tube, put there many times beside the card."""
    import numpy as np

    from colorcore._cv import cv2

    picture = cv2.imread(str(SAMPLES / "ph" / "ph-2.jpg"))
    card, tube, edge = picture[:, :980], picture[:, 980:1146], picture[:, 1460:]
    path = folder / "photo.jpg"
    cv2.imwrite(str(path), np.hstack([card, *[tube] * tubes, edge]))
    return path


def calibrated(folder: Path) -> Path:
    """Calibrate the sample pH chart."""
    chart = folder / "ph.json"
    words = ["calibrate", str(SAMPLES / "ph" / "standards.csv"), "-o", str(chart)]
    words += ["--card-reflectance", "0.18", "--quantity", "ph"]
    subprocess.run([sys.executable, "-m", "app", *words], check=True, stdout=subprocess.DEVNULL)
    return chart


def measure_photo(photo: Path, chart_file: Path) -> dict[str, float]:
    """Time the reading of one photo against one full decode of it."""
    import numpy as np

    from app.tasks.read_photo import ReadOrder, read_one
    from calibration.chart_file import load_chart
    from colorcore._cv import cv2
    from tests.benchmarks.speed import median_ratio

    order = ReadOrder(charts=(("ph", load_chart(chart_file)),), entries={}, known={})
    lines = read_one(str(photo), order)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    data = np.fromfile(photo, np.uint8)
    flags = cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION
    seconds, ratio = median_ratio(
        lambda: read_one(str(photo), order), lambda: cv2.imdecode(data, flags)
    )
    found = sum(line.tube is not None for line in lines)
    return {"seconds": seconds, "ratio": ratio, "peak": peak, "found": found}


def measure_batch(count: int, chart_file: Path) -> dict[str, float]:
    """Time a batch on all cores against as many full decodes, one after the other."""
    import numpy as np

    from app.tasks.batch import read_batch
    from app.tasks.read_photo import ReadOrder
    from calibration.chart_file import load_chart
    from colorcore._cv import cv2

    order = ReadOrder(charts=(("ph", load_chart(chart_file)),), entries={}, known={})
    files = sorted((SAMPLES / "ph").glob("*.jpg"))
    cores = os.cpu_count() or 1
    photos = [str(files[i % len(files)]) for i in range(count)]
    data = [np.fromfile(file, np.uint8) for file in files]
    found, done, decodes = 0, 0.0, 0.0
    with ThreadPoolExecutor(cores) as pool:
        start = time.perf_counter()
        for lines in read_batch(photos, order, pool, cores):
            found += sum(line.tube is not None for line in lines)
        done = time.perf_counter() - start
    some = min(count, 100)
    start = time.perf_counter()
    for number in range(some):
        cv2.imdecode(data[number % len(data)], cv2.IMREAD_COLOR)
    decodes = (time.perf_counter() - start) * count / some
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    return {"seconds": done, "ratio": done / decodes, "peak": peak, "found": found}


def apart(what: str, number: float, chart: Path) -> dict[str, float]:
    """Measure one row in a process of its own."""
    words = [sys.executable, "-m", "tests.benchmarks.growth", "--row", what, str(number)]
    run = subprocess.run([*words, str(chart)], check=True, capture_output=True, text=True)
    measured: dict[str, float] = json.loads(run.stdout.splitlines()[-1])
    return measured


def starting() -> Iterator[tuple[str, float, float, float]]:
    """Time the starts: name, seconds, ratio, peak."""
    from statistics import median

    pairs = (
        ("tintwell --version", ["-m", "app", "--version"], "bare interpreter", ["-c", "pass"]),
        ("first window", ["-c", OURS], "bare PySide6 window", ["-c", WINDOW]),
    )
    for name, ours, other_name, other in pairs:
        times: dict[str, list[float]] = {name: [], other_name: []}
        peaks: dict[str, float] = {}
        for _ in range(STARTS):
            for title, words in ((name, ours), (other_name, other)):
                start = time.perf_counter()
                child = subprocess.Popen(
                    [sys.executable, *words], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
                )
                _, status, usage = os.wait4(child.pid, 0)
                times[title].append(time.perf_counter() - start)
                peaks[title] = usage.ru_maxrss / 1e3
                if status:
                    raise SystemExit(f"{title} could not be started")
        bare = median(times[other_name])
        for title in (name, other_name):
            yield title, median(times[title]), median(times[title]) / bare, peaks[title]


def row(what: str, number: float, chart: Path) -> None:
    """Measure one row, and print it for the process that asked."""
    if what == "photos":
        print(json.dumps(measure_batch(round(number), chart)))
        return
    with TemporaryDirectory() as name:
        make = photo_of_size if what == "size" else lambda n, f: photo_of_tubes(round(n), f)
        print(json.dumps(measure_photo(make(number, Path(name)), chart)))


def main() -> None:
    """Measure and print one table."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--photos", type=int, default=0, help="a further, longer batch")
    words.add_argument("--only", choices=("size", "tubes", "photos", "start"))
    words.add_argument("--row", nargs=3, help=argparse.SUPPRESS)
    order = words.parse_args()
    if order.row:
        what, number, chart = order.row
        row(what, float(number), Path(chart))
        return
    rows: dict[str, tuple[float, ...]] = {"size": SIZES_MP, "tubes": TUBES}
    rows["photos"] = (*PHOTOS, order.photos) if order.photos else PHOTOS
    units = {"size": "megapixels", "tubes": "tubes, 1.1 megapixels", "photos": "photos in a batch"}
    print(f"{'':34}{'time':>10}{'ratio':>8}{'peak MB':>9}{'tubes':>7}")
    with TemporaryDirectory() as name:
        chart = calibrated(Path(name)) if order.only != "start" else Path()
        for what, numbers in rows.items():
            for number in numbers if order.only in (None, what) else ():
                got = apart(what, number, chart)
                _print(f"{number:g} {units[what]}", got["seconds"], got["ratio"], got["peak"])
                print(f"{got['found']:7g}")
    if order.only in (None, "start"):
        for title, seconds, ratio, peak in starting():
            _print(title, seconds, ratio, peak)
            print()
    print(
        "ratio: photos against one full decode each; starts against the bare one below them.\n"
        f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}"
    )


def _print(title: str, seconds: float, ratio: float, peak: float) -> None:
    print(f"{title:34}{1000 * seconds:7.0f} ms{ratio:8.2f}{peak:9.0f}", end="", flush=True)


if __name__ == "__main__":
    main()
