"""One process that takes spoilt files to their doors, with limits, and says what came of each."""

import faulthandler
import importlib
import os
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random
from typing import Literal

from tests.fuzz.packed import ways_for
from tests.fuzz.seed import Seed

MEMORY_MB = 1000
"""What a process may ask for (RLIMIT_DATA: heap and private pages)."""

Outcome = Literal["used", "refused", "fault", "crash", "hang", "memory"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What came of one spoilt file.

    Parameters
    ----------
    outcome : Outcome
        "used" and "refused" are right, all else is a fault of ours.
    detail : str
        The refusal's sentence, or the trace.
    seconds : float
        How long it took.
    peak_mb : float
        Largest memory of the process until then, megabytes.
    """

    outcome: Outcome
    detail: str
    seconds: float
    peak_mb: float


def spoilt(seed: Seed, number: int, run: int) -> bytes:
    """Return a spoilt copy of a seed; the same number and run give the same bytes.

    A number below zero leaves the seed as it is.
    """
    if number < 0:
        return seed.data
    random = Random(f"{run} {number} {seed.name}")
    return random.choice(ways_for(seed.name))(seed.data, random)


def peak_mb() -> float:
    """Largest resident memory of this process until now, megabytes.

    Linux counts in `ru_maxrss` what the parent held when it started this process, so the kernel's
    own record of this program is read where there is one.
    """
    record = Path("/proc/self/status")
    if record.is_file():
        peak = re.search(r"VmHWM:\s+(\d+) kB", record.read_text())
        if peak is not None:
            return int(peak[1]) / 1e3
    size = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return size / (1e6 if sys.platform == "darwin" else 1e3)


def work(
    pipe: Connection,
    folder: Path,
    seeds: tuple[Seed, ...],
    run: int,
    doors: str,
    patience_s: float,
) -> None:
    """Take case after case from the pipe, until it closes.

    Parameters
    ----------
    pipe : Connection
        Numbers of cases come in, verdicts go out.
    folder : Path
        Where to work.
    seeds : tuple of Seed
        What is spoilt, in turn.
    run : int
        Seed of chance.
    doors : str
        Module whose `DOORS` has a function for each kind of seed.
    patience_s : float
        Seconds of a core that a case may take.
    """
    tempfile.tempdir = str(folder)  # what a killed process leaves is swept up with the rest
    quiet = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):  # decoders in C write on the terminal
        os.dup2(quiet, stream)
    with (folder / "crash.txt").open("w") as trace:
        faulthandler.enable(trace)
        known = importlib.import_module(doors).DOORS
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_MB * 1_000_000,) * 2)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        warnings.simplefilter("error", ResourceWarning)
        pipe.send("ready")
        while True:
            try:
                number = pipe.recv()
            except EOFError:
                return
            seed = seeds[number % len(seeds)]
            path = folder / f"case-{number}{Path(seed.name).suffix}"
            path.write_bytes(spoilt(seed, number, run))
            signal.setitimer(signal.ITIMER_PROF, patience_s)  # its signal ends the process
            verdict = _judge(known[seed.kind], path)
            signal.setitimer(signal.ITIMER_PROF, 0)
            pipe.send(verdict)
            path.unlink(missing_ok=True)


def _judge(door, path: Path) -> Verdict:  # type: ignore[no-untyped-def]
    from colorcore.errors import TintwellError

    start = time.perf_counter()
    outcome: Outcome = "used"
    detail = ""
    try:
        door(path)
    except TintwellError as error:
        outcome, detail = "refused", error.what_happened
        if not (error.what_happened.strip() and error.what_to_do.strip()):
            outcome, detail = "fault", "a refusal without words"
    except MemoryError:
        outcome, detail = "memory", traceback.format_exc()
    except Exception:  # noqa: BLE001 - what this is all about
        outcome, detail = "fault", traceback.format_exc()
    seconds = time.perf_counter() - start
    peak = peak_mb()
    if peak > MEMORY_MB and outcome in ("used", "refused"):
        outcome = "memory"
    return Verdict(outcome=outcome, detail=detail, seconds=seconds, peak_mb=peak)
