"""Advice as text: the one place that words it, for terminal, window and report.

What to do comes first, then why, then the sources and cautions, each once and by its number.
"""

import textwrap
from collections.abc import Mapping

from app.soil.lime import find_lime_method
from app.soil.shopping import ShoppingLine, ShoppingList
from app.soil.statement import Advice, CalculationStep, percent
from app.soil.table_reader import Citation
from app.soil.units import Amount, System
from app.survey.sample_advice import SampleAdvice, SurveyAdvice, TestedQuantity
from app.wording import say_amount, say_count, say_figures, say_interval

MEDIA = {"water": "water", "cacl2": "calcium chloride", "kcl": "potassium chloride"}
TOPICS = {
    "reaction": "Soil",
    "crop": "Crop",
    "lime": "Lime",
    "sulphur": "Sulphur",
    "fertiliser": "Fertilizer",
}
OVERVIEW = ("sample", "site", "pH", "reaction", "crop suits", "lime or sulphur", "fertilizer")
"""Headings of the overview, one row a sample."""
WIDTH = 100
MOST_IN_FULL = 5
"""Samples that are described one by one without being asked for."""

_IMPORTANCE = ("lime", "sulphur", "fertiliser", "reaction", "crop", "nutrient")


def describe_advice(
    advice: SurveyAdvice,
    *,
    units: System | None = None,
    steps: bool = False,
    options: Mapping[str, str] | None = None,
) -> str:
    """Write all advice on a survey.

    Several samples begin with an overview; more than `MOST_IN_FULL` are described one by one only
    with their calculations.

    Parameters
    ----------
    advice : SurveyAdvice
        What is said.
    units : {"si", "us"} or None
        None for both.
    steps : bool
        Whether every number is followed by how it came about.
    options : mapping, optional
        For the codes of advice: how the reader can tell the program what it asks for.
    """
    crops = advice.crops
    crop = crops[0].name if len(crops) == 1 else say_count(len(crops), "crop")
    lines = [f"{advice.survey_name}: {crop}, by the tables of {advice.region}"]
    several, in_full = len(advice.samples) > 1, steps or len(advice.samples) <= MOST_IN_FULL
    if several:
        lines += ["", *_columns(OVERVIEW, [overview_row(item, units) for item in advice.samples])]
    shopping = advice.shopping
    if shopping is not None and (several or any(line.cost or line.bags for line in shopping.lines)):
        lines += ["", "To buy", *say_shopping(shopping, units)]
    sources = advice.sources(steps=steps)
    numbers = {citation: number for number, citation in enumerate(sources, start=1)}
    for item in advice.samples if in_full else ():
        lines += ["", *_say_sample(item, numbers, units, steps, options or {})]
    if advice.left_out:
        lines += ["", "Left out", *(f"  {label}: {why}" for label, why in advice.left_out)]
    lines += ["", "Cautions", *_say_cautions(advice)]
    lines += ["", "Sources"] if sources else []
    for citation, number in numbers.items():
        lines += _wrapped(f"[{number}] {say_citation(citation)}", "  ", "      ")
    return "\n".join(lines)


def _say_cautions(advice: SurveyAdvice) -> list[str]:
    """Write each caution once; where it is not for all samples, for which."""
    lines = []
    for caution, labels in advice.cautions:
        whom = f" (sample {', '.join(labels)})" if labels else ""
        if len(labels) > MOST_IN_FULL:
            whom = f" ({len(labels)} of {len(advice.samples)} samples)"
        lines += _wrapped(f"- {caution.text}{whom}", "  ", "    ")
    return lines


def say_citation(citation: Citation) -> str:
    """Write where a number stands printed, where it holds, and of which year it is."""
    return f"{citation.source}; {citation.region}; {citation.year}"


def overview_row(item: SampleAdvice, units: System | None = None) -> tuple[str, ...]:
    """Return a sample's row of the overview, in the order of `OVERVIEW`."""
    found = item.interpretation
    ph = next((t for t in item.tested if t.reading.quantity == "ph"), None)
    reaction = next((a for a in found.advice if a.code == "reaction_class" and a.shares), None)
    classes = [] if reaction is None else sorted(reaction.shares, key=lambda s: -s.probability)
    fit = next((fit for fit in found.fits if fit.crop == item.crop), None)
    return (
        item.sample.label,
        "" if item.site is None else item.site.name,
        "" if ph is None else say_value(ph).replace("pH ", ""),
        "" if not classes else classes[0].label,
        item.crop.name if fit is None else f"{item.crop.name} {percent(fit.inside)}",
        _say_amendment(item, units),
        _say_need(item, units),
    )


