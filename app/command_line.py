"""The terminal's commands, each a call to one task."""

import argparse
import io
import logging
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import NoReturn

from app.errors import OrderError
from app.terminal.advice_words import add_advise
from app.terminal.survey_words import add_survey_commands
from app.terminal.trace_words import add_practice, add_trace
from app.terminal.words import DONE, STOPPED, add_person, add_replace
from app.version import VERSION
from colorcore.errors import TintwellError

OpenWindow = Callable[[Path | None, bool], int]


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise OrderError(
            f"The command was not understood: {message}.", what_to_do=f"See {self.prog} --help."
        )


def _build() -> tuple[_Parser, tuple[str, ...]]:
    """Return the parser, and the names of all commands."""
    parser = _Parser(
        prog="tintwell",
        usage="%(prog)s [SURVEY | COMMAND ...]",
        description="Reads color-indicator tests (pH, nitrogen, phosphorus, potassium) from "
        "photos of tubes beside a grey card. Without a command the window opens.",
        epilog="Exit codes: 0 done; 1 done, but a photo was refused or unreadable; 2 stopped.",
    )
    parser.add_argument("--version", action="version", version=f"tintwell {VERSION}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", prog="tintwell")

    make = commands.add_parser("calibrate", help="make a chart from photos of known tubes")
    make.add_argument("standards", nargs="?", metavar="STANDARDS.csv", help="photo,tube,value,unit")
    make.add_argument(
        "--printed", metavar="PHOTO", help="a photo of a printed chart beside the card"
    )
    make.add_argument("--patches", metavar="FILE.csv", help="its patches: x1,y1..x4,y4,value,label")
    make.add_argument(
        "-o", "--output", required=True, metavar="CHART", help="file of the new chart"
    )
    make.add_argument("--card-reflectance", metavar="R", help="fraction, or R,G,B (default 0.18)")
    make.add_argument("--name", help="name of the chart (default: the file's name)")
    make.add_argument("--quantity", help="ph, nitrogen, phosphorus, potassium or your own word")
    make.add_argument("--form", help="NO3-N, NO3, P, P2O5, K or K2O")
    make.add_argument("--basis", help="extract or soil")
    make.add_argument("--ratio", help="soil to liquid, such as 1:5")

    read = commands.add_parser("read", help="read tubes against one or more charts")
    read.add_argument("photos", nargs="+", metavar="PHOTO|FOLDER")
    read.add_argument("--chart", action="append", required=True, metavar="CHART", dest="charts")
    read.add_argument("--tubes", metavar="TUBES.csv", help="photo,tube,sample,replicate,chart,role")
    read.add_argument(
        "--in-frame", metavar="SHEET.csv", help="known tubes in the photos being read"
    )
    read.add_argument("--card-reflectance", metavar="R", help="fraction, or R,G,B (the chart's)")
    read.add_argument("--format", choices=("table", "csv", "jsonl"), default="table")
    read.add_argument("-o", "--output", metavar="FILE", help="write there instead of the terminal")
    add_replace(read)
    read.add_argument(
        "--resume", action="store_true", help="carry on a batch that was stopped while it wrote"
    )
    read.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="read on a Dask cluster (a trusted one: it runs code)",
    )
    read.add_argument("--jobs", type=int, metavar="N", help="photos at a time (default: all cores)")
    read.add_argument("--overlay", metavar="DIR", help="write pictures that show what was found")
    read.add_argument(
        "--keep", metavar="SURVEY", help="keep the readings of named samples in a survey"
    )
    add_person(read)

    find = commands.add_parser("find", help="boxes of card, tubes and liquid")
    find.add_argument("photos", nargs="+", metavar="PHOTO")
    find.add_argument("--format", choices=("jsonl",), default="jsonl")

    measure = commands.add_parser("measure", help="CIELAB of marked regions beside a marked card")
    measure.add_argument("photo", metavar="PHOTO")
    measure.add_argument("--card", required=True, metavar="X,Y,W,H", help="grey area, pixels")
    measure.add_argument("--regions", required=True, metavar="FILE.csv", help="name,x1,y1..x4,y4")
    measure.add_argument("--card-reflectance", metavar="R", default="0.18")

    chart = commands.add_parser("chart", help="quality of a chart")
    chart.add_argument("chart", metavar="CHART")
    chart.add_argument("--plot", metavar="FILE.png", help="draw the chart's colors and curve")

    buffer = commands.add_parser("buffer", help="pH of a standard buffer at a temperature")
    buffer.add_argument("name", nargs="?", metavar="NAME")
    buffer.add_argument("--temperature", type=float, metavar="C")
    buffer.add_argument("--list", action="store_true", dest="all")

    add_survey_commands(commands)
    add_advise(commands)
    add_trace(commands)
    add_practice(commands)

    demo = commands.add_parser("demo", help="the main job on the sample photos, end to end")
    demo.add_argument("--keep", metavar="DIR", help="keep the chart and the overlay pictures there")
    demo.add_argument("--window", action="store_true", help="show it in the window instead")
    return parser, tuple(commands.choices)


