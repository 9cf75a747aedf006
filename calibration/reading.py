"""A measurement laid on a chart: value, interval, swatch, confidence, or why there is none."""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from calibration.chart import Chart, StandardMeasurement
from calibration.checks import coarse_gaps
from calibration.color_features import Features, features_of
from calibration.curve import Curve, Known, fit_curve
from calibration.error_model import FITTED, ErrorModel
from calibration.errors import ChartError
from calibration.uncertainty import (
    COVERAGE,
    Posterior,
    grid_of,
    modes,
    posterior_of,
    quantile,
    swatch_probabilities,
)
from colorcore.color_difference import delta_e_2000_of
from colorcore.measurement import Measurement
from colorcore.reasons import LOOKS, PERHAPS_OTHER_LIGHT, Reason, Weight, worst

Status = Literal["accepted", "doubtful", "refused"]

MISFIT = 14.0
"""Squared distance of a color to the curve from which it is doubted: 3 % of good tubes of the
laboratory, with a fifth of all errors of more than a swatch step."""

OFF_CURVE = 34.0  # the same from which it is refused: 0.5 % of good tubes, most off-chart colors
VAGUE = 2.5  # swatch steps: an interval wider than this says next to nothing
SECOND_MODE = 0.10  # probability of another value from which the curve is said to fold
BENDY = 1.4  # swatch steps: bends up to which one wrong tube may have made
BENT_BY_ONE = 82.0  # the same distance for a tube of a chart, from a curve laid without it
FEWEST_TO_JUDGE = 6  # tubes of a chart below which none can be called strange
OWN_LOOK = 0.2  # share of a chart's tubes from which a look is that of their glass
OTHER_WALL = 1.6  # times the usual change of color that another wall may have
UNLIKE = 0.05  # likeness below which a light counts as unlike the chart's
BAD_STANDARD = 41.0  # the same distance for a known tube in the frame, but against its own value
HOPELESS_STANDARD = 60.0  # the same from which a photo with a single other known tube is doubtful


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One of several values that a folding curve allows."""

    value: float
    low: float
    high: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one tube says.

    Parameters
    ----------
    status : {"accepted", "doubtful", "refused"}
        Accepted and doubtful readings carry numbers, refused ones none.
    value, low, high : float or None
        The value and its 90 % interval, in the chart's unit. Off the span the value is None and the
        interval has one end.
    alternatives : tuple of Alternative
        Where the curve folds: each value with its interval and probability.
    swatch : float or None
        Value of the swatch that is most probably the nearest to the truth.
    swatch_label : str or None
        Its label, where the chart has labels.
    confidence : float or None
        Probability that `swatch` is the nearest to the truth.
    probabilities : tuple of float
        The same for every swatch of the chart, in order.
    nearest_by_color : float or None
        Value of the swatch at the least CIEDE2000 difference.
    color_distance : float or None
        That difference.
    curve_distance : float or None
        Squared Mahalanobis distance of the color to the curve (three degrees of freedom).
    largest_term : str or None
        Name of the largest cause of the uncertainty, with its share: "light: 60 %".
    reasons : tuple of Reason
        Everything that is doubtful.
    chart_id : str
        The chart that was used.
    """

    status: Status
    value: float | None
    low: float | None
    high: float | None
    alternatives: tuple[Alternative, ...]
    swatch: float | None
    swatch_label: str | None
    confidence: float | None
    probabilities: tuple[float, ...]
    nearest_by_color: float | None
    color_distance: float | None
    curve_distance: float | None
    largest_term: str | None
    reasons: tuple[Reason, ...]
    chart_id: str


def status_of(reasons: tuple[Reason, ...]) -> Status:
    """Return the standing of a reading from its heaviest reason.

    Examples
    --------
    >>> status_of(())
    'accepted'
    """
    heaviest = worst(reasons)
    return "accepted" if heaviest in (None, "note") else heaviest  # type: ignore[return-value]


def swatch_values(chart: Chart) -> tuple[float, ...]:
    """Values of a chart's swatches; a chart of labels alone is counted 0, 1, 2, ..."""
    return tuple(
        float(i) if swatch.value is None else swatch.value
        for i, swatch in enumerate(chart.swatches)
    )


