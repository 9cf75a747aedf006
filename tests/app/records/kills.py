"""Kills a program that writes to a survey, again and again, and looks at what is left.

As a program, with more kills than the tests have time for:

    python -m tests.app.records.kills 200

The writer is forked from a helper that has everything imported, so that a kill falls into the work
and not into the start.
"""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from app.records.record_book import create_survey, open_survey
from app.survey.sample import Sample
from tests.app.sample_surveys import NOW, make_line, write_photo

BATCH = 4
LONGEST_S = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Survived:
    """What a loop of kills has shown.

    Parameters
    ----------
    kills, kept : int
        Programs killed, and batches that they had said were kept.
    lost, torn, unsound : int
        Batches of those that are gone, batches kept in part, and checks that found a fault.
    cut_off : int
        Kills that left unfinished work behind, which shows that they fell into writing.
    """

    kills: int
    kept: int
    lost: int
    torn: int
    unsound: int
    cut_off: int


def work(folder: Path, turn: int) -> None:
    """Keep batches for ever; say so after each, in a file that a kill cannot unwrite."""
    said = os.open(folder.parent / "said", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    with open_survey(folder) as book:
        for number in range(1_000_000):
            batch = f"{turn}-{number}"
            content = batch.encode() * 40_000
            photo = write_photo(folder.parent, f"{batch}.jpg", content)
            lines = [make_line(photo, tube=tube, replicate=batch) for tube in range(1, BATCH + 1)]
            numbers = book.keep_readings(lines, "P1", NOW)
            os.write(said, f"{batch}\n".encode())
            book.add_samples([Sample(label=batch)], person="P1", now=NOW)
            if number % 3 == 2:
                book.correct(numbers[0], lines[0], reason="again", person="P2", now=NOW)
            photo.unlink()


def say(text: str) -> None:
    """Write a line at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def helper(folder: Path) -> None:
    """Fork a writer for every line of input; report its number, then its end."""
    for turn in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                work(folder, int(turn))
            finally:
                os._exit(1)
        say(str(child))
        _, status = os.waitpid(child, 0)
        say(str(os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0))


def kill_loop(place: Path, kills: int, *, seed: int) -> Survived:
    """Kill a writer so many times, each time at a random moment, and check after each kill."""
    chance = random.Random(seed)
    folder = place / "survey"
    create_survey(folder, id="killed", now=NOW).close()
    torn = unsound = cut_off = 0
    command = [sys.executable, "-m", "tests.app.records.kills", "--helper", str(folder)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as nursery:
        assert nursery.stdin is not None
        assert nursery.stdout is not None
        for turn in range(kills):
            nursery.stdin.write(f"{turn}\n")
            nursery.stdin.flush()
            child = int(nursery.stdout.readline())
            time.sleep(chance.uniform(0.005, LONGEST_S))
            os.kill(child, signal.SIGKILL)
            if int(nursery.stdout.readline()) != signal.SIGKILL:
                raise RuntimeError("the writer ended by itself")
            cut_off += _is_cut_off(folder)
            with open_survey(folder) as book:
                if book.read_only_because is not None:
                    raise RuntimeError(f"a lock was left behind: {book.read_only_because}")
                unsound += not book.check().is_sound
            torn += len(_torn(folder))
        nursery.stdin.close()
    said = (place / "said").read_text().split()
    there = _batches(folder)
    return Survived(
        kills=kills,
        kept=len(said),
        lost=sum(batch not in there for batch in said),
        torn=torn,
        unsound=unsound,
        cut_off=cut_off,
    )


def _is_cut_off(folder: Path) -> bool:
    wal = folder / "survey.sqlite-wal"
    return any((folder / "photos").glob(".*.part")) or (wal.exists() and wal.stat().st_size > 0)


def _batches(folder: Path) -> set[str]:
    with closing(sqlite3.connect(folder / "survey.sqlite")) as db:
        return {batch for (batch,) in db.execute("SELECT DISTINCT replicate FROM readings")}


def _torn(folder: Path) -> list[str]:
    sql = "SELECT replicate FROM readings WHERE corrects IS NULL GROUP BY 1 HAVING count(*) != ?"
    with closing(sqlite3.connect(folder / "survey.sqlite")) as db:
        return [batch for (batch,) in db.execute(sql, [BATCH])]


if __name__ == "__main__":
    if sys.argv[1] == "--helper":
        helper(Path(sys.argv[2]))
    else:
        with tempfile.TemporaryDirectory() as name:
            say(str(kill_loop(Path(name), int(sys.argv[1]), seed=time.time_ns())))
