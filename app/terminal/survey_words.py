"""The words of the commands on a survey."""

import argparse
from typing import Any

from app.terminal.advice_words import add_advice_words
from app.terminal.words import add_person, add_replace

Commands = Any
"""What `add_subparsers` returns; argparse does not name its type."""


def add_survey_commands(commands: Commands) -> None:
    """Add all commands on a survey but its advice and maps."""
    _add_filling(commands)
    _add_handing_on(commands)
    _add_correcting(commands)
    _add_caring(commands)


def _command(commands: Commands, name: str, help_text: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(name, help=help_text)
    return parser


def _add_filling(commands: Commands) -> None:
    new = _command(commands, "new", "make an empty survey")
    new.add_argument("survey", metavar="SURVEY", help="a new folder")
    new.add_argument(
        "--suspected-contamination",
        action="store_true",
        help="its ground is under suspicion, or it looks for a source: no amounts are advised",
    )
    add_person(new)

    add = _command(commands, "add", "add what a table lists to a survey")
    add.add_argument("survey", metavar="SURVEY")
    add.add_argument(
        "what",
        choices=("sites", "samples", "methods", "tests", "known"),
        help="known: what samples are known to be, by certificate, electrode or laboratory",
    )
    add.add_argument("table", metavar="FILE", help="CSV or XLSX, headings in the first row")
    add.add_argument(
        "--column",
        action="append",
        default=[],
        dest="columns",
        metavar="FIELD=HEADING",
        help="which column is what, where the heading does not say it (may be repeated)",
    )
    add.add_argument(
        "--replace", action="store_true", help="let the table replace what is there by those names"
    )
    add_person(add)

    match = _command(commands, "match", "find out which photo shows which sample")
    match.add_argument("survey", metavar="SURVEY")
    match.add_argument("photos", nargs="+", metavar="PHOTO|FOLDER")
    match.add_argument(
        "--names", metavar="PATTERN", help="what file names look like: {sample}_{replicate}"
    )
    match.add_argument(
        "--by-time", action="store_true", help="by the time between indicator and photo"
    )
    match.add_argument("--sample", metavar="LABEL", help="all of them show this sample")
    match.add_argument("--tubes", type=int, default=1, metavar="N", help="tubes in each photo")
    match.add_argument("-o", "--output", metavar="TUBES.csv", help="write a sheet for read --tubes")
    match.add_argument(
        "--sites-from-photos",
        action="store_true",
        help="give sites without a position that of their photos, for photos taken in the field",
    )
    add_replace(match)
    add_person(match)


def _add_handing_on(commands: Commands) -> None:
    export = _command(commands, "export", "write the readings of a survey for other programs")
    export.add_argument("survey", metavar="SURVEY")
    export.add_argument(
        "-o", "--output", required=True, metavar="FILE", help="ends in .xlsx, .csv or .geojson"
    )
    _add_positions(export)
    export.add_argument("--thumbnails", action="store_true", help="pictures of the tubes (.xlsx)")
    export.add_argument(
        "--bom", action="store_true", help="mark a .csv as UTF-8 for spreadsheet programs"
    )
    add_replace(export)

    report = _command(commands, "report", "write a report of a survey, to read and to print")
    report.add_argument("survey", metavar="SURVEY")
    report.add_argument(
        "-o", "--output", required=True, metavar="FILE", help="ends in .html or .pdf"
    )
    report.add_argument("--paper", choices=("a4", "letter"), default="a4")
    report.add_argument("--crop", metavar="NAME", help="say what it means for this crop")
    report.add_argument(
        "--region",
        action="append",
        dest="regions",
        metavar="TABLE",
        help="by whose tables, as for advise",
    )
    report.add_argument(
        "--without-names", action="store_true", help="leave out the names of people"
    )
    add_advice_words(report)
    _add_positions(report)
    add_replace(report)

    groups = _command(commands, "groups", "compare groups that measured the same samples")
    groups.add_argument("survey", metavar="SURVEY")


def _add_correcting(commands: Commands) -> None:
    correct = _command(commands, "correct", "put a corrected reading in another one's place")
    _add_reading(correct)
    correct.add_argument("--sample", metavar="LABEL", help="it is of this sample")
    correct.add_argument("--replicate", metavar="TEXT", help="it is this replicate")
    correct.add_argument("--chart", metavar="CHART", help="read its tube again on this chart")
    _add_reason(correct)

    withdraw = _command(commands, "withdraw", "say that a reading no longer stands")
    _add_reading(withdraw)
    _add_reason(withdraw)

    _add_reading(_command(commands, "history", "where a number comes from, with corrections"))


def _add_caring(commands: Commands) -> None:
    check = _command(commands, "check", "is a survey as it was written, photos too")
    check.add_argument("survey", metavar="SURVEY")

    backup = _command(commands, "backup", "copy a survey, also while it is in use")
    backup.add_argument("survey", metavar="SURVEY")
    backup.add_argument("-o", "--output", required=True, metavar="FOLDER", help="a new folder")

    restore = _command(commands, "restore", "make a new survey of a backup")
    restore.add_argument("backup", metavar="BACKUP")
    restore.add_argument("-o", "--output", required=True, metavar="FOLDER", help="a new folder")
    add_person(restore)

    merge = _command(commands, "merge", "take over everything from another survey")
    merge.add_argument("survey", metavar="SURVEY", help="it takes")
    merge.add_argument("other", metavar="OTHER", help="it gives, and stays as it is")
    add_person(merge)

    name = _command(commands, "name", "give a person's code a name, or blank it")
    name.add_argument("survey", metavar="SURVEY")
    name.add_argument("code", metavar="CODE")
    name.add_argument("name", nargs="?", metavar="NAME")
    name.add_argument("--blank", action="store_true")
    add_person(name)


def _add_reading(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("survey", metavar="SURVEY")
    parser.add_argument("reading", type=int, metavar="READING", help="its number in the survey")


def _add_reason(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--reason", required=True, metavar="TEXT", help="why, in a few words")
    add_person(parser)


def _add_positions(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--with-positions", action="store_true", help="let the file tell where the sites lie"
    )
