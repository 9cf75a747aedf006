"""`tintwell calibrate`."""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from app.errors import OrderError
from app.tasks.calibrate_chart import ChartFacts, calibrate, calibrate_printed
from app.tasks.step import finish
from app.terminal.say import progress, remark, say
from app.terminal.show_chart import describe
from app.terminal.words import DEFAULT_REFLECTANCE, DONE, SOME_REFUSED, parse_reflectance
from calibration.chart_file import save_chart
from calibration.sheets import read_patches, read_standards_sheet


def make_chart(order: argparse.Namespace) -> int:
    """Make a chart and say how good it is."""
    if (order.standards is None) == (order.printed is None):
        raise OrderError(
            "Either a sheet of standards or a printed chart is needed.",
            what_to_do="Give STANDARDS.csv, or --printed PHOTO with --patches FILE.csv.",
        )
    if order.printed is not None and order.patches is None:
        raise OrderError(
            "The patches of the printed chart are not marked.",
            what_to_do="Give --patches FILE.csv with x1,y1..x4,y4,value,label for each.",
        )
    reflectance = DEFAULT_REFLECTANCE
    if order.card_reflectance is None:
        remark("The card's reflectance was not given; 0.18 is taken. Its label may say otherwise.")
    else:
        reflectance = parse_reflectance(order.card_reflectance)
    output = Path(order.output)
    facts = ChartFacts(
        id=uuid4().hex,
        created_at=datetime.now(UTC),
        name=order.name or output.stem,
        card_reflectance=reflectance,
        quantity=order.quantity,
        form=order.form,
        basis=order.basis,
        ratio=order.ratio,
    )
    if order.printed is not None:
        photo = Path(order.printed)
        task = calibrate_printed(photo, read_patches(Path(order.patches), photo=photo.name), facts)
    else:
        task = calibrate(read_standards_sheet(Path(order.standards)), facts)
    made = finish(task, progress())
    save_chart(made.chart, output)
    say(describe(made.chart))
    for line in made.left_out:
        remark(f"Left out: {line}")
    say(f"Saved as {output}.")
    return SOME_REFUSED if made.left_out else DONE
