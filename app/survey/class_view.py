"""Groups that measure the same samples: their spread, who differs on which, and by how much.

A group is whoever keeps readings under one code: a person, a bench of a class, a crew.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from app.survey.agreement import Agreement, bland_altman, mandel_h_critical
from app.survey.quality import Key, Result, Series
from app.survey.sample import KnownFrom, KnownValue
from app.survey.survey import Survey

FEWEST_TO_STAND_APART = 4
"""Groups: of three, the one in the middle makes either other one look strange."""

_TRUSTED: tuple[KnownFrom, ...] = ("certificate", "laboratory", "electrode")
"""Where several references are known of a sample, the first of these is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupResult:
    """What one group found in one sample.

    Parameters
    ----------
    group : str
        Its code.
    n : int
        Its results.
    mean : float
        Their mean.
    h : float or None
        Mandel's h: how far its mean lies from the mean of all groups' means, in standard deviations
        of those; None where the means do not differ or there are two of them.
    stands_apart : bool
        Whether h is beyond what one sample in twenty shows by chance.
    from_reference : float or None
        Its mean less the reference; None where there is none.
    """

    group: str
    n: int
    mean: float
    h: float | None
    stands_apart: bool
    from_reference: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedSample:
    """One sample that several groups measured.

    Parameters
    ----------
    sample, quantity, unit : str
        What was measured.
    mean, s : float
        Mean of the groups' means, and their standard deviation.
    reference : KnownValue or None
        What the sample is known to be.
    groups : tuple of GroupResult
        In the order of their codes.
    """

    sample: str
    quantity: str
    unit: str | None
    mean: float
    s: float
    reference: KnownValue | None
    groups: tuple[GroupResult, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupOverall:
    """One group over all samples of a quantity that it shares with others.

    Parameters
    ----------
    group, quantity, unit : str
        Who, and what was measured.
    samples : int
        Shared samples that it measured.
    from_others : float
        Mean of its mean less the mean of all groups.
    apart_on : tuple of str
        Samples on which it stands apart.
    references : int
        Samples with a reference that it measured.
    bias : float or None
        Mean of its mean less the reference; None where there is no reference.
    agreement : Agreement or None
        Bias and limits of agreement; None for fewer than three references.
    """

    group: str
    quantity: str
    unit: str | None
    samples: int
    from_others: float
    apart_on: tuple[str, ...]
    references: int
    bias: float | None
    agreement: Agreement | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassView:
    """All shared samples, and all groups.

    Parameters
    ----------
    samples : tuple of SharedSample
        In the order of quantities and labels.
    groups : tuple of GroupOverall
        In the order of quantities and codes.
    """

    samples: tuple[SharedSample, ...]
    groups: tuple[GroupOverall, ...]


def class_view(survey: Survey, results: Iterable[Result]) -> ClassView:
    """Compare the groups of a survey on the samples that two or more of them measured.

    References
    ----------
    Mandel's h and its critical value: see `mandel_h_critical`. Bias and limits of agreement:
    Bland & Altman 1986, Lancet i, 307-310.
    """
    found: dict[Series, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for result in results:
        found[result.series][result.person].append(result.value)
    references = _references(survey.known_values)
    ordered = sorted(found, key=lambda series: (series.quantity, *map(str, series)))
    samples = tuple(
        _shared(series, found[series], references.get(series.key))
        for series in ordered
        if len(found[series]) > 1
    )
    return ClassView(samples=samples, groups=_overall(samples))


def _references(known: Iterable[KnownValue]) -> dict[Key, KnownValue]:
    ordered = sorted(known, key=lambda value: -_TRUSTED.index(value.source))
    return {(value.sample, value.quantity, value.unit): value for value in ordered}


def _shared(
    series: Series, groups: dict[str, list[float]], reference: KnownValue | None
) -> SharedSample:
    means = {group: fmean(values) for group, values in sorted(groups.items())}
    center, s = fmean(means.values()), stdev(means.values())
    scored = len(means) > 2 and s > 1e-9
    limit = mandel_h_critical(len(means)) if len(means) >= FEWEST_TO_STAND_APART else None
    found = []
    for group, mean in means.items():
        h = (mean - center) / s if scored else None
        found.append(
            GroupResult(
                group=group,
                n=len(groups[group]),
                mean=mean,
                h=h,
                stands_apart=h is not None and limit is not None and abs(h) > limit,
                from_reference=None if reference is None else mean - reference.value,
            )
        )
    return SharedSample(
        sample=series.sample,
        quantity=series.quantity,
        unit=series.unit,
        mean=center,
        s=s,
        reference=reference,
        groups=tuple(found),
    )


def _overall(samples: Sequence[SharedSample]) -> tuple[GroupOverall, ...]:
    places: dict[tuple[str, str, str | None], list[tuple[SharedSample, GroupResult]]] = {}
    for sample in samples:
        for item in sample.groups:
            key = sample.quantity, item.group, sample.unit
            places.setdefault(key, []).append((sample, item))
    overall = []
    for (quantity, group, unit), both in sorted(places.items(), key=lambda item: str(item[0])):
        pairs = [(i.mean, s.reference.value) for s, i in both if s.reference is not None]
        overall.append(
            GroupOverall(
                group=group,
                quantity=quantity,
                unit=unit,
                samples=len(both),
                from_others=fmean(item.mean - sample.mean for sample, item in both),
                apart_on=tuple(sample.sample for sample, item in both if item.stands_apart),
                references=len(pairs),
                bias=fmean(mean - value for mean, value in pairs) if pairs else None,
                agreement=bland_altman(pairs),
            )
        )
    return tuple(overall)
