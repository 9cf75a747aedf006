"""Charts and measurements made up for tests, by hand and by hypothesis."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

from calibration.chart import Chart, Role, StandardMeasurement, Swatch, make_swatches
from calibration.indicator import Analyte
from colorcore.color_spaces import Lab
from colorcore.geometry import Box
from colorcore.measurement import Covariance, Measurement, Triple
from colorcore.reasons import Reason

COVARIANCE: Covariance = ((0.04, 0.01, 0.0), (0.01, 0.09, 0.0), (0.0, 0.0, 0.16))


def make_measurement(lab: tuple[float, float, float] = (60.0, 10.0, 40.0)) -> Measurement:
    """Make a measurement of one color; everything else is ordinary."""
    return Measurement(
        lab=Lab(*lab),
        covariance=COVARIANCE,
        n_pixels=5000,
        white="D65",
        rgb=(0.4, 0.3, 0.1),
        background_rgb=(0.8, 0.81, 0.79),
        card_rgb=(0.17, 0.18, 0.2),
        clipped_share=0.001,
        outline="found",
        box=Box(10.5, 20.0, 30.0, 80.0),
        card_box=Box(100.0, 20.0, 60.0, 90.0),
        sha256="ab" * 32,
        camera="Pinhole One",
        taken_at=datetime(2026, 5, 1, 9, 30),
        reasons=(Reason(code="card_uneven", text="Uneven.", what_to_do="Turn it.", weight="note"),),
    )


def make_standard(
    value: float | None,
    lab: tuple[float, float, float],
    *,
    label: str | None = None,
    role: Role = "standard",
    uncertainty: float | None = None,
) -> StandardMeasurement:
    """Make a tube of known value and color."""
    return StandardMeasurement(
        value=value,
        uncertainty=uncertainty,
        label=label,
        role=role,
        photo="s001.jpg",
        tube=1,
        measurement=make_measurement(lab),
    )


def make_chart(
    points: tuple[tuple[float, tuple[float, float, float]], ...] = (
        (5.0, (55.0, 45.0, 50.0)),
        (6.0, (60.0, 10.0, 40.0)),
        (7.0, (50.0, -20.0, 20.0)),
    ),
) -> Chart:
    """Make a pH chart of one tube a value."""
    standards = tuple(make_standard(value, lab) for value, lab in points)
    return Chart(
        id="0123456789abcdef" * 2,
        name="Bench, May",
        analyte=Analyte(quantity="ph", unit="pH"),
        extractant=None,
        indicator="mixed",
        batch=None,
        method=None,
        kind="liquid",
        swatches=make_swatches(standards),
        measurements=standards,
        white="D65",
        card_reflectance=(0.18, 0.18, 0.18),
        cameras=("Pinhole One",),
        light_notes=None,
        created_at=datetime(2026, 5, 1, 10, 0, tzinfo=UTC),
        check_again_on=date(2026, 8, 1),
        software_version="0.1.0",
    )


numbers = st.floats(-1e6, 1e6)
positive = st.floats(1e-6, 1e6)
triples = st.tuples(numbers, numbers, numbers)
texts = st.text(max_size=20)
maybe_texts = st.none() | texts
boxes = st.builds(Box, numbers, numbers, positive, positive)
offsets = st.integers(-840, 840).map(lambda minutes: timezone(timedelta(minutes=minutes)))
times = st.datetimes(timezones=st.none() | offsets)


@st.composite
def covariances(draw: st.DrawFn) -> Covariance:
    """Draw A A^T, symmetric and not negative."""
    rows = [draw(st.tuples(*[st.floats(-30, 30)] * 3)) for _ in range(3)]

    def row(at: int) -> Triple:
        one, two, three = (sum(a * b for a, b in zip(rows[at], r, strict=True)) for r in rows)
        return one, two, three

    return row(0), row(1), row(2)


reasons = st.builds(
    Reason,
    code=st.sampled_from(["card_uneven", "blurred", "light_unlike_chart"]),
    text=texts,
    what_to_do=texts,
    weight=st.sampled_from(["note", "doubtful", "refused"]),
)
measurements = st.builds(
    Measurement,
    lab=triples.map(lambda t: Lab(*t)),
    covariance=covariances(),
    n_pixels=st.integers(1, 2**40),
    white=st.just("D65"),
    rgb=triples,
    background_rgb=st.none() | triples,
    card_rgb=st.none() | triples,
    clipped_share=st.floats(0, 1),
    outline=st.sampled_from(["found", "by_hand"]),
    box=boxes,
    card_box=st.none() | boxes,
    sha256=st.text("0123456789abcdef", min_size=64, max_size=64),
    camera=maybe_texts,
    taken_at=st.none() | times,
    reasons=st.lists(reasons, max_size=2).map(tuple),
)
photos = st.text(
    st.characters(codec="utf-8", exclude_characters="/\\\0"), min_size=1, max_size=20
).filter(lambda name: name not in (".", ".."))
standards = st.builds(
    StandardMeasurement,
    value=numbers,
    uncertainty=st.none() | positive,
    label=maybe_texts,
    role=st.sampled_from(["standard", "blank"]),
    photo=photos,
    tube=st.integers(1, 99),
    measurement=measurements,
)
analytes = st.sampled_from(
    [("ph", None), ("nitrogen", "NO3-N"), ("phosphorus", "P2O5"), ("iron", None), (None, None)]
).flatmap(
    lambda known: st.builds(
        Analyte,
        quantity=st.just(known[0]),
        form=st.just(known[1]),
        basis=st.sampled_from([None, "extract", "soil"]),
        ratio=st.sampled_from([None, "1:5", "1:2.5"]),
        unit=st.sampled_from([None, "pH"] if known[0] == "ph" else [None, "mg/kg", "ppm"]),
    )
)


@st.composite
def swatch_series(draw: st.DrawFn) -> tuple[Swatch, ...]:
    """Draw swatches with rising values, or with labels alone."""
    with_values = draw(st.booleans())
    keys: list[Any] = draw(
        st.lists(numbers, min_size=2, max_size=6, unique=True).map(sorted)
        if with_values
        else st.lists(texts, min_size=2, max_size=6, unique=True)
    )
    return tuple(
        Swatch(
            value=key if with_values else None,
            label=draw(maybe_texts) if with_values else key,
            lab=Lab(*draw(triples)),
            covariance=draw(covariances()),
            n=draw(st.integers(1, 50)),
            standard_uncertainty=draw(st.none() | positive),
        )
        for key in keys
    )


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | numbers | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=8,
)
extras = st.dictionaries(texts.map(lambda key: f"later {key}"), json_values, max_size=3).map(
    lambda entries: tuple(
        (key, json.dumps(value, ensure_ascii=False)) for key, value in sorted(entries.items())
    )
)
shares = st.floats(0.001, 0.999)
charts = st.builds(
    Chart,
    id=st.text("0123456789abcdef", min_size=32, max_size=32),
    name=texts,
    analyte=analytes,
    extractant=maybe_texts,
    indicator=maybe_texts,
    batch=maybe_texts,
    method=maybe_texts,
    kind=st.sampled_from(["liquid", "printed"]),
    swatches=swatch_series(),
    measurements=st.lists(standards, max_size=3).map(tuple),
    white=st.just("D65"),
    card_reflectance=st.tuples(shares, shares, shares),
    cameras=st.lists(texts, max_size=2).map(tuple),
    light_notes=maybe_texts,
    created_at=st.datetimes(timezones=offsets),
    check_again_on=st.none() | st.dates(),
    software_version=texts,
    extra=extras,
)
