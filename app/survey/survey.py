"""A survey: everything but its readings, which may be many and are asked for page by page."""

from dataclasses import dataclass
from datetime import datetime

from app.survey.method import Method, Test
from app.survey.person import Person
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site
from calibration.chart import Chart


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What a survey knows of places, samples and ways of testing.

    Parameters
    ----------
    id : str
        Given at creation.
    name : str
        The user's name for it.
    created_at : datetime
        With its offset from UTC.
    software_version : str
        What made it.
    sites, samples, methods, tests, persons : tuple
        In the order of their names.
    known_values : tuple of KnownValue
        The newest for each sample, quantity and source.
    charts : tuple of Chart
        Every state of every chart that was read on.
    suspected_contamination : bool or None
        Whether all its ground is under suspicion, or it looks for the source of something: then no
        amounts are advised.
    """

    id: str
    name: str
    created_at: datetime
    software_version: str
    sites: tuple[Site, ...]
    samples: tuple[Sample, ...]
    methods: tuple[Method, ...]
    tests: tuple[Test, ...]
    persons: tuple[Person, ...]
    known_values: tuple[KnownValue, ...]
    charts: tuple[Chart, ...]
    suspected_contamination: bool | None = None
