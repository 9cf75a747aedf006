"""What the report of a survey shows, gathered and ready to be written."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.exports.drawings import Drawing
from app.survey.class_view import ClassView
from app.survey.kept_reading import KeptReading
from app.survey.overview import Overview
from app.survey.quality import Quality
from app.survey.sample_advice import SurveyAdvice
from app.survey.survey import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFacts:
    """A photo as the report shows it."""

    sha256: str
    name: str
    taken_at: datetime | None
    camera: str | None
    picture: bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything that a report shows.

    Parameters
    ----------
    survey : Survey
        Sites, samples, methods, charts and people.
    made_at : datetime
        With its offset from UTC.
    overview : Overview
        Results by sample and test.
    quality : Quality
        Quality control.
    groups : ClassView
        Groups compared.
    readings : tuple of KeptReading
        Those that are shown one by one.
    left_out : int
        Standing readings that are not.
    replaced : tuple of KeptReading
        Rows that correct or withdraw another one.
    photos : tuple of PhotoFacts
        Photos of the readings that are shown.
    tubes : mapping of int to bytes
        JPEG of the tube of a reading, by its number.
    advice : SurveyAdvice or None
        What the readings mean, where that was asked for.
    maps : tuple of Drawing
        The sites with their values, a map a quantity; none where positions do not go out.
    with_names, with_positions : bool
        Whether names of people and positions of sites go out.
    """

    survey: Survey
    made_at: datetime
    overview: Overview
    quality: Quality
    groups: ClassView
    readings: tuple[KeptReading, ...]
    left_out: int
    replaced: tuple[KeptReading, ...]
    photos: tuple[PhotoFacts, ...]
    tubes: Mapping[int, bytes]
    advice: SurveyAdvice | None = None
    maps: tuple[Drawing, ...] = ()
    with_names: bool = True
    with_positions: bool = False
