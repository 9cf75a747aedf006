"""How samples are tested, and a test of one sample."""

import math
from dataclasses import dataclass
from datetime import datetime

from app.survey.names import check_name, check_texts


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """How an extract is made and when it is read. What is unknown is None.

    Parameters
    ----------
    name : str
        The user's name for it, fixed at creation.
    ratio, extractant, indicator, notes : str or None
        Soil to liquid such as "1:5", and the user's words.
    settling_from_min, settling_to_min : float or None
        How long the extract settles, minutes.
    color_from_min, color_to_min : float or None
        How long after the indicator the tube is read, minutes.
    subtract_blank : bool
        Whether the blank's value is taken off every result.
    """

    name: str
    ratio: str | None = None
    extractant: str | None = None
    indicator: str | None = None
    settling_from_min: float | None = None
    settling_to_min: float | None = None
    color_from_min: float | None = None
    color_to_min: float | None = None
    subtract_blank: bool = False
    notes: str | None = None

    def __post_init__(self) -> None:
        check_name("name", self.name)
        check_texts(self)
        for what in ("settling", "color"):
            low, high = getattr(self, f"{what}_from_min"), getattr(self, f"{what}_to_min")
            for minutes in (low, high):
                if minutes is not None and not 0 <= minutes < math.inf:
                    raise ValueError(f"{what} minutes must be >= 0, got {minutes}")
            if low is not None and high is not None and low > high:
                raise ValueError(f"{what}_from_min {low:g} is more than {what}_to_min {high:g}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Test:
    """One extract of one sample, tested for one quantity.

    Parameters
    ----------
    id : str
        Given by whoever starts it.
    sample : str
        Label of the sample.
    quantity : str
        "ph", "nitrogen", ...
    method : str or None
        Name of the method.
    indicator_batch, notes : str or None
        The user's words.
    shaken_at, indicator_added_at : datetime or None
        Start of the two clocks, with their offset from UTC.
    """

    __test__ = False  # no test of the test runner's

    id: str
    sample: str
    quantity: str
    method: str | None = None
    indicator_batch: str | None = None
    shaken_at: datetime | None = None
    indicator_added_at: datetime | None = None
    notes: str | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_name("sample", self.sample)
        check_name("quantity", self.quantity)
        if self.method is not None:
            check_name("method", self.method)
        check_texts(self)
        for name in ("shaken_at", "indicator_added_at"):
            time = getattr(self, name)
            if time is not None and time.utcoffset() is None:
                raise ValueError(f"{name} must carry its offset from UTC")