def run(words: Sequence[str], open_window: OpenWindow | None = None) -> int:
    """Carry out one command; the terminal's door: errors become two sentences and an exit code.

    Parameters
    ----------
    words : sequence of str
        What was typed.
    open_window : callable, optional
        Opens the window on a survey, or on the demo; the terminal itself knows no screen.
    """
    if isinstance(sys.stdout, io.TextIOWrapper):
        # Names of files may hold what no text can; in JSON this way of writing is even exact.
        sys.stdout.reconfigure(errors="backslashreplace")
    parser, commands = _build()
    try:
        survey = _survey_of(words, commands)
        if open_window is not None and (not words or survey is not None):
            return open_window(survey, False)
        if not words:
            parser.print_help()
            return DONE
        order = parser.parse_args(words)
        if open_window is not None and getattr(order, "window", False):
            return open_window(None, True)
        return _carry_out(order)
    except TintwellError as error:
        _complain(error)
        return STOPPED
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. What was printed until here is complete.\n")
        return STOPPED
    except BrokenPipeError:
        # The reader (head, less) has gone; nothing more can be said.
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115, PTH123 - keeps the exit quiet
        return DONE
    except Exception:  # noqa: BLE001 - the terminal's door
        logging.getLogger("tintwell").error(traceback.format_exc())
        sys.stderr.write("Tintwell has a fault (trace above).\n  Try: report it with the trace.\n")
        return STOPPED


def _survey_of(words: Sequence[str], commands: Sequence[str]) -> Path | None:
    """Return the survey that is to be opened: a first word that is neither command nor option.

    Raises
    ------
    OrderError
        If there is no such survey.
    """
    if not words or words[0].startswith("-") or words[0] in commands:
        return None
    folder = Path(words[0])
    if len(words) > 1 or not folder.is_dir():
        near = get_close_matches(words[0], commands, 1)
        hint = f"Did you mean '{near[0]}'?" if near else "See tintwell --help."
        raise OrderError(f"There is no command and no survey '{words[0]}'.", what_to_do=hint)
    return folder


def _complain(error: TintwellError) -> None:
    from app.exports.cell_text import printable  # only now, as it is slow to load

    sys.stderr.write(printable(f"{error.what_happened}\n  Try: {error.what_to_do}\n"))


def _carry_out(order: argparse.Namespace) -> int:
    """Carry out a command; only what it needs is imported, so that every command starts quickly."""
    match order.command:
        case "demo":
            from app.terminal.demo import demo

            return demo(None if order.keep is None else Path(order.keep), run)
        case "calibrate":
            from app.terminal.make_chart import make_chart as command
        case "read":
            from app.terminal.read_photos import read_photos as command
        case "find":
            from app.terminal.look_at import find as command
        case "measure":
            from app.terminal.look_at import measure as command
        case "chart":
            from app.terminal.show_chart import show_chart as command
        case "buffer":
            from app.terminal.show_chart import show_buffer as command
        case "advise":
            from app.terminal.advise import advise as command
        case "trace":
            from app.terminal.trace import trace as command
        case "practice":
            from app.terminal.practice import practice as command
        case "new":
            from app.terminal.survey import make_survey as command
        case "add":
            from app.terminal.survey import add_table as command
        case "match":
            from app.terminal.match import match as command
        case "export":
            from app.terminal.survey import export_survey as command
        case "report":
            from app.terminal.report import report as command
        case "groups":
            from app.terminal.groups import groups as command
        case "correct":
            from app.terminal.kept import correct as command
        case "withdraw":
            from app.terminal.kept import withdraw as command
        case "history":
            from app.terminal.kept import history as command
        case "check":
            from app.terminal.care import check as command
        case "backup":
            from app.terminal.care import backup as command
        case "restore":
            from app.terminal.care import restore as command
        case "merge":
            from app.terminal.care import merge as command
        case "name":
            from app.terminal.care import name as command
    return command(order)