def known_tubes(chart: Chart, measurements: tuple[StandardMeasurement, ...]) -> tuple[Known, ...]:
    """Tubes of known value as the curve takes them; blanks are no points of the curve."""
    places = {
        swatch.label if swatch.value is None else swatch.value: value
        for swatch, value in zip(chart.swatches, swatch_values(chart), strict=True)
    }
    known = []
    for item in measurements:
        if item.role != "standard":
            continue
        value = item.value if item.value is not None else places[item.label]
        known.append(Known(features=features_of(item.measurement), value=value))
    return tuple(known)


@lru_cache(maxsize=16)
def chart_curve(chart: Chart, model: ErrorModel = FITTED) -> Curve:
    """Lay the curve through a chart's standards; kept, because a batch asks for it often.

    Raises
    ------
    ChartError
        If the numbers of the file, though each may be right, make no curve.
    """
    known = known_tubes(chart, chart.measurements)
    try:
        return fit_curve(known, swatch_values(chart), model)
    except np.linalg.LinAlgError as error:
        raise ChartError(
            f"No curve can be laid through the colors of the chart '{chart.name}'.",
            what_to_do="Make the chart again from its photos.",
        ) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class StrangeStandard:
    """A tube of a chart whose color fits the others least.

    Parameters
    ----------
    item : StandardMeasurement
        The tube.
    is_certain : bool
        True where it is so far off that its value is better left without any tube.
    """

    item: StandardMeasurement
    is_certain: bool


def strange_standard(chart: Chart) -> StrangeStandard | None:
    """Return the tube of a chart whose color fits the others least, None where all of them fit.

    Where the curve bends sharply, one wrong tube may have bent it: then each is judged by a curve
    that is laid without it.
    """
    standards = [item for item in chart.measurements if item.role == "standard"]
    if len(standards) < FEWEST_TO_JUDGE:
        return None
    curve = chart_curve(chart)
    strangeness = curve.strangeness()
    strangest = int(np.argmax(strangeness))
    if strangeness[strangest] > BAD_STANDARD:
        return StrangeStandard(item=standards[strangest], is_certain=False)
    if curve.shape.length > BENDY:
        return None
    anew = [curve.strangeness_anew(at) for at in range(len(standards))]
    strangest = int(np.argmax(anew))
    if anew[strangest] <= BENT_BY_ONE:
        return None
    return StrangeStandard(item=standards[strangest], is_certain=True)


@lru_cache(maxsize=16)
def curve_with(
    curve: Curve, chart: Chart, in_frame: tuple[StandardMeasurement, ...]
) -> tuple[Curve, tuple[Reason, ...]]:
    """Add the known tubes of one photo to a chart's curve; a bad one is left out and named.

    Each is read from the chart and the other known tubes together: a lamp that moves all of them
    alike makes none of them strange. While one has a color that cannot be that of its value, the
    strangest is left out. Where two are left that agree, it is clear which one was wrong, and the
    photo can still be trusted; where one is left, only if the other was not hopelessly wrong.
    """
    standards = tuple(item for item in in_frame if item.role == "standard")
    kept = list(zip(standards, known_tubes(chart, standards), strict=True))
    bad: list[tuple[StandardMeasurement, float]] = []
    grown = curve
    while kept:
        grown = curve.with_known(tuple(known for _, known in kept))
        strangeness = grown.strangeness()[-len(kept) :]
        strangest = int(np.argmax(strangeness))
        if strangeness[strangest] <= BAD_STANDARD:
            break
        bad.append((kept.pop(strangest)[0], float(strangeness[strangest])))
        grown = curve
    bearable = (0.0, HOPELESS_STANDARD, np.inf)[min(len(kept), 2)]
    return grown, tuple(
        _bad_standard(item, "note" if distance <= bearable else "doubtful")
        for item, distance in bad
    )


