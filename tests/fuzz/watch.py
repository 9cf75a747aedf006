"""The watch over the process that takes spoilt files to their doors."""

import multiprocessing
import signal
import time
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from tests.fuzz.seed import Seed
from tests.fuzz.worker import Verdict, work

PATIENCE_S = 10.0
"""What a case may take of a core: other work on the machine is not its fault."""
IDLE_S = 60.0
"""How long a case may take by the clock, for what waits without working."""
START_S = 120.0


class Watched:
    """A working process, and the watch over it."""

    def __init__(
        self,
        folder: Path,
        seeds: tuple[Seed, ...],
        run: int,
        *,
        doors: str = "tests.fuzz.doors",
        patience_s: float = PATIENCE_S,
    ) -> None:
        self._told = (folder, seeds, run, doors, patience_s)
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    def judge(self, number: int) -> Verdict:
        """Have one case judged; a process that dies or takes too long is replaced."""
        if self._pipe is None:
            self._start()
        assert self._pipe is not None
        start = time.perf_counter()
        try:
            self._pipe.send(number)
            if self._pipe.poll(IDLE_S):
                verdict: Verdict = self._pipe.recv()
                return verdict
            outcome, detail = "hang", f"no answer in {IDLE_S:g} s"
        except (EOFError, OSError):
            outcome, detail = "crash", (self._told[0] / "crash.txt").read_text(errors="replace")
            assert self._process is not None
            self._process.join()
            if self._process.exitcode == -signal.SIGPROF:
                outcome, detail = "hang", f"it worked for more than {self._told[-1]:g} s"
        self.stop()
        seconds = time.perf_counter() - start
        return Verdict(outcome=outcome, detail=detail, seconds=seconds, peak_mb=0)  # type: ignore[arg-type]

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, far = context.Pipe()
        self._process = context.Process(target=work, args=(far, *self._told), daemon=True)
        self._process.start()
        far.close()
        if not self._pipe.poll(START_S):
            raise TimeoutError("the working process did not start")
        self._pipe.recv()

    def stop(self) -> None:
        """End the working process."""
        if self._process is not None and self._pipe is not None:
            self._pipe.close()
            self._process.kill()
            self._process.join()
        self._process = self._pipe = None
