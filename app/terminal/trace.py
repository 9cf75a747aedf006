"""`tintwell trace`: where what was spilled may have come from, and why that is thought."""

import argparse
import math
from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path

from app.errors import OrderError
from app.exports.cell_text import printable
from app.exports.map_geojson import write_map_geojson
from app.exports.map_picture import write_map_picture
from app.exports.trace_json import trace_json
from app.exports.whole_file import check_free
from app.records.errors import RecordsReadOnlyError
from app.records.record_book import open_survey
from app.records.tables_in import read_table
from app.site_map.map_view import MapView
from app.site_map.water_table import find_material
from app.survey.names import tidy_name
from app.tasks.step import finish
from app.tasks.trace_source import MapOrder, must_be_marked, trace_source
from app.terminal.say import progress, remark, say
from app.terminal.say_trace import describe_trace
from app.terminal.survey import open_to_write
from app.terminal.words import DONE


def trace(order: argparse.Namespace) -> int:
    """Print where a source may lie, and write the map where that is asked for."""
    target = None if order.map is None else Path(order.map)
    if target is not None and target.suffix.casefold() not in (".png", ".svg", ".geojson"):
        raise OrderError(
            f"'{target.name}' does not say which kind of map is wanted.",
            what_to_do="Give a name that ends in .png, .svg or .geojson.",
        )
    if target is not None:
        check_free(target, replace=order.replace)
    check_seed(order.seed)
    names = tuple(tidy_name(name) for name in order.background.split(",") if name.strip())
    if not names:
        raise OrderError(
            "There is no background site to compare with.",
            what_to_do="Name the sites that the spill cannot have reached: --background A,B,C.",
        )
    asked = MapOrder(
        quantity=tidy_name(order.quantity).casefold(),
        background=names,
        direction=parse_direction(order.direction),
        heads={} if order.heads is None else read_heads(Path(order.heads)),
        kind=order.kind,
        seed=order.seed,
        taken_on=parse_day(order.taken_on),
        depth_cm=parse_depth(order.depth),
        material=None if order.material is None else find_material(order.material),
    )
    with open_survey(Path(order.survey), readonly=True) as book:
        survey = book.survey()
        view = finish(trace_source(survey, book.each_reading(), asked), progress())
    if order.format == "json":
        say(trace_json(view, seed=order.seed))
    else:
        say(printable(describe_trace(view)))
    if must_be_marked(survey, view):
        _mark(Path(order.survey))
    if target is not None:
        _write(view, target, with_positions=order.with_positions)
    return DONE


def _mark(folder: Path) -> None:
    """Mark a survey that looks for a source, so that no amounts are advised for its ground."""
    try:
        with open_to_write(folder) as book:
            book.suspect_contamination(True, person="me", now=datetime.now().astimezone())
    except RecordsReadOnlyError as error:
        remark(printable(f"It was not marked as ground under suspicion. {error.what_happened}"))
        return
    remark(
        "Marked the survey as ground under suspicion: no amounts are advised for it. The page "
        "Samples of the window takes the mark away."
    )


def _write(view: MapView, target: Path, *, with_positions: bool) -> None:
    if target.suffix.casefold() == ".geojson":
        write_map_geojson(view, target, with_positions=with_positions)
        if not with_positions:
            remark("No shape in it has a place: --with-positions lets them go out.")
    else:
        write_map_picture(view, target)
    remark(printable(f"Wrote the map to {target}."))


def check_seed(seed: int) -> None:
    """Refuse a seed below zero.

    Raises
    ------
    OrderError
        If it is.
    """
    if seed < 0:
        raise OrderError(f"The seed {seed} is negative.", what_to_do="Give 0 or more.")


def parse_day(text: str | None) -> date | None:
    """Day of samples.

    Raises
    ------
    OrderError
        If it is none.
    """
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise OrderError(
            f"'{text[:40]}' is no day.", what_to_do="Give it as 2026-05-01."
        ) from error


def parse_depth(text: str | None) -> tuple[float, float] | None:
    """Top and bottom of samples, centimetres.

    Raises
    ------
    OrderError
        If it is none.

    Examples
    --------
    >>> parse_depth("15-30")
    (15.0, 30.0)
    """
    if text is None:
        return None
    try:
        top, bottom = (float(end) for end in text.split("-"))
    except ValueError as error:
        raise OrderError(
            f"'{text[:40]}' is no depth.", what_to_do="Give top and bottom in cm, as 15-30."
        ) from error
    return top, bottom


def parse_direction(text: str) -> float | str:
    """Direction of flow: degrees from north, or a word.

    Raises
    ------
    OrderError
        If it is neither.
    """
    if text in ("heads", "slope", "unknown"):
        return text
    try:
        degrees = float(text)
    except ValueError:
        degrees = math.nan
    if not -360 <= degrees <= 360:
        raise OrderError(
            f"'{text[:40]}' is no direction.",
            what_to_do="Give the degrees that the water flows towards (north 0, east 90), or "
            "heads, slope or unknown.",
        )
    return degrees


def read_heads(path: Path) -> Mapping[str, float]:
    """Read water levels: a table with the columns site and head_m.

    Raises
    ------
    SheetError
        If the file is no table.
    OrderError
        If a column is missing or a level is no number.
    """
    table = read_table(path)
    headings = [heading.casefold() for heading in table.headings]
    if not {"site", "head_m"} <= set(headings):
        raise OrderError(
            f"{table.name} lacks the column 'site' or 'head_m'.",
            what_to_do="Give each well's site and the height of its water above one level, metres.",
        )
    site, head = headings.index("site"), headings.index("head_m")
    heads = {}
    for number, cells in table.rows:
        level = cells[head] if head < len(cells) else None
        try:
            heads[tidy_name(str(cells[site]))] = float(str(level).replace(",", "."))
        except ValueError as error:
            raise OrderError(
                f"Row {number} of {table.name}: '{str(level)[:40]}' is no water level.",
                what_to_do="Give it in metres, such as 12.34.",
            ) from error
    return heads
