"""`tintwell read`."""

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from typing import TextIO

from app.errors import OrderError
from app.exports.readings import CSV_COLUMNS, as_csv_row, as_json_line, as_table, csv_row
from app.tasks.batch import read_batch
from app.tasks.overlay import write_overlay
from app.tasks.photo_files import expand
from app.tasks.read_photo import ReadOrder
from app.tasks.step import Step
from app.terminal.say import progress
from app.terminal.words import DONE, SOME_REFUSED, parse_reflectance
from app.tube_reading import KnownTube, TubeEntry, TubeReading
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
def _sink(output: str | None) -> Iterator[TextIO]:
    """Open where the results go: the terminal, or a file that appears only when it is whole."""
    if output is None:
        yield sys.stdout
        return
    target = Path(output)
    part = target.with_name(f".{target.name}.part")
    try:
        sink = part.open("w", encoding="utf-8", newline="")
        try:
            yield sink
        finally:
            # Also after Ctrl-C: whole lines are there, and they need not be read again.
            sink.close()
            part.replace(target)
    except OSError as error:
        raise OrderError(
            f"{output} cannot be written ({error.strerror}).", what_to_do="Choose another file."
        ) from error
    finally:
        part.unlink(missing_ok=True)


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
    jobs = min(order.jobs or os.cpu_count() or 1, len(photos))
    show = progress()
    refused = False
    with (
        _keeper(order, reading) as keep,
        _sink(order.output) as sink,
        ThreadPoolExecutor(jobs) as pool,
    ):
        if order.format == "csv":
            sink.write(csv_row(CSV_COLUMNS))
        whole: list[TubeReading] = []
        batch = read_batch(photos, reading, pool, jobs)
        try:
            for done, (photo, lines) in enumerate(zip(photos, batch, strict=True), start=1):
                refused |= any(line.reading.status == "refused" for line in lines)
                keep(lines)  # before it is printed: what is printed is kept
                if order.overlay is not None:
                    write_overlay(Path(photo), lines, Path(order.overlay))
                if order.format == "table":
                    whole.extend(lines)
                else:
                    write = as_json_line if order.format == "jsonl" else as_csv_row
                    sink.writelines(write(line) for line in lines)
                    sink.flush()
                show(Step(done=done, total=len(photos), note=Path(photo).name))
        finally:
            batch.close()
            if whole:
                sink.write(as_table(whole))
    return SOME_REFUSED if refused else DONE
