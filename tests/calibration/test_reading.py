"""Readings of a made-up two-form dye: value, interval, confidence, and every reason to doubt."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from calibration.chart import Chart, StandardMeasurement, make_swatches
from calibration.color_features import features_of
from calibration.curve import SHAPES, Curve, Ground, Known, Rival
from calibration.error_model import FITTED, ErrorModel
from calibration.indicator import Analyte
from calibration.reading import (
    Reading,
    chart_curve,
    read_measurement,
    strange_standard,
    swatch_values,
)
from calibration.uncertainty import grid_of, posterior_of
from colorcore.color_spaces import Lab, rgb_to_lab
from colorcore.geometry import Box
from colorcore.measurement import Measurement
from colorcore.reasons import Reason

BOX = Box(10.0, 10.0, 40.0, 120.0)
# Share of light lost per unit dose in R, G, B (natural log) of the two forms, and the dye's pKa.
ACID, BASE, PKA = np.array([0.05, 0.5, 1.6]), np.array([1.9, 0.7, 0.1]), 6.5
WHITE = np.array([0.8, 0.8, 0.8])


def dye_rgb(ph: float, dose: float = 1.0) -> np.ndarray:
    """Linear RGB of the dye before a white wall, by Henderson-Hasselbalch and Beer-Lambert."""
    base = 1 / (1 + 10 ** (PKA - ph))
    return WHITE * np.exp(-dose * ((1 - base) * ACID + base * BASE))


def measured(
    rgb: np.ndarray, photo: str, *, reasons: tuple[Reason, ...] = (), light: float = 0.0
) -> Measurement:
    """Make a measurement of one balanced color; `light` tints the card before the balance."""
    lab = rgb_to_lab(rgb)
    return Measurement(
        lab=Lab(*(float(v) for v in lab)),
        covariance=((0.01, 0.0, 0.0), (0.0, 0.01, 0.0), (0.0, 0.0, 0.01)),
        n_pixels=4000,
        white="D65",
        rgb=(float(rgb[0]), float(rgb[1]), float(rgb[2])),
        background_rgb=(0.8, 0.8, 0.8),
        card_rgb=(0.18 * float(np.exp(light)), 0.18, 0.18 * float(np.exp(-light))),
        clipped_share=0.0,
        outline="found",
        box=BOX,
        card_box=Box(100.0, 10.0, 50.0, 50.0),
        sha256=photo,
        camera=None,
        taken_at=None,
        reasons=reasons,
    )


def standards(
    values: tuple[float, ...], rng: np.random.Generator
) -> tuple[StandardMeasurement, ...]:
    """Two tubes a value with a little scatter of dose."""
    return tuple(
        StandardMeasurement(
            value=value,
            uncertainty=None,
            label=None,
            role="standard",
            photo=f"s{i}{j}.jpg",
            tube=1,
            measurement=measured(dye_rgb(value, float(np.exp(rng.normal(0, 0.03)))), f"s{i}{j}"),
        )
        for i, value in enumerate(values)
        for j in range(2)
    )


def make(values: tuple[float, ...] = (5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0)) -> Chart:
    """Make a chart of the dye."""
    tubes = standards(values, np.random.default_rng(3))
    return Chart(
        id="0123456789abcdef" * 2,
        name="dye",
        analyte=Analyte(quantity="ph", unit="pH"),
        extractant=None,
        indicator=None,
        batch=None,
        method=None,
        kind="liquid",
        swatches=make_swatches(tubes),
        measurements=tubes,
        white="D65",
        card_reflectance=(0.18, 0.18, 0.18),
        cameras=(),
        light_notes=None,
        created_at=datetime(2026, 5, 1, tzinfo=UTC),
        check_again_on=None,
        software_version="0.1.0",
    )


CHART = make()


def codes(reading: Reading) -> set[str]:
    """Return the codes of a reading's reasons."""
    return {reason.code for reason in reading.reasons}


