"""What was taken at a site, and what is known of it from elsewhere."""

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, get_args

from app.survey.names import check_name, check_texts

SampleKind = Literal["soil", "water", "check standard", "blank"]
DEEPEST_CM = 100_000.0  # a kilometre: what is deeper was mistyped
KnownFrom = Literal["certificate", "electrode", "laboratory"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """Something that is tested. What is unknown is None.

    Parameters
    ----------
    label : str
        What stands on the bag or bottle, fixed at creation.
    kind : {"soil", "water", "check standard", "blank"}
        A check standard has a known value and is read again and again; a blank is water taken
        through the whole method.
    site : str or None
        Name of the site.
    taken_on : date or None
        When it was taken.
    depth_top_cm, depth_bottom_cm : float or None
        Below the surface, centimetres; the top is above the bottom.
    texture, notes : str or None
        The user's words.
    taken_by : str or None
        Code of the person.
    """

    label: str
    kind: SampleKind = "soil"
    site: str | None = None
    taken_on: date | None = None
    depth_top_cm: float | None = None
    depth_bottom_cm: float | None = None
    texture: str | None = None
    taken_by: str | None = None
    notes: str | None = None

    def __post_init__(self) -> None:
        check_name("label", self.label)
        check_texts(self)
        if self.kind not in get_args(SampleKind):
            raise ValueError(f"kind must be one of {', '.join(get_args(SampleKind))}")
        if self.site is not None:
            check_name("site", self.site)
        if self.taken_by is not None:
            check_name("taken_by", self.taken_by)
        for name in ("depth_top_cm", "depth_bottom_cm"):
            depth = getattr(self, name)
            if depth is not None and not 0 <= depth <= DEEPEST_CM:
                raise ValueError(f"{name} must be 0 to {DEEPEST_CM:g}, got {depth:g}")
        top, bottom = self.depth_top_cm, self.depth_bottom_cm
        if top is not None and bottom is not None and not top < bottom:
            raise ValueError(f"depth_top_cm {top:g} must be less than depth_bottom_cm {bottom:g}")


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownValue:
    """What a sample is known to be, from elsewhere.

    Parameters
    ----------
    sample : str
        Label of the sample.
    quantity : str
        "ph", "nitrogen", ...
    unit : str or None
        Unit of the value.
    value : float
        What it is.
    standard_uncertainty : float or None
        Of the value, same unit, > 0.
    source : {"certificate", "electrode", "laboratory"}
        Who says so.
    noted_at : datetime
        With its offset from UTC.
    noted_by : str
        Code of the person.
    """

    sample: str
    quantity: str
    unit: str | None
    value: float
    standard_uncertainty: float | None
    source: KnownFrom
    noted_at: datetime
    noted_by: str

    def __post_init__(self) -> None:
        check_name("sample", self.sample)
        check_name("quantity", self.quantity)
        check_name("noted_by", self.noted_by)
        check_texts(self)
        if not math.isfinite(self.value):
            raise ValueError(f"value must be finite, got {self.value}")
        if self.standard_uncertainty is not None and not 0 < self.standard_uncertainty < math.inf:
            raise ValueError(f"standard_uncertainty must be > 0, got {self.standard_uncertainty}")
        if self.source not in get_args(KnownFrom):
            raise ValueError(f"source must be one of {', '.join(get_args(KnownFrom))}")
        if self.noted_at.utcoffset() is None:
            raise ValueError("noted_at must carry its offset from UTC")
