"""What is said of the samples of a survey, with all that it rests on."""

from dataclasses import dataclass

from app.soil.advice import Interpretation
from app.soil.cautions import Caution
from app.soil.crops import Crop
from app.soil.shopping import ShoppingList
from app.soil.soil_reading import Plot, SoilReading
from app.soil.table_reader import Citation
from app.survey.sample import Sample
from app.survey.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class TestedQuantity:
    """What the readings of one test of a sample say together, or a laboratory's value.

    Parameters
    ----------
    reading : SoilReading
        Their value and interval, and what is known of the test.
    numbers : tuple of int
        Numbers of the kept readings whose mean it is; none for a laboratory's value.
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
    numbers: tuple[int, ...] = ()
    outlier: int | None = None
    beyond: int = 0
    refused: int = 0
    blank: float | None = None


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
        What was taken from both, and from the user.
    crop : Crop
        What is to grow there.
    tested : tuple of TestedQuantity
        pH first, then in the order of the quantities' names, then the laboratory's.
    notes : tuple of str
        What the survey says and could not be used.
    interpretation : Interpretation
        What it means.
    """

    sample: Sample
    site: Site | None
    plot: Plot
    crop: Crop
    tested: tuple[TestedQuantity, ...]
    notes: tuple[str, ...]
    interpretation: Interpretation

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Everything that must be said with it, each once."""
        said = [caution for advice in self.interpretation.advice for caution in advice.cautions]
        return tuple(dict.fromkeys((*self.interpretation.cautions, *said)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyAdvice:
    """Everything that is said of a survey: what terminal, window, report and programs show.

    Parameters
    ----------
    survey_id, survey_name : str
        Of the survey.
    region : str
        Whose tables were used.
    samples : tuple of SampleAdvice
        In the order of their labels.
    left_out : tuple of (str, str)
        Labels of soil samples that nothing is said of, and why.
    shopping : ShoppingList or None
        What is bought for all of them; None where nothing is.
    """

    survey_id: str
    survey_name: str
    region: str
    samples: tuple[SampleAdvice, ...]
    left_out: tuple[tuple[str, str], ...] = ()
    shopping: ShoppingList | None = None

    @property
    def crops(self) -> tuple[Crop, ...]:
        """What is to grow, each once."""
        return tuple(dict.fromkeys(item.crop for item in self.samples))

    def sources(self, *, steps: bool = True) -> tuple[Citation, ...]:
        """All sources in the order in which they are named; their places are their numbers.

        Parameters
        ----------
        steps : bool
            Whether those of the calculations count too.
        """
        found: dict[Citation, None] = {}
        for item in self.samples:
            for advice in item.interpretation.advice:
                found |= dict.fromkeys(advice.citations)
                stepped = (step.citation for step in advice.steps if steps)
                found |= dict.fromkeys(c for c in stepped if c is not None)
        return tuple(found)

    @property
    def cautions(self) -> tuple[tuple[Caution, tuple[str, ...]], ...]:
        """Each caution once, with the samples that it is for; none of them where for all."""
        samples: dict[Caution, list[str]] = {}
        for item in self.samples:
            for caution in item.cautions:
                samples.setdefault(caution, []).append(item.sample.label)
        every = len(self.samples)
        return tuple(
            (caution, () if len(labels) == every else tuple(labels))
            for caution, labels in samples.items()
        )