@pytest.mark.parametrize("ph", [5.8, 6.0, 6.3, 6.75, 7.2])
def test_reads_values_between_swatches(ph: float) -> None:
    """A clean color between two swatches comes back near its value, inside its interval."""
    reading = read_measurement(CHART, measured(dye_rgb(ph), "t"))
    assert reading.status == "accepted"
    assert reading.value == pytest.approx(ph, abs=0.12)
    assert reading.low is not None
    assert reading.high is not None
    assert reading.low < ph < reading.high
    assert sum(reading.probabilities) == pytest.approx(1)
    assert reading.confidence == max(reading.probabilities)
    assert reading.largest_term is not None


def test_dose_does_not_change_the_value_much() -> None:
    """A third more indicator is a nuisance direction, not another pH."""
    usual = read_measurement(CHART, measured(dye_rgb(6.6), "t")).value
    strong = read_measurement(CHART, measured(dye_rgb(6.6, 1.15), "t")).value
    assert usual is not None
    assert strong is not None
    assert abs(strong - usual) < 0.15


def test_other_dye_is_refused_off_the_curve() -> None:
    """A magenta that the dye cannot give has no number."""
    reading = read_measurement(CHART, measured(np.array([0.7, 0.05, 0.6]), "t"))
    assert reading.status == "refused"
    assert "off_curve" in codes(reading)
    assert reading.value is None


def test_off_the_span_keeps_one_end() -> None:
    """A chart that stops inside the dye's change says "above" and gives no value."""
    short = make((5.5, 5.75, 6.0, 6.25, 6.5))
    reading = read_measurement(short, measured(dye_rgb(7.1), "t"))
    assert reading.status == "doubtful"
    assert "off_span" in codes(reading)
    assert reading.value is None
    assert reading.low == 6.5
    assert reading.high is None


def test_end_of_the_span_is_clamped() -> None:
    """At an end swatch the interval is cut there and the value stays inside."""
    reading = read_measurement(CHART, measured(dye_rgb(5.0), "t"))
    assert reading.value is not None
    assert reading.low == pytest.approx(5.0, abs=0.02)
    assert reading.value >= 5.0


def test_color_that_fits_only_the_curve_beyond_its_end_is_doubtful() -> None:
    """Past the first swatch the curve may go anywhere; what it meets there is no reading."""
    end = dye_rgb(5.0)
    for stray in np.linspace(0.0, 0.5, 26):  # a red that the dye does not have, ever more of it
        reading = read_measurement(CHART, measured(end * np.exp([0.0, -stray, stray / 2]), "t"))
        assert reading.value is None or reading.value < 5.3
        if reading.status == "accepted":
            assert stray < 0.2
    assert reading.status != "accepted"


def test_coarse_chart_makes_doubtful() -> None:
    """Shop buffers 4, 7 and 10 leave what lies between them doubtful."""
    reading = read_measurement(make((4.0, 7.0, 10.0)), measured(dye_rgb(6.2), "t"))
    assert reading.status == "doubtful"
    assert "coarse_chart" in codes(reading)
    assert reading.value is not None


def test_printed_chart_makes_doubtful() -> None:
    """Paper is not liquid in glass."""
    reading = read_measurement(replace(CHART, kind="printed"), measured(dye_rgb(6.2), "t"))
    assert "printed_chart" in codes(reading)
    assert reading.status == "doubtful"


def test_refused_photo_has_no_number() -> None:
    """A reason that refuses takes every number away."""
    reason = Reason(code="blurred", text="", what_to_do="", weight="refused")
    reading = read_measurement(CHART, measured(dye_rgb(6.2), "t", reasons=(reason,)))
    assert reading.status == "refused"
    assert (reading.value, reading.low, reading.high, reading.confidence) == (None,) * 4


