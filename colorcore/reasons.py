"""The named reasons for which a reading is doubtful or refused.

The codes are a contract with every program that reads our output: new ones may come, none is
renamed. A doubt is not an error: it travels with the result and lowers its standing.
"""

from dataclasses import dataclass
from typing import Literal

PERHAPS_EMPTY = "perhaps_empty"  # not sure enough to claim a liquid where none was expected
PERHAPS_OTHER_LIGHT = "perhaps_other_light"  # a first sign, which a second one makes a doubt

LOOKS = ("unmixed", "unsettled", "tube_shadow")  # doubts that rest on how a tube looks

Weight = Literal["note", "doubtful", "refused"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why a reading is not simply accepted.

    Parameters
    ----------
    code : str
        The fixed name, for programs.
    text : str
        What was seen, with its number, for people.
    what_to_do : str
        What the user can do about it.
    weight : {"note", "doubtful", "refused"}
        What it does to the reading: nothing, doubt, or refusal.
    """

    code: str
    text: str
    what_to_do: str
    weight: Weight

    def __post_init__(self) -> None:
        if not self.code.isidentifier():
            raise ValueError(f"code must be a plain word, got {self.code!r}")
        if self.weight not in ("note", "doubtful", "refused"):
            raise ValueError(f"weight must be note, doubtful or refused, got {self.weight!r}")


def worst(reasons: tuple[Reason, ...]) -> Weight | None:
    """Return the heaviest weight among the reasons, None where there is none.

    Examples
    --------
    >>> worst(())
    >>> worst((Reason(code="folding", text="", what_to_do="", weight="doubtful"),))
    'doubtful'
    """
    weights = {reason.weight for reason in reasons}
    ranked: tuple[Weight, ...] = ("refused", "doubtful", "note")
    return next((weight for weight in ranked if weight in weights), None)
