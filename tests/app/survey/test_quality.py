"""Quality control of a whole survey."""

from dataclasses import replace
from datetime import timedelta

import pytest

from app.survey.kept_reading import KeptReading
from app.survey.method import Method, Test
from app.survey.quality import Result, quality_of, result_of
from app.survey.sample import Sample
from app.survey.survey import Survey
from app.tube_reading import TubeEntry, TubeReading
from calibration.indicator import Analyte
from tests.app.sample_surveys import CHART, NOW, known_ph, make_reading

SURVEY = Survey(
    id="s",
    name="s",
    created_at=NOW,
    software_version="0",
    sites=(),
    samples=(
        Sample(label="A1"),
        Sample(label="W1", kind="water"),
        Sample(label="Buffer 7", kind="check standard"),
        Sample(label="Blank", kind="blank"),
    ),
    methods=(Method(name="N test", subtract_blank=True),),
    tests=(Test(id="t1", sample="A1", quantity="nitrogen", method="N test"),),
    persons=(),
    known_values=(),
    charts=(),
)


def result(value: float, **facts: object) -> Result:
    """Make a result of sample A1; everything else is ordinary."""
    plain = Result(
        reading=1,
        sample="A1",
        quantity="ph",
        unit="pH",
        value=value,
        low=value - 0.2,
        high=value + 0.2,
        person="P1",
        chart_id=CHART.id,
        kept_at=NOW,
    )
    return replace(plain, **facts)  # type: ignore[arg-type]


def kept(**facts: object) -> KeptReading:
    """Make a kept reading of sample A1."""
    line = TubeReading(
        photo="a.jpg",
        tube=1,
        entry=TubeEntry(sample="A1"),
        chart=CHART,
        reading=make_reading(6.2),
        measurement=None,
        box=None,
        card=None,
        sha256=None,
    )
    plain = KeptReading(
        id=7,
        kept_at=NOW,
        person="P1",
        software_version="0",
        test=None,
        line=line,
        known=(),
        card_reflectance=None,
        corrects=None,
        correction=None,
        withdrawn=False,
        corrected_by=None,
    )
    return replace(plain, **facts)  # type: ignore[arg-type]


def test_what_counts() -> None:
    """Only standing readings of samples with a value do."""
    counted = result_of(kept())
    assert counted is not None
    assert (counted.reading, counted.value, counted.unit) == (7, 6.2, "pH")
    assert counted.half_width == pytest.approx(0.225)
    line = kept().line
    unknown = replace(CHART, name="Strip N", analyte=Analyte(unit="mg/kg"))
    counted = result_of(kept(line=replace(line, chart=unknown)))
    assert counted is not None
    assert counted.series.key == ("A1", "Strip N", "mg/kg")
    for other in (
        kept(corrected_by=8),
        kept(withdrawn=True),
        kept(line=replace(line, reading=make_reading(None))),
        kept(line=replace(line, entry=TubeEntry(sample="A1", role="in_frame"))),
        kept(line=replace(line, entry=TubeEntry())),
        kept(line=replace(line, chart=None)),
    ):
        assert result_of(other) is None


def test_replicates_are_pooled_and_outliers_shown_not_deleted() -> None:
    """The outlier is named and still counted in."""
    values = [6.1, 6.2, 6.15, 6.2, 6.1, 8.0]
    found = quality_of(SURVEY, [result(v, reading=i) for i, v in enumerate(values)])
    (pooled,) = found.pooled
    assert pooled.outlier == 5
    assert pooled.pooled.n == 6
    assert pooled.half_width == pytest.approx(0.2)
    assert pooled.low is not None
    assert pooled.pooled.mean - pooled.low > 0.2  # the scatter comes on top
    assert pooled.less_blank is None


def test_forms_are_never_averaged_together() -> None:
    """Phosphorus as P and as P2O5 are two things, though quantity and unit are the same."""
    both = [
        result(10.0, quantity="phosphorus", unit="mg/L", form="P"),
        result(23.0, quantity="phosphorus", unit="mg/L", form="P2O5"),
    ]
    assert {(p.form, p.pooled.mean) for p in quality_of(SURVEY, both).pooled} == {
        ("P", 10.0),
        ("P2O5", 23.0),
    }


def test_waters_are_averaged_by_the_ion() -> None:
    """The kind of the sample decides how pH is averaged."""
    found = quality_of(SURVEY, [result(v, sample="W1") for v in (4.5, 5.5, 6.5)])
    assert found.pooled[0].pooled.how == "activity"


def test_blanks_are_subtracted_where_the_method_says_so() -> None:
    """Blanks of the same chart and day count, others do not."""
    nitrogen = {"quantity": "nitrogen", "unit": "mg/kg"}
    later = NOW + timedelta(days=1)
    results = [
        result(20.0, **nitrogen),
        result(22.0, **nitrogen),
        result(3.0, sample="Blank", **nitrogen),
        result(9.0, sample="Blank", kept_at=later, **nitrogen),
    ]
    blank, pooled = sorted(quality_of(SURVEY, results).pooled, key=lambda p: p.pooled.mean)
    assert (pooled.blank, pooled.less_blank) == (3.0, 18.0)
    assert blank.blank is None
    no_test = replace(SURVEY, tests=())
    assert all(p.blank is None for p in quality_of(no_test, results).pooled)


def test_check_standards_get_a_control_chart() -> None:
    """The certificate is the center; a result far off is an action, and a drift is seen."""
    values = [7.0, 7.02, 6.98, 7.01, 6.99, 7.0, 7.02, 6.98, 7.01, 7.4]
    results = [
        result(v, sample="Buffer 7", reading=i, kept_at=NOW + timedelta(days=i))
        for i, v in enumerate(values)
    ]
    certificate = known_ph("Buffer 7", 7.0, "certificate", uncertainty=0.01)
    survey = replace(SURVEY, known_values=(certificate,))
    (control,) = quality_of(survey, results[:9]).controls
    assert control.certified == 7.0
    assert control.limits is not None
    assert control.limits.center == 7.0
    assert control.signals == ()
    (control,) = quality_of(survey, results * 3).controls  # the baseline stays the first twenty
    assert control.limits is not None
    assert control.limits.n == 20
    assert control.drift is not None
    (few,) = quality_of(survey, results[:3]).controls
    assert few.limits is None


def test_people_and_instruments_are_compared() -> None:
    """People by precision, electrode by agreement, on the samples both measured."""
    results, known = [], []
    for i in range(4):
        label = f"S{i}"
        for person, shift in (("P1", 0.0), ("P2", 0.3)):
            results += [
                result(6 + i / 10 + shift + repeat / 100, sample=label, person=person)
                for repeat in range(2)
            ]
        known.append(known_ph(label, 6 + i / 10))
    found = quality_of(replace(SURVEY, known_values=tuple(known)), results)
    assert len(found.spreads) == 4
    assert found.spreads[0].precision.s_between > 0.1
    (comparison,) = found.comparisons
    assert comparison.agreement.n == 4
    assert comparison.agreement.bias == pytest.approx(0.155)
