"""`tintwell new`, `add` and `export`, and the keeping of `read --keep`."""

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from app.errors import OrderError
from app.exports.cell_text import printable
from app.exports.geojson import write_geojson
from app.exports.spreadsheet import write_spreadsheet
from app.exports.survey_csv import write_csv
from app.records.errors import RecordsReadOnlyError
from app.records.record_book import EVERYTHING, RecordBook, create_survey, open_survey
from app.records.tables_in import read_table
from app.survey.import_tables import (
    SAMPLE_FIELDS,
    SITE_FIELDS,
    Table,
    match_columns,
    read_samples,
    read_sites,
)
from app.survey.kept_reading import KeptReading
from app.survey.names import tidy_name
from app.tasks.keep_readings import KeptLines, keep_lines
from app.tasks.read_photo import ReadOrder
from app.terminal.say import name_some, remark, say
from app.terminal.words import DONE
from app.tube_reading import TubeReading
from app.wording import say_count

WRITERS: Mapping[str, Callable[..., int]] = {
    ".xlsx": write_spreadsheet,
    ".csv": write_csv,
    ".geojson": write_geojson,
}


def make_survey(order: argparse.Namespace) -> int:
    """Make an empty survey."""
    folder = Path(order.survey)
    with create_survey(folder, id=uuid4().hex, now=_now()) as book:
        say(printable(f"Made the survey '{book.survey().name}' in {folder}."))
    return DONE


def add_table(order: argparse.Namespace) -> int:
    """Add the sites or samples of a table, and say which column was taken for what."""
    person = parse_person(order.person)
    with open_to_write(Path(order.survey)) as book:
        table = read_table(Path(order.table))
        if order.what == "sites":
            _say_columns(table, SITE_FIELDS)
            sites = read_sites(table)
            added = book.add_sites(sites, person=person, now=_now(), replace=order.replace)
        else:
            _say_columns(table, SAMPLE_FIELDS)
            samples = read_samples(table, sites={site.name for site in book.survey().sites})
            added = book.add_samples(samples, person=person, now=_now(), replace=order.replace)
    thing = order.what.removesuffix("s")
    said = [f"{say_count(added.new, thing)} added"]
    said += [f"{added.same} there already"] if added.same else []
    said += [f"{added.changed} replaced"] if added.changed else []
    say(f"{', '.join(said)}.")
    return DONE


def export_survey(order: argparse.Namespace) -> int:
    """Write the readings of a survey, those that no longer stand marked as such."""
    target = Path(order.output)
    write = WRITERS.get(target.suffix.casefold())
    if write is None:
        raise OrderError(
            f"'{target.name}' does not say which kind of file is wanted.",
            what_to_do=f"Give a name that ends in {', '.join(WRITERS)}.",
        )
    with open_survey(Path(order.survey), readonly=True) as book:
        readings = book.each_reading(EVERYTHING)
        written = write(book.survey(), readings, target, with_positions=order.with_positions)
        no_more = book.count(EVERYTHING) - book.count()
    if write is write_geojson:
        say(printable(f"Wrote {say_count(written, 'feature')} to {target}."))
        if not order.with_positions:
            remark("None of them has a position: --with-positions lets them go out.")
    else:
        say(printable(f"Wrote {say_count(written, 'reading')} to {target}."))
    if no_more:
        remark(f"Among them {say_count(no_more, 'row')} that no longer stand, marked as such.")
    return DONE


def parse_person(text: str) -> str:
    """Code of a person.

    Raises
    ------
    OrderError
        If it is blank.
    """
    code = tidy_name(text)
    if not code:
        raise OrderError("The person's code is blank.", what_to_do="Give one, such as --person P2.")
    return code


def open_to_write(folder: Path) -> RecordBook:
    """Open a survey that is to be written to, before any work is done for it.

    Raises
    ------
    RecordsError
        If it cannot be opened, or only to read.
    """
    book = open_survey(folder)
    if book.read_only_because is not None:
        book.close()
        raise RecordsReadOnlyError(
            f"Nothing can be written to the survey {folder}. {book.read_only_because}",
            what_to_do="Close the other window, or use a copy that may be written to.",
        )
    if book.upgraded_from is not None:
        remark(f"The survey had the older format {book.upgraded_from}; a copy of it was kept.")
    return book


@contextmanager
def keeping(
    folder: Path, person: str, order: ReadOrder
) -> Iterator[Callable[[Sequence[TubeReading]], None]]:
    """Give what keeps the lines of one photo in a survey; at the end it is said what was kept."""
    code = parse_person(person)
    with open_to_write(folder) as book:
        known = {sample.label for sample in book.survey().samples}
        outcomes: list[KeptLines] = []

        def keep(lines: Sequence[TubeReading]) -> None:
            outcomes.append(keep_lines(book, lines, order, person=code, now=_now()))

        try:
            yield keep
        finally:
            new = [s.label for s in book.survey().samples if s.label not in known]
            _say_kept(outcomes, new, folder)


def _say_kept(outcomes: Sequence[KeptLines], new: Sequence[str], folder: Path) -> None:
    numbers = [number for outcome in outcomes for number in outcome.numbers]
    remark(f"Kept {say_count(len(numbers), 'reading')} in {folder}.")
    if new:
        names = name_some([f"'{name}'" for name in new])
        remark(f"New in the survey, with their label alone: {printable(names)}.")
    unnamed = [_place(line) for outcome in outcomes for line in outcome.unnamed]
    if unnamed:
        remark(
            f"Not kept, because no sample is named: {name_some(unnamed)}.\n"
            "  Try: name them in a tubes sheet (--tubes) and read the photos again."
        )
    already = [_standing(*pair) for outcome in outcomes for pair in outcome.already]
    if already:
        remark(f"Not kept again: {name_some(already)}.")


def _place(line: TubeReading) -> str:
    return printable(f"{Path(line.photo).name} tube {line.tube}")


def _standing(line: TubeReading, kept: KeptReading) -> str:
    """Say where a tube stands already, and whether it went by another sample's name there."""
    said = f"{_place(line)} is reading {kept.id}"
    there, here = kept.line.entry.sample, tidy_name(line.entry.sample or "")
    return said if there == here else printable(f"{said} (of sample '{there}', not '{here}')")


def _say_columns(table: Table, fields: Mapping[str, tuple[str, ...]]) -> None:
    matching = match_columns(table, fields)
    taken = [f"{field} from '{table.headings[i]}'" for field, i in matching.columns.items()]
    if taken:
        say(printable(f"Columns: {', '.join(taken)}."))
    if matching.unused:
        unused = ", ".join(f"'{heading}'" for heading in matching.unused)
        say(printable(f"Not used: {unused}."))


def _now() -> datetime:
    return datetime.now().astimezone()
