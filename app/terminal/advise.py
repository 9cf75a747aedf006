"""`tintwell advise`: what the soils of a survey are, and what a crop needs on them."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from app.exports.advice_json import advice_json
from app.exports.cell_text import printable
from app.records.record_book import open_survey
from app.soil.cautions import Caution
from app.soil.crops import Crop, find_crop
from app.soil.region import Region
from app.soil.statement import Advice
from app.soil.table_reader import Citation
from app.survey.names import tidy_name
from app.survey.sample_advice import SampleAdvice, TestedQuantity
from app.survey.survey import Survey
from app.tasks.interpret_survey import AdviceOrder, find_region, interpret_survey
from app.tasks.step import finish
from app.terminal.say import name_some, progress, remark, say
from app.terminal.words import DONE
from app.wording import say_amount, say_count, say_interval

OPTIONS = {"medium_unknown": "--medium", "reaction_other_liquid": "--estimate-water-ph"}
"""How this command is told what an advice asks for."""
MEDIA = {"water": "water", "cacl2": "calcium chloride", "kcl": "potassium chloride"}


def advise(order: argparse.Namespace) -> int:
    """Print the advice on one sample, or on all of soil."""
    region = find_region(order.regions)
    asked = AdviceOrder(
        crop=find_crop(order.crop, own=region.crops),
        region=region,
        sample=None if order.sample is None else tidy_name(order.sample),
        medium=order.medium,
        estimate_water_ph=order.estimate_water_ph,
    )
    with open_survey(Path(order.survey), readonly=True) as book:
        survey = book.survey()
        advised = finish(interpret_survey(survey, book.each_reading(), asked), progress())
    named = {item.sample.label for item in advised}
    left = [s.label for s in survey.samples if s.kind == "soil" and s.label not in named]
    if left and asked.sample is None:
        said = f"Nothing can be said of {name_some(left)}: no reading says what it measures."
        remark(printable(said))
    if order.format == "json":
        say(advice_json(survey, asked.crop, region, advised))
    else:
        say(printable(describe_advice(survey, asked.crop, region, advised)))
    return DONE


def describe_advice(
    survey: Survey, crop: Crop, region: Region, advised: Sequence[SampleAdvice]
) -> str:
    """Write the advice on samples as text: sources and cautions stand once, at the end."""
    sources: dict[Citation, int] = {}
    lines = [f"{survey.name}: {crop.name} by the tables of {region.name}"]
    for item in advised:
        where = "" if item.site is None else f", {item.site.name}"
        lines += ["", f"Sample {item.sample.label}{where}"]
        lines += [f"  {_say_tested(tested)}" for tested in item.tested]
        lines += [f"  {note}" for note in item.notes]
        for advice in item.interpretation.advice:
            lines += _say_advice(advice, sources)
    lines += ["", "Cautions", *_say_cautions(advised)]
    lines += ["", "Sources"] if sources else []
    lines += [
        f"  [{number}] {citation.source}; {citation.region}; {citation.year}"
        for citation, number in sources.items()
    ]
    return "\n".join(lines)


def _say_tested(tested: TestedQuantity) -> str:
    """Write what was measured, of how many readings, and what was left out of it."""
    reading = tested.reading
    is_ph = reading.quantity == "ph"
    unit = "" if is_ph or reading.unit is None else f" {reading.unit}"
    said = say_interval(
        reading.value, reading.low, reading.high, before="pH " if is_ph else "", unit=unit
    )
    facts = [f"in {MEDIA[reading.medium]}"] if reading.medium is not None else []
    facts += [fact for fact in (reading.form, reading.extractant) if fact and not is_ph]
    facts += [f"soil to liquid {reading.ratio}"] if reading.ratio is not None else []
    facts += ["doubtful"] if reading.doubtful else []
    numbers = ", ".join(map(str, tested.numbers))
    if len(tested.numbers) == 1:
        facts.append(f"reading {numbers}")
    elif tested.numbers:
        facts.append(f"{len(tested.numbers)} readings ({numbers})")
    if tested.outlier is not None:
        facts.append(f"reading {tested.outlier} lies far from the others and is in the mean")
    if tested.beyond and reading.value is not None:
        facts.append(f"{say_count(tested.beyond, 'reading')} beyond the chart not counted")
    if tested.refused:
        facts.append(f"{say_count(tested.refused, 'reading')} without a number not counted")
    if tested.blank is not None:
        facts.append(f"blank of {tested.blank:.3g}{unit} taken off")
    name = "" if is_ph else f"{reading.quantity}: "
    return f"{name}{said}; {'; '.join(facts)}" if facts else f"{name}{said}"


def _say_advice(advice: Advice, sources: dict[Citation, int]) -> list[str]:
    """Write one advice; new sources get the next numbers."""
    numbers = [sources.setdefault(citation, len(sources) + 1) for citation in advice.citations]
    marks = "".join(f" [{number}]" for number in dict.fromkeys(numbers))
    lines = [f"  {advice.topic}: {advice.statement}{marks}"]
    lines += [f"      {say_amount(amount)}" for amount in advice.amounts]
    if advice.what_to_do is not None:
        option = f" Option: {OPTIONS[advice.code]}." if advice.code in OPTIONS else ""
        lines.append(f"      {advice.what_to_do}{option}")
    return lines


def _say_cautions(advised: Sequence[SampleAdvice]) -> list[str]:
    """Write each caution once; where it is not for all samples, with those that it is for."""
    samples: dict[Caution, list[str]] = {}
    for item in advised:
        for caution in item.cautions:
            samples.setdefault(caution, []).append(item.sample.label)
    return [
        f"  - {caution.text}"
        + ("" if len(labels) == len(advised) else f" (sample {', '.join(labels)})")
        for caution, labels in samples.items()
    ]
