"""`tintwell match`: which photo shows which sample."""

import argparse
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.exports.cell_text import printable
from app.records.record_book import open_survey
from app.survey.photo_matching import sites_by_photos
from app.tasks.match_photos import MatchOrder, match_photos, write_tubes_sheet
from app.tasks.photo_files import expand
from app.tasks.step import finish
from app.terminal.say import progress, remark, say
from app.terminal.survey import open_to_write, parse_person
from app.terminal.words import DONE, SOME_REFUSED
from app.wording import say_count


def match(order: argparse.Namespace) -> int:
    """Match photos to samples, write a tubes sheet, and place sites where that was asked for."""
    if order.tubes < 1:
        raise OrderError("--tubes must be 1 or more.", what_to_do="Leave it out for one tube.")
    asked = MatchOrder(
        pattern=order.names,
        by_time=order.by_time,
        label=order.sample,
        with_positions=order.sites_from_photos,
    )
    photos, folder = expand(order.photos), Path(order.survey)
    with open_survey(folder, readonly=True) as book:
        survey = book.survey()
    found = finish(match_photos(survey, photos, asked), progress())
    missed = [item for item in found.matches if item.sample is None]
    for item in found.matches:
        if item.sample is not None:
            replicate = "" if item.replicate is None else f", {item.replicate}"
            say(printable(f"{item.photo}: {item.sample}{replicate}"))
    for item in missed:
        remark(printable(f"{item.photo}: no sample, {item.why}."))
    if order.output is not None:
        target = Path(order.output)
        rows = write_tubes_sheet(found.matches, target, tubes=order.tubes, replace=order.replace)
        remark(printable(f"Wrote {say_count(rows, 'tube')} to {target}, for read --tubes."))
    if order.sites_from_photos:
        placed = sites_by_photos(survey.sites, survey.samples, found.matches, found.positions)
        if placed:
            person, now = parse_person(order.person), datetime.now().astimezone()
            with open_to_write(folder) as book:
                book.add_sites(placed, person=person, now=now, replace=True)
        remark(f"{say_count(len(placed), 'site')} placed where the photos were taken.")
    return SOME_REFUSED if missed else DONE
