"""One thing that can be said of a sample, with its numbers, sources and cautions."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from app.errors import OrderError
from app.soil.cautions import Caution
from app.soil.spread import Share
from app.soil.table_reader import Citation
from app.soil.units import Amount

Topic = Literal["reaction", "nutrient", "crop", "lime", "sulphur", "fertiliser"]

ASSUMED_DEPTH = "Where a table prints no depth, 15 cm (6 in) is taken."
REPEAT = "Repeat the test, or ask a laboratory, before you spread anything."


@dataclass(frozen=True, slots=True, kw_only=True)
class CalculationStep:
    """One line of a calculation, for whoever checks it against the printed source.

    Parameters
    ----------
    text : str
        What was looked up or computed, with the numbers as they are printed in the source.
    result : Amount or None
        What came out.
    citation : Citation or None
        Where the numbers stand printed; None for arithmetic.
    """

    text: str
    result: Amount | None = None
    citation: Citation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One thing that can be said.

    Parameters
    ----------
    topic : Topic
        What it is about.
    code : str
        Fixed name, for programs.
    statement : str
        One or two sentences, without amounts.
    amounts : tuple of Amount
        In SI units; `Amount.in_system("us")` gives the counterparts.
    shares : tuple of Share
        Classes and their probabilities, where there are several.
    citations : tuple of Citation
        Where the numbers stand printed, for which region, in which year.
    what_to_do : str or None
        What to fill in, or to do.
    cautions : tuple of Caution
        What must be said with it.
    steps : tuple of CalculationStep
        How the amounts and shares came about.
    subject : str
        The nutrient or quantity that it is about, where the topic does not say it.
    repeat_first : bool
        Whether the reading may also mean that nothing is needed.
    """

    topic: Topic
    code: str
    statement: str
    amounts: tuple[Amount, ...] = ()
    shares: tuple[Share, ...] = ()
    citations: tuple[Citation, ...] = ()
    what_to_do: str | None = None
    cautions: tuple[Caution, ...] = ()
    steps: tuple[CalculationStep, ...] = ()
    subject: str = ""
    repeat_first: bool = False


def no_rate(topic: Topic, error: OrderError) -> Advice:
    """Return an advice that says why there is no amount."""
    return Advice(
        topic=topic, code="no_rate", statement=error.what_happened, what_to_do=error.what_to_do
    )


def listed(shares: Sequence[Share]) -> str:
    """Write classes in words.

    Examples
    --------
    >>> listed([Share(label="neutral", probability=0.98)])
    'neutral'
    >>> listed([Share(label="low", probability=0.64), Share(label="medium", probability=0.36)])
    'low (64 %) or medium (36 %)'
    """
    if len(shares) == 1:
        return shares[0].label
    return " or ".join(f"{share.label} ({percent(share.probability)})" for share in shares)


def percent(probability: float) -> str:
    """Write a probability; neither certain nor impossible.

    Examples
    --------
    >>> percent(0.643), percent(0.0), percent(0.999)
    ('64 %', 'under 1 %', 'over 99 %')
    """
    if probability < 0.01:
        return "under 1 %"
    return "over 99 %" if probability > 0.99 else f"{100 * probability:.0f} %"
