"""A chart: tubes of known value, the colors they gave, and what is known about how it was made."""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from statistics import fmean
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from calibration.errors import ChartError
from calibration.indicator import Analyte
from colorcore.color_spaces import Lab
from colorcore.measurement import Covariance, Measurement, Triple

Role = Literal["standard", "blank"]
ChartKind = Literal["liquid", "printed"]

FARTHEST = 1e6
"""Far beyond any color of CIELAB; what is larger is damage, and its square would be infinite."""

LARGEST = 1e12
"""No unit makes a value of a chart larger; squares of what is much larger would be infinite."""

SAME_PH = 0.02
"""Buffer values this close are one swatch: the same buffer on two days of different warmth."""

SCATTER_PRIOR = 4
"""Degrees of freedom lent by all swatches to the scatter of one (common practice: one more than
the three dimensions, so that one or two replicates never make a covariance by themselves)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardMeasurement:
    """One tube of known value, as it was photographed.

    Parameters
    ----------
    value : float or None
        In the chart's unit; None for a blank or where only a label is known.
    uncertainty : float or None
        Standard uncertainty of the value, same unit, > 0; None where it is not known.
    label : str or None
        The user's name for it.
    role : {"standard", "blank"}
        A blank is the extract without indicator; it is no swatch.
    photo : str
        Name of the photo's file, without folder.
    tube : int
        Place in the photo, counted from the left, from 1.
    measurement : Measurement
        What it looked like; carries the photo's fingerprint.
    """

    value: float | None
    uncertainty: float | None
    label: str | None
    role: Role
    photo: str
    tube: int
    measurement: Measurement

    def __post_init__(self) -> None:
        if self.role not in get_args(Role):
            raise ValueError(f"role must be standard or blank, got {self.role!r}")
        if self.role == "standard" and self.value is None and self.label is None:
            raise ValueError("a standard needs a value or a label")
        if self.value is not None and not abs(self.value) <= LARGEST:
            raise ValueError(f"value must lie within {LARGEST:g} of 0, got {self.value}")
        _check_uncertainty(self.uncertainty)
        if self.tube < 1:
            raise ValueError(f"tube must be at least 1, got {self.tube}")
        if not self.photo or self.photo in (".", "..") or re.search(r"[/\\\x00]", self.photo):
            raise ValueError(f"photo must be a file's name without folder, got {self.photo!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Swatch:
    """One color of a chart: what a solution of known value looked like.

    Parameters
    ----------
    value : float or None
        In the chart's unit; None on a chart of labels.
    label : str or None
        The user's name for it.
    lab : Lab
        Mean color under the chart's white.
    covariance : 3x3 tuple
        Covariance of that mean, CIELAB units squared.
    n : int
        Tubes it is the mean of.
    standard_uncertainty : float or None
        Of the value, same unit, > 0; None where it is not known.
    """

    value: float | None
    label: str | None
    lab: Lab
    covariance: Covariance
    n: int
    standard_uncertainty: float | None

    def __post_init__(self) -> None:
        if self.value is None and self.label is None:
            raise ValueError("a swatch needs a value or a label")
        if self.value is not None and not abs(self.value) <= LARGEST:
            raise ValueError(f"value must lie within {LARGEST:g} of 0, got {self.value}")
        if len(self.lab) != 3 or not all(abs(x) <= FARTHEST for x in self.lab):
            raise ValueError(f"lab must be three numbers of a color, got {self.lab}")
        _check_covariance(self.covariance)
        if self.n < 1:
            raise ValueError(f"n must be at least 1, got {self.n}")
        _check_uncertainty(self.standard_uncertainty)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """What an indicator's colors mean. Unknown facts are None and stay so.

    Parameters
    ----------
    id : str
        32 hexadecimal digits, fixed at creation, survives upgrades.
    name : str
        The user's name for it.
    analyte : Analyte
        Quantity, form, basis, soil:liquid ratio and unit of the values.
    extractant, indicator, batch, method : str or None
        How the tubes are made.
    kind : {"liquid", "printed"}
        Tubes, or patches on paper.
    swatches : tuple of Swatch
        Two or more, in strictly rising order of value; or all without value, each with its own
        label, in the user's order.
    measurements : tuple of StandardMeasurement
        The raw material, blanks included.
    white : str
        The named white of every Lab in the chart.
    card_reflectance : tuple
        Of the grey card, linear red, green and blue, each between 0 and 1.
    cameras : tuple of str
        As the photos' files say.
    light_notes : str or None
        The user's words about the light.
    created_at : datetime
        With its offset from UTC.
    check_again_on : date or None
        When it should be checked.
    software_version : str
        What made it.
    extra : tuple of (str, str)
        Entries of the chart's file that this version does not know, each with its JSON text.
    supersedes : str or None
        Id of the older chart whose place it takes.

    Raises
    ------
    ChartError
        If there are fewer than two swatches, or values and labels do not make an order.
    """

    id: str
    name: str
    analyte: Analyte
    extractant: str | None
    indicator: str | None
    batch: str | None
    method: str | None
    kind: ChartKind
    swatches: tuple[Swatch, ...]
    measurements: tuple[StandardMeasurement, ...]
    white: str
    card_reflectance: Triple
    cameras: tuple[str, ...]
    light_notes: str | None
    created_at: datetime
    check_again_on: date | None
    software_version: str
    extra: tuple[tuple[str, str], ...] = ()
    supersedes: str | None = None

    def __post_init__(self) -> None:
        for ident in (self.id, self.supersedes):
            if ident is not None and re.fullmatch(r"[0-9a-f]{32}", ident) is None:
                raise ValueError(f"id must be 32 hexadecimal digits, got {ident!r}")
        if self.supersedes == self.id:
            raise ValueError("a chart does not supersede itself")
        if self.kind not in get_args(ChartKind):
            raise ValueError(f"kind must be liquid or printed, got {self.kind!r}")
        if len(self.card_reflectance) != 3 or not all(0 < r < 1 for r in self.card_reflectance):
            raise ValueError(f"card_reflectance must lie in (0, 1), got {self.card_reflectance}")
        if self.created_at.utcoffset() is None:
            raise ValueError("created_at must carry its offset from UTC")
        if any(item.measurement.white != self.white for item in self.measurements):
            raise ValueError(f"every measurement must be under the chart's white {self.white}")
        _check_order(self.swatches)

    @property
    def blanks(self) -> tuple[StandardMeasurement, ...]:
        """The tubes without indicator."""
        return tuple(item for item in self.measurements if item.role == "blank")

    @property
    def has_values(self) -> bool:
        """Whether the swatches carry values, not labels alone."""
        return self.swatches[0].value is not None


def _check_uncertainty(uncertainty: float | None) -> None:
    if uncertainty is not None and not 0 < uncertainty < math.inf:
        raise ValueError(f"standard uncertainty must be > 0, got {uncertainty}")


def _check_covariance(covariance: Covariance) -> None:
    matrix = np.asarray(covariance, dtype=float)
    if matrix.shape != (3, 3) or not np.isfinite(matrix).all():
        raise ValueError("covariance must be 3x3 finite numbers")
    scale = float(np.abs(matrix).max())
    if np.abs(matrix - matrix.T).max() > 1e-9 * scale:
        raise ValueError("covariance must be symmetric")
    if float(np.linalg.eigvalsh(matrix)[0]) < -1e-9 * scale:
        raise ValueError("covariance must not be negative")


def _check_order(swatches: Sequence[Swatch]) -> None:
    if len(swatches) < 2:
        raise ChartError(
            f"A chart needs two or more different standards; there is {len(swatches)}.",
            what_to_do="Photograph tubes of at least two known values, better five or more.",
        )
    values = [swatch.value for swatch in swatches if swatch.value is not None]
    if values and len(values) < len(swatches):
        raise ChartError(
            "Some standards have a value and some only a label.",
            what_to_do="Give every standard a value, or none.",
        )
    if any(not low < high for low, high in pairwise(values)):
        raise ChartError(
            "The swatches are not in rising order of value.",
            what_to_do="Make the chart again from its standards.",
        )
    labels = [swatch.label for swatch in swatches]
    if not values and len(set(labels)) < len(labels):
        raise ChartError(
            "Two swatches of a chart without values have the same label.",
            what_to_do="Give every swatch its own label.",
        )


def make_swatches(
    measurements: Iterable[StandardMeasurement], *, same_within: float = 0.0
) -> tuple[Swatch, ...]:
    """Average the tubes of each known value into a swatch; blanks are left out.

    The scatter of a single tube about its swatch is pooled over all swatches and, for a swatch of
    many tubes, drawn towards its own: S_i = (v_i S_own + v_0 S_pool) / (v_i + v_0), v_i = n - 1,
    v_0 = `SCATTER_PRIOR`. The covariance of the swatch's mean is (S_i + W_i) / n with W_i the mean
    covariance inside the tubes. Where no value was photographed twice, W_i is all that is known.

    Parameters
    ----------
    measurements : iterable of StandardMeasurement
        The tubes, any order.
    same_within : float
        Values this close make one swatch, at the mean of the values; `SAME_PH` for pH.

    Returns
    -------
    tuple of Swatch
        In rising order of value; labels without values in the order given. The uncertainty of a
        swatch's value is the largest one of its standards: tubes of one bottle share its error.

    Raises
    ------
    ChartError
        If only some standards have a value, or one value has two labels.
    """
    groups = _groups([item for item in measurements if item.role == "standard"], same_within)
    colors = [np.array([item.measurement.lab for item in group]) for group in groups]
    squares = [(lab - lab.mean(axis=0)).T @ (lab - lab.mean(axis=0)) for lab in colors]
    degrees = sum(len(group) - 1 for group in groups)
    pooled = np.sum(squares, axis=0) / degrees if degrees else np.zeros((3, 3))
    return tuple(
        _swatch(group, square, pooled) for group, square in zip(groups, squares, strict=True)
    )


def _groups(
    standards: Sequence[StandardMeasurement], same_within: float
) -> list[list[StandardMeasurement]]:
    """Put the tubes of one value, or of one label where there are no values, together."""
    valued = [(item.value, item) for item in standards if item.value is not None]
    if valued and len(valued) < len(standards):
        raise ChartError(
            "Some standards have a value and some only a label.",
            what_to_do="Give every standard a value, or none.",
        )
    if not valued:
        by_label: dict[str | None, list[StandardMeasurement]] = {}
        for item in standards:
            by_label.setdefault(item.label, []).append(item)
        return list(by_label.values())
    groups: list[list[StandardMeasurement]] = []
    start = -math.inf
    for value, item in sorted(valued, key=lambda pair: pair[0]):
        if value - start > same_within + 1e-9:
            groups.append([])
            start = value
        groups[-1].append(item)
    return groups


def _swatch(
    group: Sequence[StandardMeasurement], square: NDArray[np.float64], pooled: NDArray[np.float64]
) -> Swatch:
    n = len(group)
    values = [item.value for item in group if item.value is not None]
    labels = list(dict.fromkeys(item.label for item in group if item.label is not None))
    if len(labels) > 1:
        raise ChartError(
            f"The value {fmean(values):g} has two labels: '{labels[0]}' and '{labels[1]}'.",
            what_to_do="Give all tubes of one value the same label.",
        )
    scatter = (square + SCATTER_PRIOR * pooled) / (n - 1 + SCATTER_PRIOR)
    inside = np.mean([item.measurement.covariance for item in group], axis=0)
    total = (scatter + inside) / n
    lab = np.mean([item.measurement.lab for item in group], axis=0)
    known = [item.uncertainty for item in group if item.uncertainty is not None]
    return Swatch(
        value=fmean(values) if values else None,
        label=labels[0] if labels else None,
        lab=Lab(*(float(x) for x in lab)),
        covariance=_as_covariance((total + total.T) / 2),
        n=n,
        standard_uncertainty=max(known) if known else None,
    )


def _as_covariance(matrix: NDArray[np.float64]) -> Covariance:
    one, two, three = ((float(a), float(b), float(c)) for a, b, c in matrix)
    return one, two, three