def _say_amendment(item: SampleAdvice, units: System | None) -> str:
    for advice in item.interpretation.advice:
        if advice.code == "amounts_withheld":
            return "no amounts: suspicion"
        if advice.topic in ("lime", "sulphur"):
            if advice.code == "nothing_needed":
                return "none needed"
            if advice.repeat_first:
                return f"{advice.topic}? repeat the test"
            if not advice.amounts:
                return "no amount"
            return f"{advice.topic} {say_figures(advice.amounts[0], units or 'si')}"
    return ""


def _say_need(item: SampleAdvice, units: System | None) -> str:
    """Write what is wanted of each nutrient; "?" where nothing can be said without a test."""
    said = []
    for advice in item.interpretation.advice:
        if advice.topic == "fertiliser" and advice.subject:
            figures = say_figures(advice.amounts[0], units or "si") if advice.amounts else "?"
            none = advice.code == "phosphorus_forbidden"
            said.append(f"{advice.subject} {'none' if none else figures}")
    return "; ".join(said)


def say_shopping(shopping: ShoppingList, units: System | None = None) -> list[str]:
    """Write the shopping list, a product a line, and what is not in it."""
    lines = [f"  {_say_line(line, units)}" for line in shopping.lines]
    if shopping.cost is not None:
        lines.append(f"  all together: {say_figures(shopping.cost)} in your money")
    if shopping.aim is not None:
        lines.append(f"  The mix of fertilizers is the one of least {shopping.aim}.")
    if shopping.problem is not None:
        lines += _wrapped(shopping.problem, "  ", "  ")
    if shopping.wait:
        text = f"Repeat the test first, no lime or sulphur yet: {', '.join(shopping.wait)}."
        lines += _wrapped(text, "  ", "  ")
    if shopping.without_area:
        text = f"Not in the list, the area is not known: {', '.join(shopping.without_area)}."
        lines += _wrapped(text, "  ", "  ")
    return lines


def _say_line(line: ShoppingLine, units: System | None) -> str:
    said = f"{line.name}: {say_figures(line.mass, units)}"
    if line.bags is not None:
        said += f"; {say_amount(line.bags)}"
    return said if line.cost is None else f"{said}; {say_amount(line.cost)}"


def _say_sample(
    item: SampleAdvice,
    numbers: Mapping[Citation, int],
    units: System | None,
    steps: bool,
    options: Mapping[str, str],
) -> list[str]:
    lines = [say_title(item, units)]
    for tested in item.tested:
        lines += _wrapped(say_tested(tested), "  ", "      ")
    for note in item.notes:
        lines += _wrapped(note, "  ", "  ")
    for advice in in_order(item):
        lines += _say_advice(advice, numbers, units, options)
        if steps:
            for step in advice.steps:
                lines += _wrapped(f"= {say_step(step, numbers)}", "      ", "        ")
    return lines


def say_title(item: SampleAdvice, units: System | None = None) -> str:
    """Write whose ground is spoken of: label, site, crop, area, depth, texture."""
    name = item.sample.label if item.site is None else f"{item.sample.label}, {item.site.name}"
    plot = item.plot
    facts = [item.crop.name]
    if plot.area_m2 is not None:
        facts[0] += f" on {_say_exactly(plot.area_m2, 'm2', units)}"
    if plot.depth_cm is not None:
        facts.append(f"{_say_exactly(plot.depth_cm, 'cm', units)} deep")
    facts += [plot.texture] if plot.texture is not None else []
    return f"Sample {name}: {', '.join(facts)}"


def _say_exactly(number: float, unit: str, units: System | None) -> str:
    """Write what the user gave as it was given, and its counterpart to three digits."""
    given = Amount(name="", unit=unit, best=number)
    if units == "us":
        return say_figures(given, "us")
    return f"{number:g} {unit}" + ("" if units == "si" else f" ({say_figures(given, 'us')})")


