"""The harness sees what it is there to see."""

import os
import time
from pathlib import Path

import pytest

from colorcore.errors import TintwellError
from tests.fuzz.seed import Seed
from tests.fuzz.watch import Watched

resource = pytest.importorskip("resource", reason="limits of memory need a Unix")


def _refuse(path: Path) -> None:
    raise TintwellError("This is no photo.", what_to_do="Take another.")


def _refuse_without_words(path: Path) -> None:
    raise TintwellError(" ", what_to_do="")


def _work_on(path: Path) -> None:
    end = time.process_time() + 60
    while time.process_time() < end:
        pass


DOORS = {
    "used": Path.read_bytes,
    "refused": _refuse,
    "fault": lambda path: 1 / 0,
    "fault ": _refuse_without_words,
    "memory": lambda path: bytearray(2_000_000_000),
    "crash": lambda path: os.abort(),
    "hang": _work_on,
}


def test_each_kind_of_failure_is_told_apart(tmp_path: Path) -> None:
    """A process that died is followed by a new one, so the next case is judged as well."""
    seeds = tuple(Seed(kind=kind, name="any.bin", data=b"sound") for kind in DOORS)
    watched = Watched(tmp_path, seeds, 1, doors=__name__, patience_s=0.3)
    try:
        for number, kind in [*enumerate(DOORS), (0, "used")]:
            assert watched.judge(number).outcome == kind.strip(), kind
    finally:
        watched.stop()


def test_a_case_can_be_repeated() -> None:
    """The same seed and number spoil a file in the same way."""
    from tests.fuzz.worker import spoilt

    seed = Seed(kind="photo", name="any.bin", data=bytes(range(256)) * 8)
    assert [spoilt(seed, n, 1) for n in range(20)] == [spoilt(seed, n, 1) for n in range(20)]
    assert len({spoilt(seed, n, 1) for n in range(20)}) > 15
