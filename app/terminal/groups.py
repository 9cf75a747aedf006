"""`tintwell groups`: a class or a crew on the samples that they share."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from app.exports.cell_text import printable
from app.records.record_book import open_survey
from app.survey.class_view import ClassView
from app.tasks.judge_quality import compare_groups
from app.terminal.say import say
from app.terminal.words import DONE


def groups(order: argparse.Namespace) -> int:
    """Print the spread between groups, who differs on which sample, and by how much."""
    with open_survey(Path(order.survey), readonly=True) as book:
        view = compare_groups(book)
    say(printable(describe_groups(view)))
    return DONE


def describe_groups(view: ClassView) -> str:
    """Write the comparison as two tables."""
    if not view.samples:
        return (
            "No sample was measured by two or more people. Each group keeps its readings under a "
            "code of its own: --keep SURVEY --person G1."
        )
    samples = [("sample", "test", "groups", "mean", "spread s", "reference", "stands apart")]
    for sample in view.samples:
        known = sample.reference
        samples.append(
            (
                sample.sample,
                _test(sample.quantity, sample.unit),
                str(len(sample.groups)),
                f"{sample.mean:.3g}",
                f"{sample.s:.2g}",
                "" if known is None else f"{known.value:.4g} ({known.source})",
                ", ".join(
                    f"{item.group} ({item.mean:.3g})" for item in sample.groups if item.stands_apart
                ),
            )
        )
    people = [("group", "test", "samples", "from all", "from reference", "95 % of differences")]
    for group in view.groups:
        limits = group.agreement and group.agreement.limits
        people.append(
            (
                group.group,
                _test(group.quantity, group.unit),
                str(group.samples),
                f"{group.from_others:+.2g}",
                "" if group.bias is None else f"{group.bias:+.2g} ({group.references} samples)",
                "" if not limits else f"{limits[0]:+.2g} to {limits[1]:+.2g}",
            )
        )
    return f"{_table(samples)}\n\n{_table(people)}"


def _test(quantity: str, unit: str | None) -> str:
    return "pH" if quantity == "ph" else f"{quantity} {unit or ''}".strip()


def _table(rows: Sequence[tuple[str, ...]]) -> str:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)) for row in rows]
    return "\n".join(line.rstrip() for line in lines)
