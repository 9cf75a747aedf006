"""`tintwell practice`: a made-up spill for a class, its samples, and how the groups did."""

import argparse
import math
from collections import defaultdict
from pathlib import Path

from app.errors import OrderError
from app.exports.cell_text import printable
from app.records.tables_in import read_table
from app.site_map.plane import Point
from app.site_map.practice import (
    GroupAnswer,
    PracticePlan,
    judge_answers,
    practice_doubts,
    practice_values,
)
from app.site_map.practice_mix import CITRIC, VINEGAR, recipe
from app.survey.import_tables import read_sites
from app.survey.names import tidy_name
from app.survey.table_rows import Cell, Table, plain_heading
from app.tasks.site_readings import place_sites
from app.terminal.say import remark, say
from app.terminal.words import DONE

ACIDS = {"citric": CITRIC, "vinegar": VINEGAR}
ANSWERS = ("group", "site", "ph", "suspect", "x m", "y m")


def practice(order: argparse.Namespace) -> int:
    """Print what each site is to read and how that is mixed, or how the groups did."""
    sites = read_sites(read_table(Path(order.sites)))
    places, _ = place_sites(sites)
    lost = [site.name for site in sites if site.name not in places]
    if lost:
        raise OrderError(
            f"The site '{lost[0][:40]}' has no place.",
            what_to_do="Give every site map_x_m and map_y_m, metres to the right and up.",
        )
    span = max(math.dist(a, b) for a in places.values() for b in places.values())
    plan = PracticePlan(
        sites=tuple(places.items()),
        background=tuple(tidy_name(n) for n in order.background.split(",") if n.strip()),
        source=parse_place(order.source),
        flow_deg=order.flow,
        reach_m=order.reach or span / 3,
        spread_m=order.spread or span / 20,
        source_ph=order.source_ph,
        background_ph=order.background_ph,
        noise_ph=order.noise,
        seed=order.seed,
    )
    values = practice_values(plan)
    if order.answers is None:
        lines = recipe([name for name, _ in plan.sites], values, ACIDS[order.acid], order.volume)
        said = ["Practice samples (keep this page from the class)", *lines]
        for doubt in practice_doubts(plan, values):
            remark(printable(doubt))
    else:
        answers = read_answers(read_table(Path(order.answers)))
        said = [result.said for result in judge_answers(plan, values, answers)]
    say(printable("\n".join(said)))
    return DONE


def parse_place(text: str) -> Point:
    """Read a place: X,Y in metres.

    Raises
    ------
    OrderError
        If it is none.
    """
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        x = y = math.nan
    if not (math.isfinite(x) and math.isfinite(y)):
        raise OrderError(
            f"'{text[:40]}' is no place.", what_to_do="Give metres to the right and up, as 40,25."
        )
    return x, y


def read_answers(table: Table) -> tuple[GroupAnswer, ...]:
    """Read what groups found: a row a reading, with group, site and ph.

    The suspect and the place of the source (x_m, y_m) stand in any row of the group.

    Raises
    ------
    OrderError
        If the column of the groups is missing, a number is none, or a group names no suspect.
    """
    columns = {plain_heading(heading): i for i, heading in enumerate(table.headings)}
    if "group" not in columns:
        raise OrderError(
            f"{table.name} has no column 'group'.",
            what_to_do="Give the columns group, site, ph, suspect, x_m and y_m.",
        )
    groups: dict[str, dict[str, list[tuple[int, str]]]] = defaultdict(lambda: defaultdict(list))
    for number, cells in table.rows:
        row = {what: _text(cells, columns.get(what)) for what in ANSWERS}
        for what in ANSWERS[1:]:
            if row[what]:
                groups[row["group"]][what].append((number, row[what]))
    return tuple(_answer(table.name, group, said) for group, said in groups.items())


def _answer(name: str, group: str, said: dict[str, list[tuple[int, str]]]) -> GroupAnswer:
    if not said["suspect"]:
        raise OrderError(
            f"Group {group[:40]} names no suspect.",
            what_to_do=f"Fill in the column 'suspect' of {name} in one of its rows.",
        )
    read_at = dict(said["site"])
    readings = tuple(
        (read_at[number], _number(text, number, name))
        for number, text in said["ph"]
        if number in read_at
    )
    spots = [_number(text, number, name) for what in ("x m", "y m") for number, text in said[what]]
    return GroupAnswer(
        group=group,
        readings=readings,
        suspect=said["suspect"][-1][1],
        place=(spots[0], spots[-1]) if len(spots) == 2 else None,
    )


def _text(cells: tuple[Cell, ...], column: int | None) -> str:
    cell = cells[column] if column is not None and column < len(cells) else None
    return "" if cell is None else tidy_name(str(cell))


def _number(text: str, row: int, name: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError as error:
        raise OrderError(
            f"Row {row} of {name}: '{text[:40]}' is no number.",
            what_to_do="Correct it and try again.",
        ) from error
