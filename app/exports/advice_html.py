"""Advice as HTML for the window; the words are those of `advice_text`."""

from html import escape

from app.exports.advice_text import (
    in_order,
    say_citation,
    say_marks,
    say_shopping,
    say_step,
    say_tested,
    say_title,
    say_topic,
)
from app.soil.statement import Advice
from app.soil.table_reader import Citation
from app.soil.units import System
from app.survey.sample_advice import SampleAdvice, SurveyAdvice
from app.wording import say_amount, say_figures


def sample_html(
    item: SampleAdvice, whole: SurveyAdvice, units: System | None, *, steps: bool
) -> str:
    """Say what one sample is and needs, with the calculations where they are asked for.

    Every number carries the number of its source, and the sources stand at the end.
    """
    numbers = {citation: n for n, citation in enumerate(whole.sources(steps=True), start=1)}
    used: dict[Citation, None] = {}
    parts = [f"<h3>{escape(say_title(item, units))}</h3>"]
    parts += [f"<p>{escape(say_tested(tested))}</p>" for tested in item.tested]
    parts += [f"<p>{escape(note)}</p>" for note in item.notes]
    for advice in in_order(item):
        parts += _advice(advice, numbers, units, steps=steps)
        used |= dict.fromkeys(advice.citations)
        if steps:
            used |= dict.fromkeys(s.citation for s in advice.steps if s.citation is not None)
    cautions = "".join(f"<li>{escape(caution.text)}</li>" for caution in item.cautions)
    parts.append(f"<h4>Cautions</h4><ul>{cautions}</ul>")
    if used:
        lines = "".join(
            f"<p>[{numbers[citation]}] {escape(say_citation(citation))}</p>" for citation in used
        )
        parts.append(f"<h4>Sources</h4>{lines}")
    return "\n".join(parts)


def _advice(
    advice: Advice, numbers: dict[Citation, int], units: System | None, *, steps: bool
) -> list[str]:
    parts = [f"<h4>{escape(say_topic(advice))}</h4>"]
    if advice.amounts:
        first, *others = advice.amounts
        parts.append(
            f"<p><span style='font-size:large'><b>{escape(say_figures(first, units))}</b></span> "
            f"{escape(first.name)}</p>"
        )
        parts += [f"<p>{escape(say_amount(amount, units))}</p>" for amount in others]
    marks = say_marks(advice.citations, numbers)
    parts.append(f"<p>{escape(advice.statement + marks)}</p>")
    if advice.what_to_do is not None:
        parts.append(f"<p><i>{escape(advice.what_to_do)}</i></p>")
    if steps and advice.steps:
        lines = "".join(f"<li>{escape(say_step(step, numbers))}</li>" for step in advice.steps)
        parts.append(f"<p>How it was worked out:</p><ul>{lines}</ul>")
    return parts


def shopping_html(whole: SurveyAdvice, units: System | None) -> str:
    """Say what is bought for the whole survey, what was left out, and every caution."""
    parts = [f"<h3>All samples of {escape(whole.survey_name)}</h3>"]
    if whole.shopping is None:
        parts.append(
            "<p>Give a list of products (what you have or can buy) to see what to buy.</p>"
        )
    else:
        lines = "".join(
            f"<li>{escape(line.strip())}</li>" for line in say_shopping(whole.shopping, units)
        )
        parts.append(f"<h4>To buy</h4><ul>{lines}</ul>")
    if whole.left_out:
        lines = "".join(f"<li>{escape(label)}: {escape(why)}</li>" for label, why in whole.left_out)
        parts.append(f"<h4>Left out</h4><ul>{lines}</ul>")
    said = "".join(
        f"<li>{escape(caution.text)}"
        + (f" <i>({escape(', '.join(labels))})</i>" if labels else "")
        + "</li>"
        for caution, labels in whole.cautions
    )
    parts.append(f"<h4>Cautions</h4><ul>{said}</ul>")
    return "\n".join(parts)
