"""`tintwell new`, `add` and `export`, and the keeping of `read --keep`."""

import argparse
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from app.errors import OrderError
from app.exports.cell_text import printable
from app.records.errors import RecordsReadOnlyError
from app.records.record_book import EVERYTHING, RecordBook, create_survey, open_survey
from app.records.tables_in import read_table
from app.survey.kept_reading import KeptReading
from app.survey.names import tidy_name
from app.survey.table_rows import Matching, Table
from app.tasks.add_table import AddOrder
from app.tasks.add_table import add_table as add_listed
from app.tasks.export_survey import ExportOrder
from app.tasks.export_survey import export_survey as export_readings
from app.tasks.keep_readings import KeptLines, keep_lines
from app.tasks.read_photo import ReadOrder
from app.tasks.step import finish
from app.terminal.say import name_some, progress, remark, say
from app.terminal.words import DONE
from app.tube_reading import TubeReading
from app.wording import say_count


def make_survey(order: argparse.Namespace) -> int:
    """Make an empty survey."""
    folder = Path(order.survey)
    person = parse_person(order.person)
    with create_survey(folder, id=uuid4().hex, now=_now()) as book:
        if order.suspected_contamination:
            book.suspect_contamination(True, person=person, now=_now())
        say(printable(f"Made the survey '{book.survey().name}' in {folder}."))
    return DONE


def add_table(order: argparse.Namespace) -> int:
    """Add what a table lists, and say which column was taken for what."""
    person = parse_person(order.person)
    with open_to_write(Path(order.survey)) as book:
        asked = AddOrder(
            what=order.what,
            table=read_table(Path(order.table)),
            said=parse_columns(order.columns),
            replace=order.replace,
        )
        _say_columns(asked.table, asked.matching)
        added = add_listed(book, asked, person=person, now=_now())
    thing = "known value" if order.what == "known" else order.what.removesuffix("s")
    said = [f"{say_count(added.new, thing)} added"]
    said += [f"{added.same} there already"] if added.same else []
    said += [f"{added.changed} replaced"] if added.changed else []
    say(f"{', '.join(said)}.")
    return DONE


def parse_columns(words: Sequence[str]) -> dict[str, str]:
    """Read which heading stands for which field.

    Examples
    --------
    >>> parse_columns(["name=Field no.", "notes=a=b"])
    {'name': 'Field no.', 'notes': 'a=b'}
    """
    said = {}
    for word in words:
        field, sign, heading = word.partition("=")
        if not sign or not field.strip():
            raise OrderError(
                f"'{word}' does not say which column is what.",
                what_to_do="Write the field, an equals sign and the heading: name='Field no.'",
            )
        said[field.strip()] = heading
    return said


def export_survey(order: argparse.Namespace) -> int:
    """Write the readings of a survey, those that no longer stand marked as such."""
    asked = ExportOrder(
        target=Path(order.output),
        with_positions=order.with_positions,
        thumbnails=order.thumbnails,
        byte_order_mark=order.bom,
        replace=order.replace,
    )
    with open_survey(Path(order.survey), readonly=True) as book:
        written = finish(export_readings(book, asked), progress())
        no_more = book.count(EVERYTHING) - book.count()
    is_map = asked.target.suffix.casefold() == ".geojson"
    thing = "feature" if is_map else "reading"
    say(printable(f"Wrote {say_count(written, thing)} to {asked.target}."))
    if is_map and not asked.with_positions:
        remark("None of them has a position: --with-positions lets them go out.")
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


def _say_columns(table: Table, matching: Matching) -> None:
    taken = [f"{field} from '{table.headings[i]}'" for field, i in matching.columns.items()]
    if taken:
        say(printable(f"Columns: {', '.join(taken)}."))
    if matching.unused:
        unused = ", ".join(f"'{heading}'" for heading in matching.unused)
        say(printable(f"Not used: {unused}."))


def _now() -> datetime:
    return datetime.now().astimezone()
