"""`tintwell advise`: what the soils of a survey are, and what a crop needs on them."""

import argparse
from pathlib import Path

from app.exports.advice_json import advice_json
from app.exports.advice_text import MOST_IN_FULL, describe_advice
from app.exports.cell_text import printable
from app.records.record_book import open_survey
from app.soil.crops import find_crop, shipped_crops
from app.survey.names import tidy_name
from app.tasks.advice_sheets import find_region
from app.tasks.interpret_survey import AdviceOrder, interpret_survey
from app.tasks.step import finish
from app.terminal.advice_words import advice_said
from app.terminal.say import progress, remark, say
from app.terminal.words import DONE

ALL = "all"
"""Stands for every crop that is known."""
OPTIONS = {
    "medium_unknown": "--medium",
    "reaction_other_liquid": "--estimate-water-ph",
    "not_water_ph": "--estimate-water-ph",
    "incomplete": "--form, --basis and --ratio of tintwell calibrate",
    "no_ph": "--lab FILE.csv",
    "lime_rough_guide": "--lab FILE.csv",
    "category_only": "--lab FILE.csv",
    "no_category": "--lab FILE.csv",
    "phosphorus_rules_unknown": "--phosphorus allowed or --phosphorus forbidden",
}
"""How this command is told what an advice asks for."""


def advise(order: argparse.Namespace) -> int:
    """Print the advice on one sample, or on all of soil."""
    asked = _asked(order)
    with open_survey(Path(order.survey), readonly=True) as book:
        advice = finish(interpret_survey(book.survey(), book.each_reading(), asked), progress())
    if order.format == "json":
        say(advice_json(advice))
        return DONE
    text = describe_advice(advice, units=order.units, steps=order.steps, options=OPTIONS)
    say(printable(text))
    if len(advice.samples) > MOST_IN_FULL and not order.steps:
        remark("--sample ID describes one of them in full, --steps all of them.")
    return DONE


def _asked(order: argparse.Namespace) -> AdviceOrder:
    region = find_region(order.regions)
    named = [name for name in order.crops if name.casefold() != ALL]
    crops = [find_crop(name, own=region.crops) for name in named]
    every = (*region.crops, *shipped_crops()) if len(named) < len(order.crops) else ()
    return AdviceOrder(
        crop=crops[0] if crops else None,
        compare=(*crops[1:], *every),
        region=region,
        sample=None if order.sample is None else tidy_name(order.sample),
        **advice_said(order),
    )