def folded() -> Chart:
    """Make a chart whose color goes out and comes back the same way."""
    back = standards((5.0, 5.5, 6.0, 6.5), np.random.default_rng(1))
    mirror = {7.0: 6.0, 7.5: 5.5, 8.0: 5.0}
    again = tuple(
        replace(
            item,
            value=value,
            photo=f"m{value}{j}.jpg",
            measurement=measured(dye_rgb(source), f"m{value}{j}"),
        )
        for value, source in mirror.items()
        for j, item in enumerate(back[:2])
    )
    return replace(CHART, swatches=make_swatches((*back, *again)), measurements=(*back, *again))


def test_folding_curve_gives_both_values() -> None:
    """One color, two values: both are given with their probability."""
    reading = read_measurement(folded(), measured(dye_rgb(5.6), "t"))
    assert reading.status == "doubtful"
    assert "folding" in codes(reading)
    found = sorted(a.value for a in reading.alternatives)
    assert found == pytest.approx([5.6, 7.4], abs=0.25)


def known(value: float, rgb: np.ndarray, photo: str) -> StandardMeasurement:
    """Make a tube of known value in the photo being read."""
    return StandardMeasurement(
        value=value,
        uncertainty=None,
        label=None,
        role="standard",
        photo="p.jpg",
        tube=2,
        measurement=measured(rgb, photo, light=0.5),
    )


def test_known_tubes_in_the_frame_take_out_the_light() -> None:
    """A light that shifts all colors alike is seen by the known tubes and taken out."""
    cast = np.array([1.10, 1.0, 0.93])

    def under_lamp(ph: float) -> np.ndarray:
        depth = np.log(dye_rgb(ph) / WHITE)
        return WHITE * np.exp(depth * cast)

    unknown = measured(under_lamp(6.4), "p", light=0.5)
    alone = read_measurement(CHART, unknown)
    helped = read_measurement(
        CHART,
        unknown,
        in_frame=tuple(known(v, under_lamp(v), "p") for v in (5.5, 6.5, 7.5)),
    )
    assert alone.value is not None
    assert helped.value is not None
    assert abs(helped.value - 6.4) <= abs(alone.value - 6.4) + 0.01
    assert helped.low is not None
    assert helped.high is not None
    assert alone.low is not None
    assert alone.high is not None
    assert helped.high - helped.low < alone.high - alone.low


def test_bad_known_tube_is_noticed() -> None:
    """A known tube whose color is that of another value is named and not used."""
    reading = read_measurement(
        CHART, measured(dye_rgb(6.4), "p"), in_frame=(known(5.0, dye_rgb(8.0), "p"),)
    )
    assert "bad_standard" in codes(reading)
    assert reading.status == "doubtful"
    assert reading.value == pytest.approx(6.4, abs=0.15)


def test_one_good_known_tube_bears_a_bad_one_that_is_not_hopeless() -> None:
    """The farther off its value, the less is made of the photo: nothing, a note, a doubt."""
    tube = measured(dye_rgb(6.3), "t")
    said: list[str | None] = []
    for off in np.arange(0, 1.6, 0.1):
        two = (known(5.5, dye_rgb(5.5), "t"), known(7.0 - off, dye_rgb(7.0), "t"))
        reading = read_measurement(CHART, tube, in_frame=two)
        weights = [reason.weight for reason in reading.reasons if reason.code == "bad_standard"]
        said.append(weights[0] if weights else None)
    order = [None, "note", "doubtful"]
    assert [order.index(weight) for weight in said] == sorted(order.index(w) for w in said)
    assert set(said) == set(order)


