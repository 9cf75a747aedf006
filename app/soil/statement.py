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

REPEAT = "Repeat the test, or ask a laboratory, before you spread anything."


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
    """

    topic: Topic
    code: str
    statement: str
    amounts: tuple[Amount, ...] = ()
    shares: tuple[Share, ...] = ()
    citations: tuple[Citation, ...] = ()
    what_to_do: str | None = None
    cautions: tuple[Caution, ...] = ()


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
    return " or ".join(f"{share.label} ({100 * share.probability:.0f} %)" for share in shares)
