"""A survey of 100,000 readings: how long a step takes on the screen's thread.

    python -m tests.benchmarks.survey_100k [FOLDER]

Makes the survey where none is there, then times opening, paging, sorting, filtering and handing on.
On a busy machine the processor's own time says more than the clock.
"""

import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from statistics import median

from app.exports.geojson import write_geojson
from app.exports.spreadsheet import write_spreadsheet
from app.exports.survey_csv import write_csv
from app.records.record_book import RecordBook, create_survey, open_survey
from app.survey.kept_reading import ReadingFilter
from app.survey.sample import Sample
from app.survey.site import Site
from app.tasks.report_survey import ReportOrder, report_survey
from app.tasks.step import finish
from calibration.indicator import Analyte
from tests.app.sample_surveys import CHART, NOW, make_line, write_photo

READINGS = 100_000
SAMPLES = 5_000
SITES = 500
REPEATS = 5
CHARTS = (
    CHART,
    replace(CHART, id="f" * 32, name="N", analyte=Analyte(quantity="nitrogen", unit="mg/kg")),
)
EXPORTS = {"csv": write_csv, "geojson": write_geojson, "xlsx": write_spreadsheet}


def make(folder: Path) -> None:
    """Make the survey, a photo of four tubes at a time."""
    chance = random.Random(1)
    with create_survey(folder, id="100k", now=NOW) as book:
        book.add_sites(
            [
                Site(name=f"Site {i:03}", latitude_deg=50 + i / 1e4, longitude_deg=8 + i / 1e4)
                for i in range(SITES)
            ],
            person="P1",
            now=NOW,
        )
        book.add_samples(
            [Sample(label=f"S{i:04}", site=f"Site {i % SITES:03}") for i in range(SAMPLES)],
            person="P1",
            now=NOW,
        )
        with tempfile.TemporaryDirectory() as place:
            start = time.perf_counter()
            for photo in range(READINGS // 1000):
                source = write_photo(Path(place), f"IMG_{photo:05}.jpg", b"photo %d" % photo)
                lines = [
                    make_line(
                        source,
                        value=None if chance.random() < 0.03 else chance.uniform(4, 8),
                        tube=tube,
                        sample=f"S{chance.randrange(SAMPLES):04}",
                        replicate=str(tube % 3),
                        status="doubtful" if chance.random() < 0.1 else "accepted",
                        chart=chance.choice(CHARTS),
                    )
                    for tube in range(1, 1001)
                ]
                now = NOW + timedelta(minutes=photo)
                book.keep_readings(lines, f"P{photo % 7}", now)
            print(f"kept {READINGS} readings in {time.perf_counter() - start:.1f} s")
        for number in range(10, READINGS, READINGS // 50):
            book.withdraw(number, reason="wrong tube", person="P1", now=NOW)


def timed(name: str, work: Callable[[], object]) -> None:
    """Print the median of a few runs, by the clock and of the processor's own time."""
    clock, own = [], []
    for _ in range(REPEATS):
        start, start_own = time.perf_counter(), time.process_time()
        work()
        clock.append(1000 * (time.perf_counter() - start))
        own.append(1000 * (time.process_time() - start_own))
    print(f"{name:48} {median(clock):8.1f} ms   (most {max(clock):.1f}; own {median(own):.1f})")


def steps(book: RecordBook) -> None:
    """Time what a table on the screen asks for."""
    half = READINGS // 2
    timed("count", book.count)
    timed("first page of 200", book.readings)
    timed("page in the middle, as kept", lambda: book.readings(offset=half))
    for key in ("sample", "photo", "quantity", "value", "status", "confidence", "taken", "person"):
        timed(f"page in the middle, by {key}", lambda k=key: book.readings(sort=k, offset=half))  # type: ignore[misc]
    filters = {
        "one sample": ReadingFilter(sample="S0042"),
        "one site": ReadingFilter(site="Site 042"),
        "one quantity": ReadingFilter(quantity="ph"),
        "doubtful": ReadingFilter(status="doubtful"),
        "one person": ReadingFilter(person="P3"),
        "one chart": ReadingFilter(chart_id=CHART.id),
        "accepted": ReadingFilter(status="accepted"),
        "text in all": ReadingFilter(text="img"),
        "text in the middle": ReadingFilter(text="_0004"),
        "text that is nowhere": ReadingFilter(text="zebra"),
        "a time span": ReadingFilter(
            kept_from=NOW + timedelta(minutes=40), kept_before=NOW + timedelta(minutes=60)
        ),
        "quantity and status": ReadingFilter(quantity="ph", status="accepted"),
        "withdrawn ones too": ReadingFilter(only_standing=False),
    }
    for name, wanted in filters.items():
        timed(f"count, {name}", lambda w=wanted: book.count(w))  # type: ignore[misc]
        number = book.count(wanted)
        for key in ("kept", "value", "sample", "taken"):
            timed(
                f"middle page of {number}, {name}, by {key}",
                lambda w=wanted, k=key, n=number: book.readings(w, sort=k, offset=n // 2),  # type: ignore[misc]
            )


def once(name: str, work: Callable[[], object]) -> None:
    """Print how long one run takes, by the clock and of the processor's own time."""
    start, start_own = time.perf_counter(), time.process_time()
    work()
    clock, own = time.perf_counter() - start, time.process_time() - start_own
    print(f"{name}: {clock:.1f} s (own {own:.1f} s)", flush=True)


def main(folder: Path) -> None:
    """Make the survey where it is not there, and time it."""
    if not folder.exists():
        make(folder)
    timed("open and close to write", lambda: open_survey(folder).close())
    timed("open and close to read", lambda: open_survey(folder, readonly=True).close())
    with open_survey(folder, readonly=True) as book:
        steps(book)
        once("all readings one by one", lambda: sum(1 for _ in book.each_reading()))
        survey = book.survey()
        with tempfile.TemporaryDirectory() as place:
            for ending, write in EXPORTS.items():
                target = Path(place) / f"survey.{ending}"
                once(ending, lambda w=write, t=target: w(survey, book.each_reading(), t))  # type: ignore[misc]
                print(f"{target.stat().st_size / 1e6:.0f} MB")
        once("what a report shows", lambda: finish(report_survey(book, ReportOrder(), NOW)))
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    on_disk = (folder / "survey.sqlite").stat().st_size / 1e6
    print(f"peak memory {megabytes:.0f} MB; {on_disk:.0f} MB on disk")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as place:
            main(Path(place) / "survey")
