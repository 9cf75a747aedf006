"""Add what a table of the user's lists to a survey."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.records.field_tables import Added
from app.records.record_book import RecordBook
from app.survey.import_tables import (
    FIELDS,
    Listed,
    read_known_values,
    read_methods,
    read_samples,
    read_sites,
    read_tests,
)
from app.survey.table_rows import Matching, Table, match_columns


@dataclass(frozen=True, slots=True, kw_only=True)
class AddOrder:
    """What is to be added.

    Parameters
    ----------
    what : Listed
        What the table lists.
    table : Table
        As it was read.
    said : mapping
        Heading by field, where the user matched columns; the rest is guessed by heading.
    replace : bool
        Whether the table may replace what is there by those names.
    """

    what: Listed
    table: Table
    said: Mapping[str, str]
    replace: bool = False

    @property
    def matching(self) -> Matching:
        """Which column is taken for what."""
        return match_columns(self.table, FIELDS[self.what], self.said)


def add_table(book: RecordBook, order: AddOrder, *, person: str, now: datetime) -> Added:
    """Add everything that a table lists, or nothing.

    Raises
    ------
    SheetError
        If rows cannot be right; each is named with its number.
    RecordsError
        If a name is there already with other facts, or something is named that is not there.
    """
    table, said = order.table, order.said
    if order.what == "sites":
        sites = read_sites(table, said)
        return book.add_sites(sites, person=person, now=now, replace=order.replace)
    if order.what == "samples":
        names = {site.name for site in book.survey().sites}
        samples = read_samples(table, said, sites=names)
        return book.add_samples(samples, person=person, now=now, replace=order.replace)
    if order.what == "methods":
        methods = read_methods(table, said)
        return book.add_methods(methods, person=person, now=now, replace=order.replace)
    if order.what == "tests":
        tests = read_tests(table, said)
        return book.add_tests(tests, person=person, now=now, replace=order.replace)
    values = read_known_values(table, said, noted_at=now, noted_by=person)
    there = {
        (k.sample, k.quantity, k.unit, k.source, k.value, k.standard_uncertainty)
        for k in book.survey().known_values
    }
    new = [
        k
        for k in values
        if (k.sample, k.quantity, k.unit, k.source, k.value, k.standard_uncertainty) not in there
    ]
    book.add_known_values(new)
    return Added(new=len(new), same=len(values) - len(new), changed=0)