def test_lamp_that_moves_all_known_tubes_alike_makes_none_strange() -> None:
    """Known tubes are judged by the chart and by each other; only the odd one is left out."""

    def dim(ph: float) -> np.ndarray:
        return 0.8 * dye_rgb(ph)

    moved = tuple(known(v, dim(v), "p") for v in (5.5, 6.5, 7.5))
    helped = read_measurement(CHART, measured(dim(6.4), "p", light=0.5), in_frame=moved)
    assert "bad_standard" not in codes(helped)
    assert helped.value == pytest.approx(6.4, abs=0.15)
    wrong = replace(known(5.0, dim(8.0), "p"), tube=3)
    named = read_measurement(CHART, measured(dim(6.4), "p", light=0.5), in_frame=(*moved, wrong))
    said = [reason.text for reason in named.reasons if reason.code == "bad_standard"]
    assert len(said) == 1
    assert "tube 3" in said[0]
    assert named.status == "accepted"  # the three others agree
    assert named.value == pytest.approx(6.4, abs=0.15)


def test_tubes_that_scatter_more_make_wider_intervals() -> None:
    """A user whose standards scatter more than usual is believed to scatter more in samples too."""
    rng = np.random.default_rng(5)
    rough = tuple(
        replace(
            item,
            measurement=measured(
                np.array(item.measurement.rgb) * np.exp(rng.normal(0, 0.15)), f"r{k}.jpg"
            ),
        )
        for k, item in enumerate(CHART.measurements)
    )
    usual = read_measurement(CHART, measured(dye_rgb(6.3), "t"))
    chart = replace(CHART, id="e" * 32, swatches=make_swatches(rough), measurements=rough)
    unsure = read_measurement(chart, measured(dye_rgb(6.3), "t"))
    assert usual.low is not None
    assert usual.high is not None
    assert unsure.low is not None
    assert unsure.high is not None
    assert chart_curve(chart).ground.model.level > chart_curve(CHART).ground.model.level
    assert unsure.high - unsure.low > usual.high - usual.low


def pressed(rgb: np.ndarray, exposure: float, photo: str) -> Measurement:
    """Measure a color through a camera that presses highlights together: x (1 + k) / (1 + k x)."""

    def camera(light: np.ndarray) -> np.ndarray:
        return np.asarray(light * 2 / (1 + light))

    card = camera(np.full(3, exposure))
    seen = camera(np.minimum(rgb / 0.18 * exposure, 1.0)) / card * 0.18
    return replace(measured(seen, photo), card_rgb=tuple(float(v) for v in card))


def test_highlights_that_the_camera_presses_together_are_learned_from_the_standards() -> None:
    """A bright tube in a brighter photo than the chart's is read where the standards told how."""

    def cloud(value: float) -> np.ndarray:
        return np.full(3, 0.18 + 0.08 * value)

    tubes = tuple(
        replace(
            CHART.measurements[0],
            value=float(value),
            photo=f"{value}{exposure}.jpg",
            measurement=replace(
                pressed(cloud(value), exposure, f"{value}{exposure}"),
                background_rgb=(0.05, 0.05, 0.05),
            ),
        )
        for value in range(6)
        for exposure in (0.12, 0.2, 0.26)
    )
    chart = replace(CHART, id="a" * 32, swatches=make_swatches(tubes), measurements=tubes)
    tube = replace(pressed(cloud(3.5), 0.3, "t"), background_rgb=(0.05, 0.05, 0.05))
    flat = replace(FITTED, tone=0.0, shoulder=0.0)
    reading = read_measurement(chart, tube)
    assert reading.value == pytest.approx(3.5, abs=0.2)
    without = read_measurement(chart, tube, model=flat).value
    assert without is not None
    assert abs(without - 3.5) > 2 * abs(reading.value - 3.5)


def test_interval_that_says_next_to_nothing_makes_doubtful() -> None:
    """A liquid of many colors leaves an interval of several steps: nobody can use it."""
    blotchy = replace(
        measured(dye_rgb(6.5), "t"),
        covariance=((99.0, 0.0, 0.0), (0.0, 99.0, 0.0), (0.0, 0.0, 99.0)),
    )
    reading = read_measurement(make(tuple(np.arange(6.0, 7.0, 0.1))), blotchy)
    assert "vague" in codes(reading)
    assert reading.status == "doubtful"
    assert reading.value is not None


