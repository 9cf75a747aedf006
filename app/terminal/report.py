"""`tintwell report`."""

import argparse
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.exports.cell_text import printable
from app.exports.report_page import write_report_html
from app.exports.whole_file import check_free
from app.records.record_book import open_survey
from app.soil.crops import find_crop
from app.tasks.advice_sheets import find_region
from app.tasks.interpret_survey import AdviceOrder
from app.tasks.report_survey import ReportOrder, report_survey
from app.tasks.step import finish
from app.terminal.advice_words import advice_said
from app.terminal.say import progress, say
from app.terminal.words import DONE

ENDINGS = (".html", ".pdf")


def report(order: argparse.Namespace) -> int:
    """Write the report of a survey as one HTML file or as PDF pages."""
    target = Path(order.output)
    ending = target.suffix.casefold()
    if ending not in ENDINGS:
        raise OrderError(
            f"'{target.name}' does not say which kind of file is wanted.",
            what_to_do=f"Give a name that ends in {' or '.join(ENDINGS)}.",
        )
    check_free(target, replace=order.replace)
    wanted = ReportOrder(
        advice=_advice_asked(order),
        with_names=not order.without_names,
        with_positions=order.with_positions,
    )
    with open_survey(Path(order.survey), readonly=True) as book:
        now = datetime.now().astimezone()
        made = finish(report_survey(book, wanted, now), progress())
    if ending == ".pdf":
        try:
            from app.window.pdf_page import write_report_pdf
        except ImportError as error:
            raise OrderError(
                f"PDF pages need a part of the system that is missing here ({error}).",
                what_to_do="Install what the README names, or write .html and print that.",
            ) from error
        pages = write_report_pdf(made, target, paper=order.paper)
        say(printable(f"Wrote a report of {pages} pages to {target}."))
    else:
        write_report_html(made, target, paper=order.paper)
        say(printable(f"Wrote the report to {target}. Any browser shows and prints it."))
    return DONE


def _advice_asked(order: argparse.Namespace) -> AdviceOrder | None:
    if order.regions is None:
        if order.crop is None:
            return None
        raise OrderError(
            "What a crop needs is not the same everywhere.", what_to_do="Give a --region too."
        )
    region = find_region(order.regions)
    crop = None if order.crop is None else find_crop(order.crop, own=region.crops)
    return AdviceOrder(crop=crop, region=region, **advice_said(order))
