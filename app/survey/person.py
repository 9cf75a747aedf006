"""Who worked on a survey, and what was done to it."""

from dataclasses import dataclass
from datetime import datetime

from app.survey.names import check_name, check_texts


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A person, known everywhere else by the code alone; the name may be blanked.

    Parameters
    ----------
    code : str
        Short and without meaning outside the survey, such as "P1".
    name : str or None
        None where it was never given or has been blanked.
    """

    code: str
    name: str | None = None

    def __post_init__(self) -> None:
        check_name("code", self.code)
        check_texts(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that was done to a survey and is not a reading.

    Parameters
    ----------
    at : datetime
        With its offset from UTC.
    person : str
        Code of the person.
    what : str
        "site changed", "name blanked", "upgraded", ...
    subject : str
        What it was done to.
    before, after : str or None
        The state before and after, as JSON; None where there was none.
    """

    at: datetime
    person: str
    what: str
    subject: str
    before: str | None = None
    after: str | None = None
