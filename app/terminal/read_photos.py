"""`tintwell read`."""

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Literal, TextIO

from app.errors import OrderError
from app.exports.cell_text import printable
from app.exports.readings import CSV_COLUMNS, as_csv_row, as_json_line, as_table, csv_row
from app.tasks.batch import read_batch
from app.tasks.overlay import write_overlay
from app.tasks.photo_files import expand
from app.tasks.read_photo import ReadOrder
from app.tasks.readers import readers
from app.tasks.resume_batch import Written, not_done, tidy_output
from app.tasks.step import Step
from app.terminal.cluster import cluster
from app.terminal.say import progress, remark
from app.terminal.words import DONE, SOME_REFUSED, parse_reflectance
from app.tube_reading import KnownTube, TubeEntry, TubeReading
from app.wording import say_count
from calibration.chart_file import load_chart
from calibration.sheets import read_in_frame_sheet, read_tubes_sheet


def order_of(
    charts: Iterable[str],
    tubes: str | None = None,
    in_frame: str | None = None,
    card_reflectance: str | None = None,
) -> ReadOrder:
    """Load charts and sheets into one order.

    Raises
    ------
    TintwellError
        If a file cannot be used.
    """
    known: dict[str, tuple[KnownTube, ...]] = {}
    entries: dict[tuple[str, int], TubeEntry] = {}
    if in_frame is not None:
        for row in read_in_frame_sheet(Path(in_frame)):
            key = str(row.path.resolve())
            if row.role == "blank":
                entries[key, row.tube] = TubeEntry(role="blank")
                continue
            tube = KnownTube(
                tube=row.tube,
                value=row.value,
                label=row.label,
                uncertainty=row.uncertainty,
                analyte=row.analyte,
            )
            known[key] = (*known.get(key, ()), tube)
    if tubes is not None:
        for line in read_tubes_sheet(Path(tubes)):
            entries[str(line.path.resolve()), line.tube] = TubeEntry(
                sample=line.sample, replicate=line.replicate, chart=line.chart, role=line.role
            )
    loaded = tuple((Path(name).stem, load_chart(Path(name))) for name in charts)
    names = {word for name, chart in loaded for word in (name, chart.id, chart.name)}
    for entry in entries.values():
        if entry.chart is not None and entry.chart not in names:
            raise OrderError(
                f"The tubes sheet names a chart '{entry.chart}' that was not given.",
                what_to_do="Give it with --chart, or correct the sheet.",
            )
    return ReadOrder(
        charts=loaded,
        entries=entries,
        known=known,
        reflectance=None if card_reflectance is None else parse_reflectance(card_reflectance),
    )


@contextmanager
def _sink(output: str | None, mode: Literal["x", "w", "a"]) -> Iterator[TextIO]:
    """Open where the results go: the terminal, or a file that grows photo by photo.

    However the batch ends, what the file holds by then is whole, and need not be read again.
    """
    if output is None:
        yield sys.stdout
        return
    try:
        sink = Path(output).open(  # noqa: SIM115 - closed below, by its own errors
            mode, encoding="utf-8", errors="backslashreplace", newline=""
        )
    except FileExistsError as error:
        raise OrderError(
            f"There is a file {output} already; nothing was read.",
            what_to_do="Carry a stopped batch on with --resume, or let the file be replaced with "
            "--replace, or choose another name.",
        ) from error
    except (OSError, ValueError) as error:  # ValueError: a name with a NUL in it
        raise _unwritable(output, error) from error
    try:
        with sink:
            yield sink
    except OSError as error:
        raise _unwritable(output, error) from error


def _unwritable(output: str, error: OSError | ValueError) -> OrderError:
    reason = error.strerror if isinstance(error, OSError) else error
    return OrderError(f"{output} cannot be written ({reason}).", what_to_do="Choose another file.")


def _written(order: argparse.Namespace, reading: ReadOrder) -> Written | None:
    """Return what the batch that is carried on wrote; None where none is."""
    if not order.resume:
        return None
    if order.output is None or order.format == "table" or order.replace:
        raise OrderError(
            "Only a batch that writes csv or jsonl to a file can be carried on.",
            what_to_do="Give the file with -o and its --format, and leave --replace out.",
        )
    charts = {chart.id for _, chart in reading.charts}
    return tidy_output(Path(order.output), order.format, charts)


@contextmanager
def _helpers(order: argparse.Namespace, photos: int) -> Iterator[tuple[Executor, int]]:
    """Give who reads the photos: cores of this computer, or the workers of a cluster."""
    if order.scheduler is not None:
        with cluster(order.scheduler) as helpers:
            yield helpers
        return
    jobs = max(1, min(order.jobs or os.cpu_count() or 1, photos))
    with readers(jobs, photos) as pool:
        yield pool, jobs


def _keeper(
    order: argparse.Namespace, reading: ReadOrder
) -> AbstractContextManager[Callable[[Sequence[TubeReading]], None]]:
    """Return what keeps the lines of one photo, where that is asked for."""
    if order.keep is None:
        return nullcontext(lambda lines: None)
    from app.terminal.survey import keeping

    return keeping(Path(order.keep), order.person, reading)


def read_photos(order: argparse.Namespace) -> int:
    """Read photos one after another on all cores; print each as soon as its turn is there."""
    if order.jobs is not None and order.jobs < 1:
        raise OrderError("--jobs must be 1 or more.", what_to_do="Leave it out to use all cores.")
    photos = expand(order.photos)
    reading = order_of(order.charts, order.tubes, order.in_frame, order.card_reflectance)
    written = _written(order, reading)
    refused = False
    if written is not None:
        refused = written.refused
        left = not_done(photos, written)
        there = say_count(len(photos) - len(left), "photo")
        remark(f"{there} done already, {len(left)} left.")
        photos = left
    show = progress()
    with (
        _helpers(order, len(photos)) as (pool, workers),  # first: no process inherits the survey
        _keeper(order, reading) as keep,
        _sink(order.output, "a" if order.resume else "w" if order.replace else "x") as sink,
    ):
        if order.format == "csv" and not (order.resume and sink.tell()):
            sink.write(csv_row(CSV_COLUMNS))
        whole: list[TubeReading] = []
        # A worker elsewhere knows nothing of the folder in which the order was given.
        named = photos if order.scheduler is None else [str(Path(p).absolute()) for p in photos]
        batch = read_batch(named, reading, pool, workers)
        try:
            for done, (photo, lines) in enumerate(zip(photos, batch, strict=True), start=1):
                lines = tuple(replace(line, photo=photo) for line in lines)  # as it was given
                refused |= any(line.reading.status == "refused" for line in lines)
                keep(lines)  # before it is printed: what is printed is kept
                if order.overlay is not None:
                    write_overlay(Path(photo), lines, Path(order.overlay))
                if order.format == "table":
                    whole.extend(lines)
                else:
                    write = as_json_line if order.format == "jsonl" else as_csv_row
                    sink.write("".join(write(line) for line in lines))  # a photo is whole
                    sink.flush()
                show(Step(done=done, total=len(photos), note=Path(photo).name))
        finally:
            batch.close()
            if whole:
                sink.write(printable(as_table(whole)))
    return SOME_REFUSED if refused else DONE
