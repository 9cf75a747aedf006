"""What is said of one sample of a survey, with all that it rests on."""

from dataclasses import dataclass

from app.soil.advice import Interpretation
from app.soil.cautions import Caution
from app.soil.soil_reading import Plot, SoilReading
from app.survey.sample import Sample
from app.survey.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class TestedQuantity:
    """What the readings of one test of a sample say together.

    Parameters
    ----------
    reading : SoilReading
        Their value and interval, and what is known of the test.
    numbers : tuple of int
        Numbers of the kept readings whose mean it is.
    outlier : int or None
        The one of them that lies too far from the others; it is in the mean.
    beyond : int
        Readings beyond the chart's span; they are in no mean.
    refused : int
        Readings that were refused, or that say no number.
    blank : float or None
        The blank's value, where it was taken off.
    """

    __test__ = False  # no test of the test runner's

    reading: SoilReading
    numbers: tuple[int, ...]
    outlier: int | None
    beyond: int
    refused: int
    blank: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleAdvice:
    """What is said of one sample.

    Parameters
    ----------
    sample : Sample
        The sample.
    site : Site or None
        Where it was taken, as far as the survey knows.
    plot : Plot
        What was taken from both.
    tested : tuple of TestedQuantity
        pH first, then in the order of the quantities' names.
    notes : tuple of str
        What the survey says and could not be used.
    interpretation : Interpretation
        What it means.
    """

    sample: Sample
    site: Site | None
    plot: Plot
    tested: tuple[TestedQuantity, ...]
    notes: tuple[str, ...]
    interpretation: Interpretation

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Everything that must be said with it, each once."""
        said = [caution for advice in self.interpretation.advice for caution in advice.cautions]
        return tuple(dict.fromkeys((*self.interpretation.cautions, *said)))
