"""Takes thousands of spoilt files to the doors of the product: nothing may crash, hang or swell.

    python -m tests.fuzz [--count 600] [--seed 1] [--only KIND] [--case N] [--keep DIR]

Each case follows from seed and number, so `--seed S --case N` repeats one. Every right answer is a
result or a refusal in words. One process does the work under a limit of memory; another watches
the clock and starts a new one where it died. Exit code 1 where anything went wrong.
"""

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.fuzz.seed import Seed
from tests.fuzz.watch import Watched
from tests.fuzz.worker import Verdict, spoilt

RIGHT = ("used", "refused")


def judged(
    numbers: Iterable[int], folder: Path, seeds: tuple[Seed, ...], run: int
) -> Iterator[tuple[int, Seed, Verdict]]:
    """Judge cases one after the other."""
    watched = Watched(folder, seeds, run)
    try:
        for number in numbers:
            yield number, seeds[number % len(seeds)], watched.judge(number)
    finally:
        watched.stop()


def main() -> int:
    """Run as asked, print what came of it."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--count", type=int, default=600, help="spoilt files")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--only", metavar="KIND", help="files of this kind alone")
    words.add_argument("--case", type=int, metavar="N", help="this one alone")
    words.add_argument("--keep", type=Path, metavar="DIR", help="keep what went wrong there")
    order = words.parse_args()
    from tests.fuzz.doors import CHART
    from tests.fuzz.seeds import make_seeds

    with tempfile.TemporaryDirectory(prefix="spoilt-") as name:
        folder = Path(name)
        seeds = make_seeds(folder)
        sound = next(seed for seed in seeds if seed.kind == "chart")
        (folder / CHART).write_bytes(sound.data)
        for name in ("photo.jpg", "plot-7.jpg"):  # sheets and desks name them
            (folder / name).write_bytes(seeds[0].data)
        numbers = range(order.count) if order.case is None else [order.case]
        _check_sound(judged(range(-len(seeds), 0), folder, seeds, order.seed))
        wanted = (n for n in numbers if order.only in (None, seeds[n % len(seeds)].kind))
        return _report(judged(wanted, folder, seeds, order.seed), order.keep, order.seed)


def _check_sound(cases: Iterable[tuple[int, Seed, Verdict]]) -> None:
    """Make sure that what is spoilt later is used while it is sound."""
    for _, seed, verdict in cases:
        if verdict.outcome != "used":
            raise SystemExit(f"the sound {seed.name} is not used: {verdict.detail}")


def _report(cases: Iterable[tuple[int, Seed, Verdict]], keep: Path | None, run: int) -> int:
    counts: Counter[tuple[str, str]] = Counter()
    slowest, peak, wrong = 0.0, 0.0, 0
    for number, seed, verdict in cases:
        counts[seed.kind, verdict.outcome] += 1
        slowest, peak = max(slowest, verdict.seconds), max(peak, verdict.peak_mb)
        if verdict.outcome in RIGHT:
            continue
        wrong += 1
        print(f"case {number} ({seed.kind}, {seed.name}): {verdict.outcome}\n{verdict.detail}")
        sys.stdout.flush()
        if keep is not None:
            keep.mkdir(parents=True, exist_ok=True)
            (keep / f"{number}-{seed.name}").write_bytes(spoilt(seed, number, run))
    outcomes = sorted({outcome for _, outcome in counts})
    print("kind".ljust(16), *(outcome.rjust(8) for outcome in outcomes))
    for kind in sorted({kind for kind, _ in counts}):
        print(kind.ljust(16), *(str(counts[kind, outcome]).rjust(8) for outcome in outcomes))
    print(
        f"{counts.total()} spoilt files: {wrong} went wrong; slowest {slowest:.1f} s, "
        f"peak {peak:.0f} MB"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
