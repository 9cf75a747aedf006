"""Say what the soils of a survey are, what a crop needs on them, and what is bought for it."""

import difflib
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from app.errors import OrderError
from app.soil.advice import interpret
from app.soil.crops import Crop, find_crop
from app.soil.ground import Ground
from app.soil.laboratory import LaboratoryValue
from app.soil.mix import Aim
from app.soil.product_sheet import Products
from app.soil.region import Region
from app.soil.soil_reading import Medium
from app.survey.kept_reading import KeptReading
from app.survey.plots import parts_of_sites, plot_of
from app.survey.quality import Key, quality_of, result_of
from app.survey.sample import Sample
from app.survey.sample_advice import SampleAdvice, SurveyAdvice, TestedQuantity
from app.survey.site import Site
from app.survey.soil_tests import SoilTest, put_test_together, soil_test_of
from app.survey.survey import Survey
from app.tasks.plan_purchases import plan_purchases
from app.tasks.step import Step, Task

NO_READING = "no reading says what it measures"
NO_CROP = "its site names no crop that is in the tables"


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceOrder:
    """What is asked.

    Parameters
    ----------
    crop : Crop or None
        What is to grow; None for what each sample's site says.
    compare : tuple of Crop
        Further crops, to say how the soil suits them.
    region : Region
        Whose tables are used.
    sample : str or None
        Label of the only sample that is asked about; None for all soil samples with readings.
    medium : Medium or None
        What the soil was shaken in, where neither method nor chart says.
    estimate_water_ph : bool
        Whether a pH in calcium chloride, or at 1:5, is turned into an estimate in water (1:1).
    products : Products or None
        What the user has or can buy.
    least : {"cost", "excess"} or None
        What the mix of fertilizers is to make least; None for the cost where all have prices.
    laboratory : tuple of LaboratoryValue
        Values typed from a laboratory's report.
    grounds : tuple of Ground
        What else is known of the ground of samples.
    phosphorus_allowed : bool or None
        Whether the rules of the place allow phosphorus; None where nobody asked.
    """

    crop: Crop | None
    region: Region
    compare: tuple[Crop, ...] = ()
    sample: str | None = None
    medium: Medium | None = None
    estimate_water_ph: bool = False
    products: Products | None = None
    least: Aim | None = None
    laboratory: tuple[LaboratoryValue, ...] = ()
    grounds: tuple[Ground, ...] = ()
    phosphorus_allowed: bool | None = None


def interpret_survey(
    survey: Survey, readings: Iterable[KeptReading], order: AdviceOrder
) -> Task[SurveyAdvice]:
    """Put the repeats of each soil sample together and interpret them, a sample a step.

    The last step plans the fertilizers for all of them.

    Parameters
    ----------
    survey : Survey
        Its sites, samples, methods and tests.
    readings : iterable of KeptReading
        All that stand, in the order of keeping; taken one by one.
    order : AdviceOrder
        What is asked.

    Raises
    ------
    OrderError
        If a sample is not there or no soil, or nothing was read.
    """
    _check_named(survey, {value.sample: value.line for value in order.laboratory})
    _check_named(survey, {ground.sample: ground.line for ground in order.grounds})
    wanted = {sample.label: sample for sample in _samples(survey, order.sample)}
    groups, blanks = _collect(survey, readings, wanted)
    measured: dict[str, list[LaboratoryValue]] = defaultdict(list)
    for value in order.laboratory:
        measured[value.sample].append(value)
    heard = (label for label in wanted if groups.get(label) or measured.get(label))
    labels = sorted(heard, key=in_counting_order)
    if not labels:
        what = "soil samples" if order.sample is None else f"sample '{order.sample}'"
        raise OrderError(
            f"The survey holds no reading of the {what} whose chart says what it measures.",
            what_to_do="Keep readings of it with tintwell read and --keep, and a tubes sheet that "
            "names the sample.",
        )
    crops, left_out = _crops(survey, [wanted[label] for label in labels], order)
    left_out += [(label, NO_READING) for label in wanted if label not in labels]
    if not crops:
        raise OrderError(
            "It is not known what is to grow: no site names a crop that is in the tables.",
            what_to_do="Name a crop, or write crops in the table of sites.",
        )
    said, parts = [], parts_of_sites(survey.samples)
    for done, (label, crop) in enumerate(crops.items(), start=1):
        tested = (
            *_tested(label, groups.get(label, {}), blanks, order),
            *(TestedQuantity(reading=value.reading) for value in measured[label]),
        )
        said.append(_advise(survey, wanted[label], parts[label], tested, crop, order))
        yield Step(done=done, total=len(crops) + 1, note=label)
    samples, shopping = plan_purchases(said, order.products, order.least)
    yield Step(done=len(crops) + 1, total=len(crops) + 1, note="what is bought")
    return SurveyAdvice(
        survey_id=survey.id,
        survey_name=survey.name,
        region=order.region.name,
        samples=samples,
        left_out=tuple(sorted(left_out, key=lambda item: in_counting_order(item[0]))),
        shopping=shopping,
    )


