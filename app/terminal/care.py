"""`tintwell check`, `backup`, `restore`, `merge` and `name`."""

import argparse
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.exports.cell_text import printable
from app.records.photo_shelf import PhotoFault
from app.records.record_book import open_survey, restore_survey
from app.tasks.step import finish
from app.tasks.survey_care import back_up_survey, check_survey, take_over
from app.terminal.say import progress, remark, say
from app.terminal.survey import open_to_write, parse_person
from app.terminal.words import DONE, SOME_REFUSED
from app.wording import say_count


def check(order: argparse.Namespace) -> int:
    """Say whether a survey is as it was written, and name what is not."""
    with open_survey(Path(order.survey), readonly=True) as book:
        health = finish(check_survey(book), progress())
        readings = book.count()
    for fault in health.database:
        say(printable(fault))
    _name_photos(health.photos)
    if health.unused:
        remark(f"{say_count(len(health.unused), 'file')} among the photos that no reading names.")
    if health.is_sound:
        say(f"The survey is sound: {say_count(readings, 'standing reading')}, every photo as kept.")
        return DONE
    remark("  Try: put lost photos back by reading them again, or restore a backup.")
    return SOME_REFUSED


def backup(order: argparse.Namespace) -> int:
    """Copy a survey to a new folder."""
    target = Path(order.output)
    with open_survey(Path(order.survey), readonly=True) as book:
        faults = finish(back_up_survey(book, target), progress())
    _name_photos(faults)
    say(printable(f"Backed up to {target}. It opens like any survey; restore makes one of it."))
    return SOME_REFUSED if faults else DONE


def restore(order: argparse.Namespace) -> int:
    """Make a new survey folder of a backup."""
    folder = Path(order.output)
    person, now = parse_person(order.person), datetime.now().astimezone()
    with restore_survey(Path(order.backup), folder, person=person, now=now) as book:
        readings = book.count()
    said = say_count(readings, "standing reading")
    say(printable(f"Restored to {folder}: {said}. The backup is unchanged."))
    return DONE


def merge(order: argparse.Namespace) -> int:
    """Take over everything from another survey."""
    person, now = parse_person(order.person), datetime.now().astimezone()
    with open_to_write(Path(order.survey)) as book:
        merged = take_over(book, Path(order.other), person=person, now=now)
    said = f"{say_count(merged.new, 'row')} taken over from {order.other}"
    say(printable(f"{said}, {merged.same} there already." if merged.same else f"{said}."))
    return DONE


def name(order: argparse.Namespace) -> int:
    """Give a person's code a name, or blank it."""
    person = parse_person(order.person)
    if (order.name is None) != order.blank:
        raise OrderError(
            "Either a name or --blank is needed.", what_to_do="Give the name, or --blank."
        )
    code = parse_person(order.code)
    with open_to_write(Path(order.survey)) as book:
        book.name_person(code, order.name, person=person, now=datetime.now().astimezone())
    if order.blank:
        say(printable(f"The name of {code} is blanked here; earlier backups still hold it."))
    else:
        say(printable(f"{code} has a name now; readings and exports know the code alone."))
    return DONE


def _name_photos(faults: tuple[PhotoFault, ...]) -> None:
    for fault in faults:
        say(printable(f"The photo {fault.name} is {fault.what} ({fault.file})."))