def _bad_standard(item: StandardMeasurement, weight: Weight) -> Reason:
    return Reason(
        code="bad_standard",
        text=f"The known tube {item.tube} does not have the color of "
        f"{item.label if item.value is None else f'{item.value:g}'}.",
        what_to_do="Check its value and its place in the sheet; it was not used.",
        weight=weight,
    )


@lru_cache(maxsize=16)
def own_looks(chart: Chart) -> frozenset[str]:
    """Return the doubts that so many of a chart's own tubes raise that they say nothing.

    Standards were shaken, settled and lit with care: what many of them look like is their glass.
    """
    standards = [item for item in chart.measurements if item.role == "standard"]
    if len(standards) < FEWEST_TO_JUDGE:
        return frozenset()
    seen = [{reason.code for reason in item.measurement.reasons} for item in standards]
    least = OWN_LOOK * len(standards)
    return frozenset(code for code in LOOKS if sum(code in codes for codes in seen) >= least)


def _but_own_looks(chart: Chart, reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """Note what the chart's own tubes look like as well, instead of doubting it."""
    if all(reason.code not in LOOKS for reason in reasons):
        return reasons
    own = own_looks(chart)
    return tuple(_as_own(reason) if reason.code in own else reason for reason in reasons)


def _as_own(reason: Reason) -> Reason:
    return replace(
        reason,
        text=f"{reason.text} Many of the chart's own tubes look so, too.",
        what_to_do="Nothing, if the tube is mixed, clear and in the light: look at it.",
        weight="note",
    )


def refused(
    chart: Chart,
    reasons: tuple[Reason, ...],
    *,
    nearest: tuple[float, float] | None = None,
    distance: float | None = None,
) -> Reading:
    """Make a reading without any number."""
    return Reading(
        status="refused",
        value=None,
        low=None,
        high=None,
        alternatives=(),
        swatch=None,
        swatch_label=None,
        confidence=None,
        probabilities=(),
        nearest_by_color=nearest[0] if nearest else None,
        color_distance=nearest[1] if nearest else None,
        curve_distance=distance,
        largest_term=None,
        reasons=reasons,
        chart_id=chart.id,
    )


def nearest_swatch(chart: Chart, measurement: Measurement) -> tuple[int, float]:
    """Index and CIEDE2000 difference of the swatch that looks most like a measurement."""
    apart = delta_e_2000_of([swatch.lab for swatch in chart.swatches], measurement.lab)
    index = int(np.argmin(apart))
    return index, float(apart[index])


def _alternatives(
    posterior: Posterior, span: tuple[float, float]
) -> tuple[list[Alternative], tuple[int, int]]:
    """Separate values with their probability, most probable first, and the range of the first."""
    ranges = modes(posterior)
    weights = [float(posterior.probability[a:b].sum()) for a, b in ranges]
    order = sorted(range(len(ranges)), key=lambda i: -weights[i])
    found: list[Alternative] = []
    for i in order:
        if weights[i] < SECOND_MODE and found:
            continue
        first, past = ranges[i]
        values = np.clip(posterior.values[first:past], *span)
        p = posterior.probability[first:past] / weights[i]
        found.append(
            Alternative(
                value=float(values @ p),
                low=quantile(values, p, (1 - COVERAGE) / 2),
                high=quantile(values, p, (1 + COVERAGE) / 2),
                probability=weights[i],
            )
        )
    return found, ranges[order[0]]


def _unlike_light(
    curve: Curve, features: Features, in_frame: tuple[StandardMeasurement, ...]
) -> tuple[Reason, ...]:
    """Note a light unlike that of the chart's photos, where no known tube tells of it."""
    if features.light is None or in_frame:
        return ()
    alike = float(curve.ground.likeness([features], curve.ground.items).max())
    if alike > UNLIKE * curve.ground.model.light_common:
        return ()
    return (
        Reason(
            code="light_unlike_chart",
            text="The light is unlike any that the chart was made in; the interval allows for it.",
            what_to_do="Photograph in daylight, or with two known tubes in the frame.",
            weight="note",
        ),
    )


def _named(chart: Chart, value: float) -> str:
    """Return a value in words; on a chart of labels alone that of the nearest swatch."""
    swatch = chart.swatches[int(np.argmin(np.abs(np.array(swatch_values(chart)) - value)))]
    return f"{value:.3g}" if swatch.label is None or swatch.value is not None else swatch.label


def _vague(chart: Chart, found: Alternative) -> tuple[Reason, ...]:
    """Doubt an interval so wide that nobody could act on it."""
    values = swatch_values(chart)
    low, high = np.interp((found.low, found.high), values, np.arange(len(values)))
    if high - low <= VAGUE:
        return ()
    return (
        Reason(
            code="vague",
            text=f"The color fits everything from {_named(chart, found.low)} to "
            f"{_named(chart, found.high)}: more than {VAGUE} steps of the chart.",
            what_to_do="Photograph again in the light of the chart's photos, or with two known "
            "tubes in the frame.",
            weight="doubtful",
        ),
    )


def _misfit(distance: float, color_distance: float) -> tuple[Reason, ...]:
    """Doubt a color that lies beside the curve, farther than tubes of this kind do."""
    if distance <= MISFIT:
        return ()
    return (
        Reason(
            code="curve_misfit",
            text="The color lies beside the chart's curve (nearest swatch "
            f"{color_distance:.0f} CIEDE2000 away).",
            what_to_do="Check that the region lies in clear liquid and that indicator and chart "
            "belong together; photograph again in daylight.",
            weight="doubtful",
        ),
    )


def _unlike_background(
    curve: Curve, features: Features, seen: tuple[Reason, ...]
) -> tuple[Reason, ...]:
    """Doubt a photo whose background and card do not agree as they do in the chart's photos.

    Another wall has another color, and a bright one another than the card where the camera leaves
    a lamp's tint in the photo: color alone must lie farther off than where the light at the card
    and at the tube already looked different.
    """
    strange = curve.ground.strange_background(features)
    second = any(reason.code == PERHAPS_OTHER_LIGHT for reason in seen)
    if strange is None or (strange[0] <= 1 and strange[1] <= (1 if second else OTHER_WALL)):
        return ()
    what = "another color" if strange[1] > strange[0] else "another brightness"
    return (
        Reason(
            code="background_unlike_chart",
            text=f"Beside the tube the background has {what} against the card than in the "
            "chart's photos.",
            what_to_do="Check that it is the right card, in the same light as the tube, and use "
            "the background that the chart was made with.",
            weight="doubtful",
        ),
    )


def _chart_reasons(chart: Chart, value: float, largest: str) -> tuple[Reason, ...]:
    """Doubt what a chart with wide gaps, or one on paper, says.

    A gap in color alone (no pH) makes doubtful only where the curve across it is the largest cause
    of the uncertainty: many strong dyes step far in color and are well known in between.
    """
    reasons = []
    for gap in coarse_gaps(chart):
        if gap.low < value < gap.high and (chart.analyte.is_ph or largest == "curve"):
            reasons.append(
                Reason(
                    code="coarse_chart",
                    text=f"The chart has no swatch between {gap.low:g} and {gap.high:g}.",
                    what_to_do="Add standards between the two; `tintwell chart` proposes which.",
                    weight="doubtful",
                )
            )
    if chart.kind == "printed":
        reasons.append(
            Reason(
                code="printed_chart",
                text="The chart is printed on paper; liquid in glass looks different.",
                what_to_do="Declare two known tubes in the photo, or calibrate on liquids.",
                weight="doubtful",
            )
        )
    return tuple(reasons)


def read_measurement(
    chart: Chart,
    measurement: Measurement,
    *,
    model: ErrorModel = FITTED,
    in_frame: tuple[StandardMeasurement, ...] = (),
    sample: bool = True,
) -> Reading:
    """Read one measured tube against a chart.

    Parameters
    ----------
    chart : Chart
        The calibrated chart.
    measurement : Measurement
        The tube.
    model : ErrorModel
        Sizes of the nuisances.
    in_frame : tuple of StandardMeasurement
        Tubes of known value in the same photo.
    sample : bool
        False where the tube is itself a standard (leave-one-out, control charts).
    """
    index, color_distance = nearest_swatch(chart, measurement)
    values = swatch_values(chart)
    nearest = (values[index], color_distance)
    reasons = _but_own_looks(chart, measurement.reasons)
    if worst(reasons) == "refused":
        return refused(chart, reasons, nearest=nearest)
    curve = chart_curve(chart, model)
    if in_frame:
        curve, standard_reasons = curve_with(curve, chart, in_frame)
        reasons += standard_reasons
    features = features_of(measurement)
    posterior = posterior_of(curve, features, grid_of(values), sample=sample)
    if posterior.distance > OFF_CURVE:
        reason = Reason(
            code="off_curve",
            text=f"This color is not on the chart (nearest swatch {color_distance:.0f} CIEDE2000 "
            "away).",
            what_to_do="Check that indicator and chart belong together and that the tube is clean.",
            weight="refused",
        )
        return refused(chart, (*reasons, reason), nearest=nearest, distance=posterior.distance)
    span = values[0], values[-1]
    low = quantile(posterior.values, posterior.probability, (1 - COVERAGE) / 2)
    high = quantile(posterior.values, posterior.probability, (1 + COVERAGE) / 2)
    term, share = max(posterior.shares.items(), key=lambda item: item[1])
    found, _ = _alternatives(posterior, span)
    value: float | None = found[0].value
    ends: tuple[float | None, float | None] = (found[0].low, found[0].high)
    if high < span[0] or low > span[1]:
        below = high < span[0]
        reasons += (
            Reason(
                code="off_span",
                text=f"The color lies {'below' if below else 'above'} the chart's "
                f"{'first' if below else 'last'} swatch, {span[0] if below else span[1]:g}.",
                what_to_do="Extend the chart with a standard there, or dilute and read again.",
                weight="doubtful",
            ),
        )
        value, ends, found = None, ((None, span[0]) if below else (span[1], None)), []
    elif len(found) > 1:
        reasons += (
            Reason(
                code="folding",
                text="The chart has this color twice: "
                + " or ".join(
                    f"{_named(chart, a.value)} ({100 * a.probability:.0f} %)" for a in found
                )
                + ".",
                what_to_do="Decide by a second indicator or by what is known of the sample.",
                weight="doubtful",
            ),
        )
    if value is not None:
        reasons += _chart_reasons(chart, value, term) + _vague(chart, found[0])
    if measurement.outline == "by_hand":
        reasons += (
            Reason(
                code="outline_by_hand",
                text="The region was drawn by hand.",
                what_to_do="Nothing, if it lies inside the clear liquid.",
                weight="note",
            ),
        )
    beyond = (posterior.values < span[0]) | (posterior.values > span[1])
    is_cut = value is not None and float(posterior.probability[beyond].sum()) > 0.5
    # beyond its ends a curve is so unsure that any color fits it somewhere
    reasons += _misfit(posterior.inside if is_cut else posterior.distance, color_distance)
    reasons += _unlike_light(curve, features, in_frame) + _unlike_background(
        curve, features, measurement.reasons
    )
    probabilities = swatch_probabilities(posterior, values)
    likely = int(np.argmax(probabilities))
    if likely != index:
        reasons += (
            Reason(
                code="nearest_differs",
                text=f"By color alone {values[index]:g} is the nearest swatch; with dose and light "
                f"allowed for it is {values[likely]:g}.",
                what_to_do="Nothing, unless the difference is large.",
                weight="note",
            ),
        )
    numbered = chart.swatches[likely].value is not None
    return Reading(
        status=status_of(reasons),
        value=value if numbered else None,
        low=ends[0] if numbered else None,
        high=ends[1] if numbered else None,
        alternatives=tuple(found) if len(found) > 1 and numbered else (),
        swatch=chart.swatches[likely].value,
        swatch_label=chart.swatches[likely].label,
        confidence=probabilities[likely],
        probabilities=probabilities,
        nearest_by_color=chart.swatches[index].value,
        color_distance=color_distance,
        curve_distance=posterior.distance,
        largest_term=f"{term}: {100 * share:.0f} %",
        reasons=reasons,
        chart_id=chart.id,
    )
