"""Say what the soils of a survey are and what a crop needs on them."""

import difflib
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from app.errors import OrderError
from app.soil.advice import interpret
from app.soil.crops import Crop
from app.soil.region import Region, own_region, shipped_region
from app.soil.soil_reading import Medium, Plot, SoilReading, textures
from app.survey.kept_reading import KeptReading
from app.survey.method import Method
from app.survey.quality import Key, quality_of, result_of
from app.survey.repeats import Repeat, put_together
from app.survey.sample import Sample
from app.survey.sample_advice import SampleAdvice, TestedQuantity
from app.survey.site import Site
from app.survey.survey import Survey
from app.tasks.step import Step, Task
from calibration.errors import AnalyteError
from calibration.indicator import Analyte, normal_ratio

M2_PER_HA = 10_000
CONTAMINATION = "contaminat"
"""A site whose land use holds this ("suspected contamination") gets no amounts."""

_MEDIA: tuple[tuple[str, Medium], ...] = (
    *(("cacl2", "cacl2"), ("calciumchloride", "cacl2")),
    *(("kcl", "kcl"), ("potassiumchloride", "kcl")),
    *(("water", "water"), ("h2o", "water")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceOrder:
    """What is asked.

    Parameters
    ----------
    crop : Crop
        What is to grow.
    region : Region
        Whose tables are used.
    sample : str or None
        Label of the only sample that is asked about; None for all soil samples with readings.
    medium : Medium or None
        What the soil was shaken in, where neither method nor chart says.
    estimate_water_ph : bool
        Whether a pH in calcium chloride is turned into an estimate in water.
    """

    crop: Crop
    region: Region
    sample: str | None = None
    medium: Medium | None = None
    estimate_water_ph: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Test:
    """What is known of how a reading came about; readings that share it are repeats."""

    analyte: Analyte
    quantity: str
    ratio: str | None
    extractant: str | None


def interpret_survey(
    survey: Survey, readings: Iterable[KeptReading], order: AdviceOrder
) -> Task[tuple[SampleAdvice, ...]]:
    """Put the repeats of each soil sample together and interpret them, a sample a step.

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
        If the sample is not there or no soil, or nothing was read.
    """
    wanted = {sample.label: sample for sample in _samples(survey, order.sample)}
    sites = {site.name: site for site in survey.sites}
    groups, blanks = _collect(survey, readings, wanted)
    if not groups:
        what = "soil samples" if order.sample is None else f"sample '{order.sample}'"
        raise OrderError(
            f"The survey holds no reading of the {what} whose chart says what it measures.",
            what_to_do="Keep readings of it with tintwell read and --keep, and a tubes sheet that "
            "names the sample.",
        )
    said = []
    for done, label in enumerate(sorted(groups), start=1):
        sample = wanted[label]
        said.append(_advise(sample, sites.get(sample.site or ""), groups[label], blanks, order))
        yield Step(done=done, total=len(groups), note=label)
    return tuple(said)


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


Groups = dict[str, dict[_Test, list[KeptReading]]]


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
        test = _test_of(kept, method_of.get(kept.test or ""))
        if label in wanted and test is not None and kept.line.entry.role == "sample":
            groups.setdefault(label, defaultdict(list))[test].append(kept)
    if not any(method.subtract_blank for method in survey.methods):
        return groups, {}
    pooled = quality_of(survey, results).pooled
    blanks = {(p.sample, p.quantity, p.unit): p.blank for p in pooled if p.blank is not None}
    return groups, blanks


def _test_of(kept: KeptReading, method: Method | None) -> _Test | None:
    """Return how a reading came about; None where its chart does not say what it measures.

    What was done (the method of the test) goes before what the chart was made for.
    """
    chart = kept.line.chart
    if chart is None or chart.analyte.quantity is None:
        return None
    ratio = None if method is None else _ratio(method.ratio)
    extractant = None if method is None else method.extractant
    return _Test(
        analyte=chart.analyte,
        quantity=chart.analyte.quantity,
        ratio=ratio or chart.analyte.ratio,
        extractant=extractant or chart.extractant,
    )


def _ratio(text: str | None) -> str | None:
    """Return a method's ratio, which is the user's own text; None where it is no ratio."""
    try:
        return normal_ratio(text)
    except AnalyteError:
        return None


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


def _advise(
    sample: Sample,
    site: Site | None,
    tests: Mapping[_Test, Sequence[KeptReading]],
    blanks: Mapping[Key, float],
    order: AdviceOrder,
) -> SampleAdvice:
    tested = tuple(
        _together(test, group, blanks.get((sample.label, test.quantity, test.analyte.unit)), order)
        for test, group in sorted(tests.items(), key=lambda item: _place(item[0]))
    )
    plot, notes = plot_of(sample, site)
    interpretation = interpret(
        [item.reading for item in tested],
        plot,
        order.crop,
        order.region,
        estimate_water_ph=order.estimate_water_ph,
    )
    return SampleAdvice(
        sample=sample,
        site=site,
        plot=plot,
        tested=tested,
        notes=notes,
        interpretation=interpretation,
    )


def _place(test: _Test) -> tuple[bool, str]:
    """Order tests: pH, then by the names of the quantities."""
    return not test.analyte.is_ph, test.quantity


def _together(
    test: _Test, group: Sequence[KeptReading], blank: float | None, order: AdviceOrder
) -> TestedQuantity:
    """Make one reading of the repeats of a test."""
    valued = [kept for kept in group if kept.line.reading.value is not None]
    beyond = [kept for kept in group if _is_beyond(kept)]
    value, low, high = _span_beyond(beyond)
    outlier = None
    if valued:
        repeats = [_repeat(kept) for kept in valued]
        found = put_together(repeats)
        off = blank or 0.0
        value = found.value - off
        low = None if found.low is None else found.low - off
        high = None if found.high is None else found.high - off
        outlier = None if found.outlier is None else valued[found.outlier].id
    counted = valued or beyond
    reading = SoilReading(
        quantity=test.quantity,
        unit=test.analyte.unit,
        value=value,
        low=low,
        high=high,
        form=test.analyte.form,
        basis=test.analyte.basis,
        ratio=test.ratio,
        extractant=test.extractant,
        medium=(medium_of(test.extractant) or order.medium) if test.analyte.is_ph else None,
        source="colour",
        doubtful=any(kept.line.reading.status == "doubtful" for kept in (*counted, *beyond)),
    )
    return TestedQuantity(
        reading=reading,
        numbers=tuple(kept.id for kept in counted),
        outlier=outlier,
        beyond=len(beyond),
        refused=len(group) - len(valued) - len(beyond),
        blank=blank if valued else None,
    )


def _is_beyond(kept: KeptReading) -> bool:
    reading = kept.line.reading
    return reading.value is None and (reading.low is not None or reading.high is not None)


def _repeat(kept: KeptReading) -> Repeat:
    reading = kept.line.reading
    assert reading.value is not None  # only readings with a value come here
    return Repeat(value=reading.value, low=reading.low, high=reading.high)


def _span_beyond(beyond: Sequence[KeptReading]) -> tuple[None, float | None, float | None]:
    """Return the one open end that all readings beyond the chart agree on; else no end."""
    lows = [k.line.reading.low for k in beyond if k.line.reading.low is not None]
    highs = [k.line.reading.high for k in beyond if k.line.reading.high is not None]
    if lows and highs:
        return None, None, None
    return None, min(lows, default=None), max(highs, default=None)


def plot_of(sample: Sample, site: Site | None) -> tuple[Plot, tuple[str, ...]]:
    """Return the ground of a sample, and what the survey says of it that could not be used."""
    notes = []
    texture = None if sample.texture is None else " ".join(sample.texture.casefold().split())
    if texture is not None and texture not in textures():
        notes.append(
            f"The texture '{sample.texture}' is not one of {', '.join(textures())}: it is left out."
        )
        texture = None
    bottom, area = sample.depth_bottom_cm, None if site is None else site.area_ha
    plot = Plot(
        name=sample.label if site is None else site.name,
        area_m2=None if area is None else area * M2_PER_HA,
        depth_cm=None if not bottom else bottom - (sample.depth_top_cm or 0.0),
        texture=texture,
        suspected_contamination=site is not None
        and CONTAMINATION in (site.land_use or "").casefold(),
    )
    return plot, tuple(notes)


def find_region(names: Sequence[str]) -> Region:
    """Return a region by its name, or one made of the user's own tables (CSV files).

    Raises
    ------
    TintwellError
        If there is no such region, or a table cannot be used.
    """
    files = [Path(name) for name in names if name.casefold().endswith(".csv")]
    if not files and len(names) == 1:
        return shipped_region(names[0])
    if len(files) != len(names):
        raise OrderError(
            "A region's name goes with no other table.",
            what_to_do="Give one region by its name, or tables of your own (CSV files) alone.",
        )
    return own_region([(file.name, _text_of(file)) for file in files])


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise OrderError(
            f"The table {file} cannot be read ({error.strerror}).",
            what_to_do="Check the name and the folder.",
        ) from error
    except UnicodeDecodeError as error:
        raise OrderError(
            f"The table {file} is not text in UTF-8.",
            what_to_do="Save it as 'CSV UTF-8' in the spreadsheet program.",
        ) from error
