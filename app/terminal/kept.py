"""`tintwell correct`, `withdraw` and `history`: what was kept, and what became of it."""

import argparse
from datetime import datetime
from pathlib import Path

from app.errors import OrderError
from app.exports.cell_text import printable
from app.records.record_book import open_survey
from app.survey.kept_reading import KeptReading
from app.tasks.correct_reading import read_again, relabel_reading
from app.terminal.say import say
from app.terminal.survey import open_to_write, parse_person
from app.terminal.words import DONE
from app.wording import say_confidence, say_count, say_swatch, say_value
from calibration.chart_file import load_chart


def correct(order: argparse.Namespace) -> int:
    """Put a reading in another one's place: of another sample, or read again on a chart."""
    person, now = parse_person(order.person), datetime.now().astimezone()
    named = order.sample is not None or order.replicate is not None
    if named == (order.chart is not None):
        raise OrderError(
            "It is not said what is to be corrected.",
            what_to_do="Give --sample or --replicate; or --chart to read the tube again on it.",
        )
    with open_to_write(Path(order.survey)) as book:
        if order.chart is not None:
            number = read_again(
                book,
                order.reading,
                load_chart(Path(order.chart)),
                reason=order.reason,
                person=person,
                now=now,
            )
        else:
            number = relabel_reading(
                book,
                order.reading,
                sample=order.sample,
                replicate=order.replicate,
                reason=order.reason,
                person=person,
                now=now,
            )
        line = book.reading(number).line
        said = "no value" if line.chart is None else say_value(line.reading, line.chart)
        say(
            printable(
                f"Reading {number} takes the place of {order.reading}: "
                f"sample '{line.entry.sample}', {said}. The old one stays in the survey."
            )
        )
    return DONE


def withdraw(order: argparse.Namespace) -> int:
    """Say that a reading no longer stands."""
    person = parse_person(order.person)
    with open_to_write(Path(order.survey)) as book:
        number = book.withdraw(
            order.reading, reason=order.reason, person=person, now=datetime.now().astimezone()
        )
    say(f"Reading {order.reading} no longer counts, as row {number} says. It stays in the survey.")
    return DONE


def history(order: argparse.Namespace) -> int:
    """Print where a number comes from: photo, region, chart, standards, version, corrections."""
    with open_survey(Path(order.survey), readonly=True) as book:
        rows = book.history(order.reading)
        blocks = []
        for kept in rows:
            path = None if kept.line.sha256 is None else book.photo_path(kept.line.sha256)
            blocks.append(describe_kept(kept, path))
    say(printable("\n\n".join(blocks)))
    return DONE


def describe_kept(kept: KeptReading, path: Path | None) -> str:
    """Write everything that a kept reading rests on, a line a fact."""
    line, reading, chart, seen = (
        kept.line,
        kept.line.reading,
        kept.line.chart,
        kept.line.measurement,
    )
    said = "no value" if chart is None else say_value(reading, chart)
    card_outline = "by_hand" if line.hand is not None and line.hand.card is not None else None
    facts = [
        ("status", reading.status),
        ("value (90 %)", said),
        ("nearest swatch", f"{say_swatch(reading)} ({say_confidence(reading.confidence)})"),
        ("reasons", " ".join(reason.text for reason in reading.reasons)),
        ("sample", line.entry.sample),
        ("replicate", line.entry.replicate),
        ("test", kept.test),
        ("photo", f"{line.photo}, tube {line.tube}" if line.tube else line.photo),
        ("fingerprint", line.sha256),
        ("kept as", None if path is None else str(path)),
        ("taken at", None if kept.taken_at is None else f"{kept.taken_at:%Y-%m-%d %H:%M:%S}"),
        ("camera", None if seen is None else seen.camera),
        (
            "region",
            None if line.box is None else _box(line.box, None if seen is None else seen.outline),
        ),
        ("grey card", None if line.card is None else _box(line.card, card_outline)),
        ("color L*a*b*", None if seen is None else " ".join(f"{v:.2f}" for v in seen.lab)),
        ("known tubes", ", ".join(f"{k.tube}: {k.value or k.label}" for k in kept.known)),
        ("chart", None if chart is None else f"{chart.name} ({chart.id})"),
        (
            "standards",
            None
            if chart is None
            else f"{say_count(len(chart.measurements), 'tube')} in "
            + ", ".join(sorted({item.photo for item in chart.measurements})),
        ),
        ("software", kept.software_version),
        ("kept", f"{kept.kept_at:%Y-%m-%d %H:%M:%S %z} by {kept.person}"),
        ("came from", kept.origin),
        ("why", kept.correction),
    ]
    what = f"Reading {kept.id}"
    if kept.withdrawn:
        what = f"Row {kept.id} withdraws reading {kept.corrects}"
    elif kept.corrects is not None:
        what += f", in the place of {kept.corrects}"
    what += "" if kept.stands else " (no longer stands)" if not kept.withdrawn else ""
    return "\n".join([what, *(f"  {name:15} {fact}" for name, fact in facts if fact)])


def _box(box: tuple[float, float, float, float], outline: str | None = None) -> str:
    said = "x {:.0f}, y {:.0f}, {:.0f} x {:.0f} pixels".format(*box)
    return f"{said}, drawn by hand" if outline == "by_hand" else said