def in_order(item: SampleAdvice) -> tuple[Advice, ...]:
    """Return the advice on a sample, what to do first; a mix before the needs that it meets."""

    def rank(advice: Advice) -> tuple[bool, int, bool]:
        is_withheld = advice.code == "amounts_withheld"
        return not is_withheld, _IMPORTANCE.index(advice.topic), advice.code != "mix"

    return tuple(sorted(item.interpretation.advice, key=rank))


def say_value(tested: TestedQuantity) -> str:
    """Write a value with its interval and unit."""
    reading = tested.reading
    is_ph = reading.quantity in ("ph", "buffer_ph")
    if reading.value is not None and reading.low is None and reading.high is None:
        return f"pH {reading.value:g}" if is_ph else f"{reading.value:g} {reading.unit or ''}"
    unit = "" if is_ph or reading.unit is None else f" {reading.unit}"
    before = "pH " if is_ph else ""
    return say_interval(reading.value, reading.low, reading.high, before=before, unit=unit)


def say_tested(tested: TestedQuantity) -> str:
    """Write what was measured, of how many readings, and what was left out of it."""
    reading = tested.reading
    is_ph = reading.quantity == "ph"
    facts = [f"in {MEDIA[reading.medium]}"] if reading.medium is not None else []
    facts += [fact for fact in (reading.form, reading.extractant) if fact and not is_ph]
    facts += [f"soil to liquid {reading.ratio}"] if reading.ratio is not None else []
    facts += [find_lime_method(reading.method).title] if reading.method is not None else []
    facts += ["by a laboratory"] if reading.source == "laboratory" else []
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
        facts.append(f"blank of {tested.blank:.3g} taken off")
    words = {"ph": "", "buffer_ph": "buffer "}
    name = words.get(reading.quantity, f"{reading.quantity.replace('_', ' ')}: ")
    return f"{name}{'; '.join([say_value(tested), *facts])}"


def _say_advice(
    advice: Advice,
    numbers: Mapping[Citation, int],
    units: System | None,
    options: Mapping[str, str],
) -> list[str]:
    """Write one advice: its first amount beside its topic, then why, then the other amounts."""
    topic = say_topic(advice)
    marks = say_marks(advice.citations, numbers)
    lines = []
    if advice.amounts:
        first = advice.amounts[0]
        lines += [f"  {topic}: {say_figures(first, units)}, {first.name}"]
        lines += [f"      {say_amount(amount, units)}" for amount in advice.amounts[1:]]
        lines += _wrapped(f"{advice.statement}{marks}", "      ", "      ")
    else:
        lines += _wrapped(f"{topic}: {advice.statement}{marks}", "  ", "      ")
    if advice.what_to_do is not None:
        option = f" Option: {options[advice.code]}." if advice.code in options else ""
        lines += _wrapped(f"{advice.what_to_do}{option}", "      ", "      ")
    return lines


def say_topic(advice: Advice) -> str:
    """Write what an advice is about, as a heading.

    Examples
    --------
    >>> say_topic(Advice(topic="fertiliser", subject="K2O", code="requirement", statement=""))
    'Fertilizer K2O'
    """
    if advice.topic == "nutrient":
        return advice.subject.capitalize()
    return f"{TOPICS[advice.topic]} {advice.subject}".rstrip()


def say_marks(citations: tuple[Citation, ...], numbers: Mapping[Citation, int]) -> str:
    """Write the numbers of sources, each once."""
    return "".join(f" [{numbers[citation]}]" for citation in dict.fromkeys(citations))


def say_step(step: CalculationStep, numbers: Mapping[Citation, int]) -> str:
    """Write one line of a calculation: what was looked up or done, its source, what came out.

    Always in both systems of units, for one of them is the source's own.
    """
    marks = "" if step.citation is None else say_marks((step.citation,), numbers)
    result = "" if step.result is None else f" = {say_figures(step.result)}"
    return f"{step.text}{result}{marks}"


def _wrapped(text: str, first: str, other: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=other,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _columns(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> list[str]:
    """Set rows in columns, two blanks apart; a column without anything is left out."""
    shown = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    table = [[cells[i] for i in shown] for cells in (heads, *rows)]
    widths = [max(len(cells[i]) for cells in table) for i in range(len(shown))]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()
        for cells in table
    ]
