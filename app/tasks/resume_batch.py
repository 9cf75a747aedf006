"""What a batch that was stopped had already written, so that it can be carried on."""

import csv
import hashlib
import io
import json
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from app.errors import OrderError
from app.exports.readings import CSV_COLUMNS, csv_row
from app.exports.whole_file import whole_file

RowFormat = Literal["csv", "jsonl"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One line of the file: its text, and the facts that tell what it belongs to."""

    text: str
    photo: str
    sha256: str | None
    chart: str | None
    status: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What stands in the file of a batch.

    Parameters
    ----------
    fingerprints : tuple of str
        SHA-256 of every photo that is done, in the order of the file.
    refused : bool
        Whether a reading among them was refused.
    """

    fingerprints: tuple[str, ...] = ()
    refused: bool = False


def tidy_output(target: Path, form: RowFormat, charts: Collection[str]) -> Written:
    """Return what a stopped batch wrote; lines that must be read again are taken out of the file.

    Those are the lines of unreadable photos, and those of a photo that was cut off in writing.

    Parameters
    ----------
    target : Path
        The file; one that is not there holds nothing.
    form : {"csv", "jsonl"}
        How it is written.
    charts : collection of str
        Ids of the charts that are read on now.

    Raises
    ------
    OrderError
        If it is not the output of `tintwell read` in this form, or was made with another chart.
    """
    if not target.exists():
        return Written()
    try:
        with target.open(encoding="utf-8", newline="") as file:
            text = file.read()
    except (OSError, UnicodeDecodeError) as error:
        raise _strange(target, form) from error
    rows = _json_rows(text, target) if form == "jsonl" else _csv_rows(text, target)
    if not text.endswith("\n") and rows:
        rows = [row for row in rows if row.photo != rows[-1].photo]
    others = {row.chart for row in rows} - {None, *charts}
    if others:
        raise OrderError(
            f"{target} was made with another chart ({', '.join(sorted(map(str, others)))}).",
            what_to_do="Give the same charts, or another file.",
        )
    done = [row for row in rows if row.sha256 is not None]
    head = csv_row(CSV_COLUMNS) if form == "csv" else ""
    kept = head + "".join(row.text for row in done)
    if kept != text:
        with whole_file(target) as part:
            part.write_text(kept, encoding="utf-8", newline="")
    photos = dict.fromkeys((row.photo, str(row.sha256)) for row in done)
    return Written(
        fingerprints=tuple(sha256 for _, sha256 in photos),
        refused=any(row.status == "refused" for row in done),
    )


def not_done(photos: Iterable[str], written: Written) -> tuple[str, ...]:
    """Return the photos that are still to be read, known by what they hold and not by name."""
    there = Counter(written.fingerprints)
    left = []
    for photo in photos:
        sha256 = _fingerprint(Path(photo)) if there else None
        if sha256 is not None and there[sha256] > 0:
            there[sha256] -= 1
        else:
            left.append(photo)
    return tuple(left)


def _fingerprint(path: Path) -> str | None:
    """SHA-256 of a file; None where it cannot be read, which its reading will then say."""
    try:
        if not path.is_file():  # a pipe may never end
            return None
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except (OSError, ValueError):
        return None


def _json_rows(text: str, target: Path) -> list[_Row]:
    lines = text.split("\n")
    rows = []
    for number, line in enumerate(lines, start=1):
        try:
            data = json.loads(line)
            row = _Row(
                text=f"{line}\n",
                photo=str(data["photo"]),
                sha256=data["sha256"],
                chart=data["chart"],
                status=data["status"],
            )
        except (ValueError, KeyError, TypeError, RecursionError) as error:
            if number == len(lines):  # nothing, or cut off
                break
            raise _strange(target, "jsonl") from error
        rows.append(row)
    return rows


def _csv_rows(text: str, target: Path) -> list[_Row]:
    try:
        head, *lines = csv.reader(io.StringIO(text, newline="")) if text else [[]]
    except csv.Error as error:
        raise _strange(target, "csv") from error
    if text and tuple(head) != CSV_COLUMNS:
        raise _strange(target, "csv")
    rows = []
    for cells in lines:
        if len(cells) != len(CSV_COLUMNS):
            if cells is lines[-1]:
                break
            raise _strange(target, "csv")
        named = dict(zip(CSV_COLUMNS, cells, strict=True))
        rows.append(
            _Row(
                text=csv_row(cells),
                photo=named["photo"],
                sha256=named["sha256"] or None,
                chart=named["chart"] or None,
                status=named["status"],
            )
        )
    return rows


def _strange(target: Path, form: RowFormat) -> OrderError:
    return OrderError(
        f"{target} is not what `tintwell read --format {form}` writes, so it is left as it is.",
        what_to_do="Give the format and file of the batch that was stopped, or another file.",
    )