def test_chart_of_labels_alone_is_spoken_of_by_its_labels() -> None:
    """Between which swatches a color lies is said by their names where they have no value."""
    named = tuple(
        replace(item, value=None, label=f"No. {round(2 * (item.value or 0)) - 9}")
        for item in CHART.measurements
    )
    chart = replace(CHART, id="b" * 32, swatches=make_swatches(named), measurements=named)
    blotchy = replace(
        measured(dye_rgb(6.5), "t"),
        covariance=((400.0, 0.0, 0.0), (0.0, 400.0, 0.0), (0.0, 0.0, 400.0)),
    )
    (vague,) = (r for r in read_measurement(chart, blotchy).reasons if r.code == "vague")
    assert vague.text.startswith("The color fits everything from No. ")


def test_light_unlike_the_chart_is_noted() -> None:
    """A lamp far from the chart's is said, and does not make doubtful by itself."""
    reading = read_measurement(CHART, measured(dye_rgb(6.3), "t", light=0.8))
    assert "light_unlike_chart" in codes(reading)
    assert reading.status == "accepted"


def test_region_drawn_by_hand_is_noted() -> None:
    """A region that the user drew is recorded as such."""
    reading = read_measurement(CHART, replace(measured(dye_rgb(6.3), "t"), outline="by_hand"))
    assert "outline_by_hand" in codes(reading)
    assert reading.status == "accepted"


def test_background_unlike_the_chart_makes_doubtful() -> None:
    """A wall half as bright against the card as usual: another card, or a shadow."""
    strange = replace(measured(dye_rgb(6.3), "t"), background_rgb=(0.4, 0.4, 0.4))
    reading = read_measurement(CHART, strange)
    assert "background_unlike_chart" in codes(reading)
    assert reading.status == "doubtful"
    helped = read_measurement(
        CHART, strange, in_frame=tuple(known(v, dye_rgb(v), "t") for v in (5.5, 6.5, 7.5))
    )
    assert "background_unlike_chart" in codes(helped)


@pytest.mark.parametrize(("alike", "status"), [(2, "doubtful"), (3, "accepted")])
def test_what_the_charts_own_tubes_look_like_is_no_doubt(alike: int, status: str) -> None:
    """Grey glass looks shaded: from a fifth of the 14 standards on it is a note, and only it."""
    shade = Reason(code="tube_shadow", text="Dark.", what_to_do="", weight="doubtful")
    cloud = replace(shade, code="unsettled")
    marked = tuple(
        replace(item, measurement=replace(item.measurement, reasons=(shade,) * (k < alike)))
        for k, item in enumerate(CHART.measurements)
    )
    chart = replace(CHART, measurements=marked)
    seen = measured(dye_rgb(6.3), "t", reasons=(shade,))
    reading = read_measurement(chart, seen)
    assert reading.status == status
    assert "tube_shadow" in codes(reading)
    assert read_measurement(chart, replace(seen, reasons=(cloud,))).status == "doubtful"


def test_a_wall_of_another_color_needs_a_second_sign() -> None:
    """A little beyond the usual: perhaps another wall, unless two lights were seen."""
    wall = replace(measured(dye_rgb(6.3), "t"), background_rgb=(0.9, 0.8, 0.71))
    assert "background_unlike_chart" not in codes(read_measurement(CHART, wall))
    note = Reason(code="perhaps_other_light", text="", what_to_do="", weight="note")
    seen = read_measurement(CHART, replace(wall, reasons=(note,)))
    assert "background_unlike_chart" in codes(seen)
    assert seen.status == "doubtful"


def test_strange_standard_is_named() -> None:
    """A tube entered under the value of another is the one that stands out."""
    wrong = replace(CHART.measurements[0], value=8.0)
    chart = replace(CHART, id="f" * 32, measurements=(*CHART.measurements[1:], wrong))
    found = strange_standard(chart)
    assert found is not None
    assert found.item is wrong
    assert strange_standard(CHART) is None


