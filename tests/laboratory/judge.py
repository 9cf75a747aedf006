"""Judges the product on drawn campaigns that nothing was fitted to.

    python -m tests.laboratory.judge FOLDER [--jobs 2] [--readings FILE]

Calibrates and reads each campaign of FOLDER by the command line, as a user would, and prints with
95 % intervals (bootstrap over campaigns) what was found, accepted, right and caught; what a reader
that knew the light would get; how far the stated confidence is true; what each doubt costs and
catches; and how acceptance trades against errors and faults let through. Errors are in swatch
steps.
"""

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from calibration.curve import Scale
from colorcore.reasons import LOOKS
from tests.laboratory.limits import foreign_dyes, like_good_tubes, seen_tubes
from tests.laboratory.truth import in_tube

NO_VALUE = ("empty_tube", "dry_soil", "no_tube", "off_chart")
NEAR_MIDPOINT = 0.1  # of a step from it, where either swatch counts as right
LEAST_HELD = 82  # per cent of a campaign's truths that its intervals are to hold
DRAWS = 400
CONFIDENCE_BINS = 10
SURE_ENOUGH = (0.0, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One true tube, or a photo without one, and what was said of it."""

    campaign: str
    photo: str
    tube: int | None
    fault: str
    light_class: str
    truth: float | None  # place along the chart, in swatch steps
    found: bool
    card: bool | None  # None where no card lies there
    status: str  # accepted, doubtful, refused, or nothing
    place: float | None
    low: float | None
    high: float | None
    swatch: int | None
    confidence: float | None
    codes: tuple[str, ...]

    @property
    def accepted(self) -> bool:
        """Whether a value came back without a doubt."""
        return self.status == "accepted" and self.place is not None

    @property
    def error(self) -> float:
        """Reading minus truth, in steps."""
        return (self.place or 0.0) - (self.truth or 0.0)

    @property
    def silent(self) -> bool:
        """Whether something wrong came back without a word."""
        return self.accepted and (self.fault in NO_VALUE or abs(self.error) > 1)

    def right(self, slack: float) -> bool:
        """Whether the stated swatch is the nearest, or as near as the slack allows."""
        return abs((self.swatch or 0) - max(self.truth or 0.0, 0)) <= 0.5 + slack + 1e-9


def run(folder: Path, *words: str) -> str:
    """Run the command line in a campaign's folder and return what it printed."""
    around = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    command = [sys.executable, "-P", "-m", "app", *words]
    done = subprocess.run(
        command, cwd=folder, env=around, stdout=subprocess.PIPE, text=True, check=False
    )
    return done.stdout


def read_campaign(folder: Path) -> tuple[list[Judged], list[Judged]]:
    """Read one campaign without and with its tubes of known value."""
    about = json.loads((folder / "campaign.json").read_text(encoding="utf-8"))
    scale = Scale(values=tuple(about["swatches"]), by_index=True)
    with (folder / "truth.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["role"] != "standard"]
    photos = sorted({row["photo"] for row in rows})
    with tempfile.TemporaryDirectory() as scratch:
        chart = str(Path(scratch) / "chart.json")
        level = str(about["card_reflectance"])
        run(folder, "calibrate", "standards.csv", "-o", chart, "--card-reflectance", level)
        read = ("read", *photos, "--chart", chart, "--format", "jsonl")
        alone = judge(about["name"], rows, run(folder, *read), scale)
        if not (folder / "in_frame.csv").exists():
            return alone, []
        helped = run(folder, *read, "--in-frame", "in_frame.csv")
        return alone, judge(about["name"], rows, helped, scale)


def judge(name: str, rows: Sequence[dict[str, str]], printed: str, scale: Scale) -> list[Judged]:
    """Hold what `read` printed against the truth."""

    def place(value: object) -> float | None:
        return None if value in (None, "") else float(scale.position(float(str(value))))

    readings = [json.loads(line) for line in printed.splitlines()]
    found = []
    for row in rows:
        if row["role"] == "in_frame":
            continue
        here = [r for r in readings if r["photo"] == row["photo"]]
        said = min(
            (r for r in here if _same_tube(row, r)),
            key=lambda r: r["status"] != "accepted",
            default={},
        )
        swatch = place(said.get("swatch"))
        found.append(
            Judged(
                campaign=name,
                photo=row["photo"],
                tube=int(row["tube"]) if row["tube"] else None,
                fault=row["fault"],
                light_class=row["light_class"],
                truth=place(row["value"]),
                found=bool(said.get("box")),
                card=_overlap(row, [r["card"] for r in here if r["card"]]) >= 0.5
                if row["card_w"]
                else None,
                status=said.get("status", "nothing"),
                place=place(said.get("value")),
                low=place(said.get("low")),
                high=place(said.get("high")),
                swatch=None if swatch is None else round(swatch),
                confidence=said.get("confidence"),
                codes=tuple(reason["code"] for reason in said.get("reasons", ())),
            )
        )
    return found


def _same_tube(row: dict[str, str], reading: dict) -> bool:
    """Whether what was read has its middle in the true tube; any reading where there is none."""
    if not row["tube"]:
        return reading["tube"] is not None
    if not reading["box"]:
        return False
    x, y, wide, high = reading["box"]
    return in_tube(row, (x + wide / 2, y + high / 2))


def _overlap(row: dict[str, str], cards: Sequence[Sequence[float]]) -> float:
    """Return the best overlap over union of a found card with the true one."""
    x, y, wide, high = (float(row[f"card_{key}"]) for key in "xywh")
    best = 0.0
    for left, top, w, h in cards:
        across = min(x + wide, left + w) - max(x, left)
        down = min(y + high, top + h) - max(y, top)
        both = max(across, 0.0) * max(down, 0.0)
        best = max(best, both / (wide * high + w * h - both))
    return best


def good_and_accepted(tubes: Sequence[Judged]) -> list[Judged]:
    """Return the tubes with nothing wrong whose value came back without a doubt."""
    return [t for t in tubes if not t.fault and t.accepted]


def share(of: Sequence[bool]) -> float:
    """Return a share in per cent."""
    return 100 * float(np.mean(of)) if len(of) else float("nan")


def tenths(stated: np.ndarray, gaps: np.ndarray) -> np.ndarray:
    """Mean size of the gap between stated and true confidence over tenths of it, shape (...)."""
    bins = np.minimum((stated * CONFIDENCE_BINS).astype(int), CONFIDENCE_BINS - 1)
    sums = [np.abs(gaps[..., bins == k].sum(axis=-1)) for k in range(CONFIDENCE_BINS)]
    return np.sum(sums, axis=0) / stated.size


def calibration_error(tubes: Sequence[Judged]) -> float:
    """Return the mean gap between stated and true confidence, over tenths of confidence."""
    if not tubes:
        return float("nan")
    stated = np.array([t.confidence for t in tubes], np.float64)
    return float(tenths(stated, stated - [t.right(0) for t in tubes]))


Figure = Callable[[Sequence[Judged]], float]
FIGURES: dict[str, Figure] = {
    "found %": lambda t: share([x.found for x in t if not x.fault]),
    "card %": lambda t: share(
        list({(x.campaign, x.photo): bool(x.card) for x in t if not x.fault}.values())
    ),
    "accepted %": lambda t: share([x.accepted for x in t if not x.fault]),
    "error, steps": lambda t: float(np.sqrt(np.mean([x.error**2 for x in good_and_accepted(t)]))),
    "right swatch %": lambda t: share([x.right(NEAR_MIDPOINT) for x in good_and_accepted(t)]),
    "over a step %": lambda t: share([abs(x.error) > 1 for x in good_and_accepted(t)]),
    "interval holds %": lambda t: share(
        [x.low - 1e-9 <= x.truth <= x.high + 1e-9 for x in good_and_accepted(t)]
    ),
    "calibration error": lambda t: calibration_error(good_and_accepted(t)),
    "faults caught %": lambda t: share([not x.accepted for x in t if x.fault]),
    "silent": lambda t: float(sum(x.silent for x in t if x.fault)),
}


def table(tubes: Sequence[Judged]) -> list[str]:
    """Return each figure with its 95 % interval, from campaigns drawn again with return."""
    names = sorted({t.campaign for t in tubes})
    groups = [[t for t in tubes if t.campaign == name] for name in names]
    rng = np.random.default_rng(0)
    picks = rng.integers(len(groups), size=(DRAWS, len(groups)))
    lines = []
    for name, figure in FIGURES.items():
        again = [figure([t for k in pick for t in groups[k]]) for pick in picks]
        low, high = np.nanpercentile(again, (2.5, 97.5))
        lines.append(f"{name:18s} {figure(tubes):8.3f}   ({low:.3f} to {high:.3f})")
    return lines


def luck_of_calibration(tubes: Sequence[Judged]) -> str:
    """Return the calibration error that so many tubes show where every confidence is true."""
    stated = np.array([t.confidence for t in good_and_accepted(tubes)], np.float64)
    gaps = stated - (np.random.default_rng(0).random((DRAWS, stated.size)) < stated)
    low, middle, high = np.percentile(tenths(stated, gaps), (2.5, 50, 97.5))
    return f"calibration error by luck alone {middle:.3f} ({low:.3f} to {high:.3f})"


def reliability(tubes: Sequence[Judged]) -> list[str]:
    """Return stated and true confidence of each tenth."""
    read = good_and_accepted(tubes)
    lines = []
    for k in range(CONFIDENCE_BINS):
        here = [t for t in read if min(int((t.confidence or 0) * 10), 9) == k]
        if here:
            stated = 100 * float(np.mean([t.confidence for t in here]))
            true = share([t.right(0) for t in here])
            lines.append(f"stated {stated:5.1f} %  right {true:5.1f} %  of {len(here)}")
    return lines


def by_light(tubes: Sequence[Judged]) -> list[str]:
    """Return error and coverage in each class of light."""
    read = good_and_accepted(tubes)
    lines = []
    for name, count in sorted(Counter(t.light_class for t in read).items()):
        here = [t for t in read if t.light_class == name]
        holds, error = FIGURES["interval holds %"](here), FIGURES["error, steps"](here)
        lines.append(f"{name:12s} {count:5d}  {error:.3f} steps  holds {holds:.0f} %")
    return lines


def by_campaign(tubes: Sequence[Judged]) -> list[str]:
    """Return how many campaigns hold fewer truths in their intervals than a share, by luck too.

    By luck: where every interval holds with the share that those of all campaigns together do.
    """
    read = good_and_accepted(tubes)
    inside = {id(t): t.low - 1e-9 <= t.truth <= t.high + 1e-9 for t in read}
    groups = [[t for t in read if t.campaign == c] for c in sorted({t.campaign for t in read})]
    shares = sorted((share([inside[id(t)] for t in group]), group[0].campaign) for group in groups)
    draws = np.random.default_rng(0).binomial(
        [len(group) for group in groups], np.mean(list(inside.values())), (DRAWS, len(groups))
    )
    lucky = (100 * draws / [len(group) for group in groups] < LEAST_HELD).sum(axis=1)
    low, high = np.percentile(lucky, (2.5, 97.5))
    few = sum(held < LEAST_HELD for held, _ in shares)
    worst = ", ".join(f"{name} {held:.0f} %" for held, name in shares[:4])
    return [
        f"below {LEAST_HELD} %: {few} of {len(groups)} campaigns, by luck alone {lucky.mean():.1f} "
        f"({low:.0f} to {high:.0f}); lowest {worst}"
    ]


def doubts_of(tubes: Sequence[Judged]) -> list[set[str]]:
    """Return what speaks against each tube; a code that came with an accepted reading is a note.

    How a tube looks is so for one chart, where its own tubes look so, too.
    """

    def of(t: Judged) -> set[tuple[str, str]]:
        return {(t.campaign if code in LOOKS else "", code) for code in t.codes}

    notes = set().union(*(of(t) for t in tubes if t.accepted))
    return [{code for _, code in of(t) - notes} for t in tubes]


def standing_alone(tubes: Sequence[Judged]) -> tuple[Counter[str], Counter[str]]:
    """Return how many good tubes each doubt alone holds back, and how many faults it catches."""
    paid, caught = Counter[str](), Counter[str]()
    for t, doubts in zip(tubes, doubts_of(tubes), strict=True):
        if len(doubts) == 1:
            (caught if t.fault else paid).update(doubts)
    return paid, caught


def exchange(tubes: Sequence[Judged]) -> list[str]:
    """Return the price and the catch of each doubt that stands alone."""
    paid, caught = standing_alone(tubes)
    codes = sorted({*paid, *caught}, key=lambda code: (-paid[code], code))
    return [f"{code:24s} good {paid[code]:4d}  faults {caught[code]:4d}" for code in codes]


def without_doubts(tubes: Sequence[Judged]) -> list[str]:
    """Return what is accepted, wrong and let through without the doubts that catch least.

    One more is left out in each line, first those that catch the fewest faults for a good tube.
    """
    paid, caught = standing_alone(tubes)
    doubts = doubts_of(tubes)
    lines, left_out = [], set[str]()
    for code in sorted(paid, key=lambda code: (caught[code] / paid[code], -paid[code])):
        left_out.add(code)
        passing = [
            t
            for t, against in zip(tubes, doubts, strict=True)
            if t.place is not None and t.status != "refused" and against <= left_out
        ]
        lines.append(passed(f"nor {code}", passing, tubes))
    return lines


def passed(name: str, passing: Sequence[Judged], tubes: Sequence[Judged]) -> str:
    """Return what is accepted, wrong and let through where some tubes pass."""
    read = [t for t in passing if not t.fault]
    good = sum(not t.fault for t in tubes)
    return (
        f"{name:28s} accepted {100 * len(read) / good:5.1f} %  over a step "
        f"{share([abs(t.error) > 1 for t in read]):4.1f} %  faults let through "
        f"{len(passing) - len(read)} of {len(tubes) - good}"
    )


def trade(tubes: Sequence[Judged]) -> list[str]:
    """Return what is accepted, wrong and let through where more confidence is asked for."""
    with_value = [t for t in tubes if t.place is not None]
    rows = [("doubtful ones, too", with_value)]
    for least in SURE_ENOUGH:
        sure = [t for t in with_value if t.accepted and (t.confidence or 0) >= least]
        rows.append((f"confidence >= {100 * least:.0f} %", sure))
    return [passed(name, passing, tubes) for name, passing in rows]


def bounds(folders: Sequence[Path], tubes: Sequence[Judged]) -> list[str]:
    """Return what readers without noise get: of all good tubes, and of those accepted here."""
    here = {(t.campaign, t.photo, t.tube) for t in good_and_accepted(tubes)}
    lines = []
    for reader in ("oracle", "known"):
        good = [
            (t.place, t.found - t.place, (folder.name, t.photo, t.tube) in here)
            for folder in folders
            for t in seen_tubes(folder, reader)
            if not t.fault and t.place is not None
        ]
        for name, kept in (("all", good), ("accepted here", [row for row in good if row[2]])):
            place, error, _ = np.array(kept, np.float64).reshape(-1, 3).T
            right = np.abs(np.rint(place + error) - place) <= 0.5 + NEAR_MIDPOINT
            lines.append(
                f"{reader}, {name}: {error.size} good tubes, {np.sqrt(np.mean(error**2)):.3f} "
                f"steps, right swatch {share(right):.1f} %, over a step "
                f"{share(np.abs(error) > 1):.1f} %"
            )
    return lines


def let_through(tubes: Sequence[Judged]) -> list[str]:
    """Return how many of each fault were caught, and where the rest are."""
    lines = []
    for fault, count in sorted(Counter(t.fault for t in tubes if t.fault).items()):
        missed = [t for t in tubes if t.fault == fault and t.accepted]
        where = ", ".join(f"{t.campaign} {Path(t.photo).stem}" for t in missed[:6])
        wrong = sum(t.silent for t in missed)
        lines.append(f"{fault:16s} {count - len(missed):4d} of {count:4d}, wrong {wrong}  {where}")
    through = [t for t in tubes if t.fault and t.accepted]
    errors = [abs(t.error) for t in through if t.fault not in NO_VALUE]
    if errors:
        near = sum(e <= 1 for e in errors)
        lines.append(
            f"let through {len(through)}; {near} of {len(errors)} that have a value are read "
            f"within a step, half of them within {np.median(errors):.2f}"
        )
    return lines


def main() -> None:
    """Read the campaigns and print the tables."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("folder", type=Path)
    words.add_argument("--jobs", type=int, default=1)
    words.add_argument("--readings", type=Path, help="write each judged tube as a line of JSON")
    order = words.parse_args()
    folders = sorted(path.parent for path in order.folder.glob("*/truth.csv"))
    with ThreadPoolExecutor(order.jobs) as pool:
        both = list(pool.map(read_campaign, folders))
    alone, helped = ([t for pair in both for t in pair[k]] for k in (0, 1))
    if order.readings:
        runs = ((False, alone), (True, helped))
        lines = [json.dumps({"helped": k, **asdict(t)}) for k, tubes in runs for t in tubes]
        order.readings.write_text("\n".join(lines) + "\n", encoding="utf-8")
    for title, tubes in (("Alone", alone), ("With known tubes in the photo", helped)):
        if tubes:
            good = sum(not t.fault for t in tubes)
            print(f"\n{title}: {good} good tubes, {len(tubes) - good} faults")
            print(*table(tubes), luck_of_calibration(tubes), sep="\n")
            print("\nReliability", *reliability(tubes), "\nBy light", *by_light(tubes), sep="\n")
            print("\nIntervals by campaign", *by_campaign(tubes), sep="\n")
    print("\nReaders without noise", *bounds(folders, alone), *foreign_dyes(folders), sep="\n")
    through = {(t.campaign, t.photo, t.tube) for t in alone if t.fault and t.accepted}
    print("\nFaults caught", *let_through(alone), *like_good_tubes(folders, through), sep="\n")
    print("\nDoubts that stand alone", *exchange(alone), sep="\n")
    print("\nTrade-off", *trade(alone), sep="\n")
    print("\nWithout doubts", *without_doubts(alone), sep="\n")


if __name__ == "__main__":
    main()
