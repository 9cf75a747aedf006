"""What is known of a sample and of the ground it was taken from."""

import math
import unicodedata
from dataclasses import dataclass
from typing import Literal, get_args

from app.errors import OrderError
from app.soil.spread import Spread
from app.soil.table_reader import load_table
from calibration.indicator import QUANTITY_OF_FORM, Basis, Form, normal_ratio

Medium = Literal["water", "cacl2", "kcl"]
Source = Literal["colour", "laboratory"]
RatioBy = Literal["mass", "volume"]

LABORATORY_ONLY = ("buffer_ph", "exchangeable_acidity")
"""No color test measures these: they are typed from a laboratory's report."""


_MEDIA: tuple[tuple[str, Medium], ...] = (
    *(("cacl2", "cacl2"), ("calciumchloride", "cacl2")),
    *(("kcl", "kcl"), ("potassiumchloride", "kcl")),
    *(("water", "water"), ("h2o", "water")),
)


def medium_of(extractant: str | None) -> Medium | None:
    """Return the liquid of a pH by the words for it; None for words that name none.

    Examples
    --------
    >>> medium_of("0.01 M CaCl₂ in water"), medium_of("Distilled water"), medium_of("Olsen")
    ('cacl2', 'water', None)
    """
    folded = unicodedata.normalize("NFKC", extractant or "").casefold()
    letters = "".join(letter for letter in folded if letter.isalnum())
    return next((medium for word, medium in _MEDIA if word in letters), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilReading:
    """One quantity of one sample. What is unknown is None.

    Parameters
    ----------
    quantity : str
        "ph", "nitrogen", "phosphorus", "potassium", "magnesium", ..., "buffer_ph" or
        "exchangeable_acidity".
    unit : str or None
        "pH", "mg/L", "mg/kg", "ppm", "meq/100 g", "cmol/kg".
    value, low, high : float or None
        The value and its 90 % interval. A value of None with a low (or high) is beyond the span of
        the chart. A laboratory's value may come without interval.
    form : Form or None
        What the amount is expressed as.
    basis : {"extract", "soil"} or None
        Whether the amount is in the liquid or in the soil.
    ratio : str or None
        Soil to liquid, e.g. "1:5".
    ratio_by : {"mass", "volume"} or None
        How soil and liquid were measured out.
    extractant : str or None
        "water", "Mehlich-3", "Bray-1", "Olsen", ...
    medium : {"water", "cacl2", "kcl"} or None
        What a pH was measured in.
    source : {"colour", "laboratory"}
        A color test, or a laboratory's report typed in.
    method : str or None
        Of a buffer pH or an exchangeable acidity: the key of one of `lime.lime_methods()`.
    doubtful : bool
        Whether the reading was accepted only with doubts.
    """

    quantity: str
    unit: str | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None
    form: Form | None = None
    basis: Basis | None = None
    ratio: str | None = None
    ratio_by: RatioBy | None = None
    extractant: str | None = None
    medium: Medium | None = None
    source: Source = "colour"
    method: str | None = None
    doubtful: bool = False

    def __post_init__(self) -> None:
        _one_of("form", self.form, get_args(Form))
        _one_of("basis", self.basis, get_args(Basis))
        _one_of("ratio_by", self.ratio_by, get_args(RatioBy))
        _one_of("medium", self.medium, get_args(Medium))
        if self.source not in get_args(Source):
            raise ValueError(f"source must be colour or laboratory, got {self.source!r}")
        if self.form is not None and QUANTITY_OF_FORM[self.form] != self.quantity:
            raise ValueError(f"form {self.form} does not belong to {self.quantity}")
        normal_ratio(self.ratio)
        numbers = [n for n in (self.low, self.value, self.high) if n is not None]
        if not all(map(math.isfinite, numbers)) or numbers != sorted(numbers):
            raise ValueError(f"needs finite low <= value <= high, got {numbers}")
        if self.quantity in LABORATORY_ONLY and self.source != "laboratory":
            raise OrderError(
                f"A color test cannot measure {self.quantity.replace('_', ' ')}.",
                what_to_do="Type it from a laboratory's report, with the name of its method.",
            )

    def spread(self) -> Spread | None:
        """Return the value with its interval; None where there is no value."""
        if self.value is None:
            return None
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        return Spread(value=self.value, low=low, high=high)


def _one_of(name: str, word: str | None, known: tuple[str, ...]) -> None:
    if word is not None and word not in known:
        raise ValueError(f"{name} must be one of {', '.join(known)}, got {word!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """The ground that is advised on. What is unknown is None.

    Parameters
    ----------
    name : str
        The user's name for it.
    area_m2 : float or None
        Square metres, > 0.
    depth_cm : float or None
        Depth that is sampled and worked, centimetres, > 0.
    bulk_density_g_cm3 : float or None
        Mass of dry soil per volume in place, > 0.
    texture : str or None
        One of `textures()`.
    moisture : float or None
        Share of water in the moist sample's mass, 0 <= moisture < 1; None or 0 for dry soil.
    recent_lime_kg_per_ha, months_since_lime : float or None
        Lime spread within the last year, and how long ago.
    fizzes : bool or None
        Whether vinegar makes the soil fizz, which means free lime.
    phosphorus_allowed : bool or None
        Whether the rules of the place allow phosphorus here; None where nobody asked.
    suspected_contamination : bool
        Whether the site or its survey is under suspicion: then no amounts are given.
    """

    name: str = ""
    area_m2: float | None = None
    depth_cm: float | None = None
    bulk_density_g_cm3: float | None = None
    texture: str | None = None
    moisture: float | None = None
    recent_lime_kg_per_ha: float | None = None
    months_since_lime: float | None = None
    fizzes: bool | None = None
    phosphorus_allowed: bool | None = None
    suspected_contamination: bool = False

    def __post_init__(self) -> None:
        for name in ("area_m2", "depth_cm", "bulk_density_g_cm3"):
            number = getattr(self, name)
            if number is not None and not 0 < number < math.inf:
                raise ValueError(f"{name} must be > 0, got {number}")
        for name in ("recent_lime_kg_per_ha", "months_since_lime"):
            number = getattr(self, name)
            if number is not None and not 0 <= number < math.inf:
                raise ValueError(f"{name} must be >= 0, got {number}")
        if self.moisture is not None and not 0 <= self.moisture < 1:
            raise ValueError(f"moisture must be 0 to below 1, got {self.moisture}")
        if self.texture is not None and self.texture not in textures():
            raise OrderError(
                f"'{self.texture[:40]}' is not a texture that is known here.",
                what_to_do=f"Use one of {', '.join(textures())}, or leave it out.",
            )


def textures() -> tuple[str, ...]:
    """Names of the soil textures that the tables know.

    Examples
    --------
    >>> textures()[:3]
    ('sand', 'loamy sand', 'sandy loam')
    """
    return tuple(row.text("name") for row in load_table("textures"))


def texture_group(texture: str | None, scheme: str) -> str | None:
    """Return a texture's group in a table of amendments, None where it is in none.

    Parameters
    ----------
    scheme : {"lime_group", "sulphur_group", "uk_group"}
        Which tables.
    """
    if texture is None:
        return None
    (row,) = (row for row in load_table("textures") if row.text("name") == texture)
    return row.text(scheme) or None


def bulk_density(plot: Plot) -> tuple[float, float] | None:
    """Return the lowest and highest bulk density, g/cm3: as given, else by texture, else None."""
    if plot.bulk_density_g_cm3 is not None:
        return plot.bulk_density_g_cm3, plot.bulk_density_g_cm3
    for row in load_table("textures"):
        if row.text("name") == plot.texture and row.text("density_low"):
            return row.number("density_low"), row.number("density_high")
    return None