def test_value_is_read_from_every_shape_that_the_standards_allow() -> None:
    """Two curves of equal odds give the mean of what each says alone."""
    curve = chart_curve(CHART)
    other = replace(curve.shape, length=3 * curve.shape.length, span=0.5 * curve.shape.span)
    item = features_of(measured(dye_rgb(6.4), "p"))
    grid = grid_of(swatch_values(CHART))
    one, two = Curve(curve.ground, curve.shape), Curve(curve.ground, other)
    both = Curve(curve.ground, curve.shape, (Rival(curve=two, odds=1.0),))
    alone = [posterior_of(c, item, grid).probability for c in (one, two)]
    assert posterior_of(both, item, grid).probability == pytest.approx(np.mean(alone, axis=0))
    assert len(curve.rivals) == SHAPES - 1
    assert all(0 < rival.odds <= 1 for rival in curve.rivals)


def test_a_tube_is_read_alike_whatever_was_read_before_it() -> None:
    """What is kept between tubes is never that of another light, photo or row of values."""
    curve = chart_curve(CHART)
    grid = grid_of(swatch_values(CHART))
    item = features_of(measured(dye_rgb(6.4), "p"))
    others = (
        replace(item, light=item.light + 0.1),
        replace(item, exposure=item.exposure + 0.3),
        replace(item, photo="s00"),
    )
    kept = Curve(curve.ground, curve.shape)
    for values in (grid, grid[::2], grid):
        for tube in (item, others[0], item, others[1], item, others[2], item):
            anew = Curve(curve.ground, curve.shape).predict(tube, values)
            again = kept.predict(tube, values)
            assert np.array_equal(again.mean, anew.mean)
            assert np.array_equal(again.total, anew.total)


def test_known_tubes_tell_which_shape_holds() -> None:
    """A rival that makes less of a photo's known tubes loses odds."""
    curve = chart_curve(CHART)
    other = replace(curve.shape, length=0.3 * curve.shape.length, span=4 * curve.shape.span)
    rival = Rival(curve=Curve(curve.ground, other), odds=1.0)
    both = Curve(curve.ground, curve.shape, (rival,))
    tubes = tuple(
        Known(features=features_of(measured(dye_rgb(v), "p")), value=v) for v in (5.25, 6.25, 7.25)
    )
    assert both.with_known(tubes).rivals[0].odds < 1


def test_tube_that_bends_the_curve_is_named() -> None:
    """The only tube of a value, with the color of another, is found by a curve laid without it."""
    wrong = replace(
        CHART.measurements[6], measurement=measured(dye_rgb(7.9), CHART.measurements[6].photo)
    )
    tubes = (*CHART.measurements[:6], wrong, *CHART.measurements[8:])
    found = strange_standard(replace(CHART, measurements=tubes))
    assert found is not None
    assert found.item is wrong


def test_known_tubes_that_only_a_rival_explains_leave_odds_that_are_numbers() -> None:
    """Colors far off the curve make another one certain, not infinitely so."""
    curve = chart_curve(CHART)
    ground = curve.ground
    strict = Ground(ground.known, ground.background_share, ErrorModel().scaled(0.1))
    both = Curve(strict, curve.shape, (Rival(curve=Curve(ground, curve.shape), odds=1.0),))
    rng = np.random.default_rng(2)
    foreign = tuple(
        Known(features=features_of(measured(rng.uniform(0.02, 0.9, 3), f"x{k}")), value=6.25)
        for k in range(20)
    )
    grown = both.with_known(foreign)
    assert 1 < grown.rivals[0].odds < float("inf")
    item = features_of(measured(dye_rgb(6.4), "p"))
    assert posterior_of(grown, item, grid_of(swatch_values(CHART))).probability.sum() == (
        pytest.approx(1)
    )