def in_counting_order(label: str) -> tuple[tuple[bool, int, str], ...]:
    """Return what labels are sorted by, so that F2 stands before F10.

    Examples
    --------
    >>> sorted(["F10", "F2", "E"], key=in_counting_order)
    ['E', 'F2', 'F10']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", label)
    return tuple((not p.isdigit(), int(p) if p.isdigit() else 0, p) for p in parts)


def _check_named(survey: Survey, lines: Mapping[str, int]) -> None:
    """Refuse a sheet that names, at some line, what is no soil sample of the survey."""
    known = {sample.label for sample in survey.samples if sample.kind == "soil"}
    for label, line in lines.items():
        if label not in known:
            raise OrderError(
                f"Line {line}: the survey has no soil sample '{label[:40]}'.",
                what_to_do="Correct the label, or add the sample to the survey.",
            )


def _samples(survey: Survey, label: str | None) -> tuple[Sample, ...]:
    """Return the soil samples that are asked about."""
    if label is None:
        return tuple(sample for sample in survey.samples if sample.kind == "soil")
    for sample in survey.samples:
        if sample.label == label:
            if sample.kind != "soil":
                raise OrderError(
                    f"The sample '{label}' is no soil ({sample.kind}).",
                    what_to_do="Choose a sample of soil.",
                )
            return (sample,)
    near = difflib.get_close_matches(label, [sample.label for sample in survey.samples], n=3)
    hint = f"Did you mean {' or '.join(near)}?" if near else "Leave it out for all samples."
    raise OrderError(f"The survey has no sample '{label[:40]}'.", what_to_do=hint)


def _crops(
    survey: Survey, samples: Sequence[Sample], order: AdviceOrder
) -> tuple[dict[str, Crop], list[tuple[str, str]]]:
    """Return what is to grow on each sample's ground, and the samples for which nobody says."""
    if order.crop is not None:
        return {sample.label: order.crop for sample in samples}, []
    sites = {site.name: site for site in survey.sites}
    found: dict[str, Crop] = {}
    unknown = []
    for sample in samples:
        site = sites.get(sample.site or "")
        try:
            found[sample.label] = find_crop((site and site.crop) or "", own=order.region.crops)
        except OrderError:
            unknown.append((sample.label, NO_CROP))
    return found, unknown


Groups = dict[str, dict[SoilTest, list[KeptReading]]]


def _collect(
    survey: Survey, readings: Iterable[KeptReading], wanted: Mapping[str, Sample]
) -> tuple[Groups, dict[Key, float]]:
    """Sort the readings by sample and test; find the blanks that a method takes off."""
    methods = {method.name: method for method in survey.methods}
    method_of = {test.id: methods.get(test.method or "") for test in survey.tests}
    groups: Groups = {}
    results = []
    for kept in readings:
        result = result_of(kept)
        if result is not None:
            results.append(result)
        label = kept.line.entry.sample or ""
        test = soil_test_of(kept, method_of.get(kept.test or ""))
        if label in wanted and test is not None and kept.line.entry.role == "sample":
            groups.setdefault(label, defaultdict(list))[test].append(kept)
    if not any(method.subtract_blank for method in survey.methods):
        return groups, {}
    pooled = quality_of(survey, results).pooled
    blanks = {(p.sample, p.quantity, p.unit): p.blank for p in pooled if p.blank is not None}
    return groups, blanks


def _tested(
    label: str,
    tests: Mapping[SoilTest, Sequence[KeptReading]],
    blanks: Mapping[Key, float],
    order: AdviceOrder,
) -> Iterable[TestedQuantity]:
    """Put the repeats of each test together: pH, then by the names of the quantities."""
    for test in sorted(tests, key=lambda test: (not test.analyte.is_ph, test.quantity)):
        blank = blanks.get((label, test.quantity, test.analyte.unit))
        yield put_test_together(test, tests[test], blank=blank, medium=order.medium)


def _advise(
    survey: Survey,
    sample: Sample,
    parts: int,
    tested: tuple[TestedQuantity, ...],
    crop: Crop,
    order: AdviceOrder,
) -> SampleAdvice:
    site = _site_of(survey, sample)
    plot, notes = plot_of(sample, site, parts=parts, suspected=survey.suspected_contamination)
    plot = replace(plot, phosphorus_allowed=order.phosphorus_allowed)
    for ground in order.grounds:
        plot = ground.laid_on(plot) if ground.sample == sample.label else plot
    interpretation = interpret(
        [item.reading for item in tested],
        plot,
        crop,
        order.region,
        compare=order.compare,
        products=order.products,
        estimate_water_ph=order.estimate_water_ph,
    )
    return SampleAdvice(
        sample=sample,
        site=site,
        plot=plot,
        crop=crop,
        tested=tested,
        notes=notes,
        interpretation=interpretation,
    )


def _site_of(survey: Survey, sample: Sample) -> Site | None:
    return next((site for site in survey.sites if site.name == sample.site), None)
