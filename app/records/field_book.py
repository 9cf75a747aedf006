"""The part of an open survey that knows places, samples, methods, tests and people."""

from collections.abc import Sequence
from datetime import datetime

from app.records import field_tables as tables
from app.records.connected import Connected
from app.records.field_tables import Added
from app.survey.method import Method, Test
from app.survey.names import check_name, tidy_name
from app.survey.person import Event, Person
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site


class FieldBook(Connected):
    """Places, samples, methods, tests and people."""

    def add_sites(
        self, sites: Sequence[Site], *, person: str, now: datetime, replace: bool = False
    ) -> Added:
        """Add sites; ones that are there with other facts are changed only with `replace`."""
        with self._writing() as db:
            return tables.add(db, tables.SITES, sites, person=person, now=now, replace=replace)

    def suspect_contamination(self, suspected: bool, *, person: str, now: datetime) -> None:
        """Mark the whole survey as ground under suspicion, or take the mark away.

        A survey that looks for the source of something is marked so too.
        """
        with self._writing() as db:
            db.execute("UPDATE survey SET suspected_contamination = ?", [int(suspected)])
            what = "contamination suspected" if suspected else "suspicion of contamination lifted"
            tables.note(db, person, now, what, "survey")

    def add_samples(
        self, samples: Sequence[Sample], *, person: str, now: datetime, replace: bool = False
    ) -> Added:
        """Add samples, of sites that are in the survey."""
        with self._writing() as db:
            for code in {sample.taken_by for sample in samples} - {None}:
                tables.ensure_person(db, str(code))
            return tables.add(db, tables.SAMPLES, samples, person=person, now=now, replace=replace)

    def add_methods(
        self, methods: Sequence[Method], *, person: str, now: datetime, replace: bool = False
    ) -> Added:
        """Add ways of testing."""
        with self._writing() as db:
            return tables.add(db, tables.METHODS, methods, person=person, now=now, replace=replace)

    def add_tests(
        self, tests: Sequence[Test], *, person: str, now: datetime, replace: bool = False
    ) -> Added:
        """Add tests of samples that are in the survey."""
        with self._writing() as db:
            return tables.add(db, tables.TESTS, tests, person=person, now=now, replace=replace)

    def add_known_values(self, values: Sequence[KnownValue]) -> None:
        """Note what samples are known to be; a newer value takes an older one's place."""
        with self._writing() as db:
            tables.check_pointers(db, tables.KNOWN_VALUES, values)
            for value in values:
                tables.ensure_person(db, value.noted_by)
                tables.insert_numbered(db, tables.KNOWN_VALUES, value)

    def remove(self, thing: Site | Sample | Method | Test, *, person: str, now: datetime) -> None:
        """Take away a site, sample, method or test that nothing names."""
        with self._writing() as db:
            tables.remove(db, thing, person=person, now=now)

    def name_person(self, code: str, name: str | None, *, person: str, now: datetime) -> None:
        """Give a person a name, or blank it; readings and events know the code alone.

        A blanked name is overwritten in the file too. Backups and copies made before keep it.
        """
        check_name("code", code)
        with self._writing() as db:
            tables.name_person(db, code, None if name is None else tidy_name(name) or None)
            tables.note(db, person, now, "name blanked" if name is None else "name given", code)
        with self._reading() as db:
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()

    def note(self, person: str, now: datetime, what: str, subject: str) -> None:
        """Write down something that was done to the survey, such as an upgrade or a restoring."""
        with self._writing() as db:
            tables.note(db, person, now, what, subject)

    def events(self) -> tuple[Event, ...]:
        """Return what was done to the survey beside readings, oldest first."""
        with self._reading() as db:
            return tables.read_all(db, tables.EVENTS)

    def persons(self) -> tuple[Person, ...]:
        """Everybody who is known, in the order of their codes."""
        with self._reading() as db:
            return tables.read_all(db, tables.PERSONS)
