"""Groups that measured the same samples: the spread, who differs, and by how much."""

from dataclasses import replace

import pytest

from app.survey.class_view import class_view
from tests.app.sample_surveys import known_ph
from tests.app.survey.test_quality import SURVEY, result

LABELS = ("S1", "S2", "S3")
GROUPS = ("G1", "G2", "G3", "G4", "G5", "G6")


def test_who_differs_on_which_sample() -> None:
    """One group far off on one sample is named there, and nowhere else."""
    results = [
        result(6 + i / 10 + g / 100, sample=label, person=group)
        for i, label in enumerate(LABELS)
        for g, group in enumerate(GROUPS)
    ]
    results.append(result(9.0, sample="S2", person="G7"))
    view = class_view(SURVEY, results)
    assert [sample.sample for sample in view.samples] == list(LABELS)
    apart = {
        (sample.sample, item.group)
        for sample in view.samples
        for item in sample.groups
        if item.stands_apart
    }
    assert apart == {("S2", "G7")}
    last = view.groups[-1]
    assert (last.group, last.samples, last.apart_on) == ("G7", 1, ("S2",))
    assert view.samples[0].mean == pytest.approx(6.025)
    assert view.samples[0].s == pytest.approx(0.0187, abs=5e-5)  # of 0, 0.01 ... 0.05, n - 1


def test_agreement_with_the_reference() -> None:
    """The certificate goes before the electrode; three samples give limits, two do not."""
    shift = {"G1": 0.0, "G2": 0.5}
    results = [
        result(6 + i + shift[group] + i / 100, sample=label, person=group)
        for i, label in enumerate(LABELS)
        for group in shift
    ]
    values = [known_ph(label, 6.0 + i) for i, label in enumerate(LABELS)]
    survey = replace(SURVEY, known_values=(known_ph("S1", 6.0, "certificate"), *values))
    first, second = class_view(survey, results).groups
    assert (first.bias, second.bias) == (pytest.approx(0.01), pytest.approx(0.51))
    assert second.references == 3
    assert second.agreement is not None
    assert second.agreement.limits == (pytest.approx(0.4904), pytest.approx(0.5296))
    assert class_view(survey, results).samples[0].reference == survey.known_values[0]
    few = class_view(replace(survey, known_values=tuple(values[:2])), results).groups[1]
    assert (few.references, few.agreement) == (2, None)
    assert class_view(SURVEY, results).groups[0].bias is None


def test_few_groups_accuse_nobody() -> None:
    """Of two or three groups none stands apart; one alone is no comparison."""
    three = [result(v, sample="S1", person=p) for v, p in ((6.0, "A"), (6.0, "B"), (9.0, "C"))]
    (sample,) = class_view(SURVEY, three).samples
    assert not any(item.stands_apart for item in sample.groups)
    assert class_view(SURVEY, three[:1]).samples == ()
    same = [result(6.0, sample="S1", person=p) for p in GROUPS]
    assert all(item.h is None for item in class_view(SURVEY, same).samples[0].groups)
