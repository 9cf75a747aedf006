"""The judge of drawn campaigns counts as its tables say."""

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from calibration.curve import Scale
from tests.laboratory.judge import (
    Judged,
    bounds,
    by_campaign,
    calibration_error,
    exchange,
    judge,
    let_through,
    trade,
    without_doubts,
)
from tests.laboratory.limits import foreign_dyes, like_good_tubes, seen_tubes
from tests.laboratory.truth import COLUMNS

SWATCHES = (4.0, 5.0, 7.0)
SCALE = Scale(values=SWATCHES, by_index=True)


def judged(**given: object) -> Judged:
    """Return a good tube, read rightly, but for what is given."""
    usual = {
        "campaign": "invented", "photo": "p.jpg", "tube": 1, "fault": "", "light_class": "LED",
        "truth": 1.0, "found": True, "card": True, "status": "accepted", "place": 1.0, "low": 0.5,
        "high": 1.5, "swatch": 1, "confidence": 0.9, "codes": (),
    }  # fmt: skip
    return Judged(**{**usual, **given})  # type: ignore[arg-type]


def test_calibration_error_is_the_mean_gap_of_tenths() -> None:
    """Of four tubes stated at 0.75 two are right: 0.25 off; one at 0.95 is right: 0.05 off."""
    tubes = [judged(confidence=0.75, swatch=s) for s in (1, 1, 2, 0)] + [judged(confidence=0.95)]
    assert calibration_error(tubes) == pytest.approx((4 * 0.25 + 0.05) / 5)


def test_a_doubt_pays_for_the_faults_that_it_alone_catches() -> None:
    """A code that came with an accepted reading is a note; two doubts at once count for neither."""
    tubes = [
        judged(codes=("hint",)),
        judged(status="doubtful", codes=("hint", "vague")),
        judged(status="doubtful", codes=("vague", "blurred")),
        judged(status="doubtful", codes=("vague",), fault="unmixed"),
        judged(status="refused", codes=("blurred",), fault="defocus"),
    ]
    counts = {line.split()[0]: line.split()[1:] for line in exchange(tubes)}
    assert counts == {
        "vague": ["good", "1", "faults", "1"],
        "blurred": ["good", "0", "faults", "1"],
    }


def test_what_is_wrong_without_a_word_is_counted() -> None:
    """An accepted reading of an empty tube, and one a step off, are wrong; a near one is not."""
    tubes = [
        judged(fault="empty_tube", truth=None),
        judged(fault="unmixed", place=2.5),
        judged(fault="unmixed", place=1.2),
        judged(fault="unmixed", status="doubtful", place=2.5),
    ]
    assert [t.silent for t in tubes] == [True, True, False, False]
    lines = let_through(tubes)
    assert lines[1].startswith("unmixed             1 of    3, wrong 1")
    assert lines[2].startswith("let through 3; 1 of 2 that have a value are read within a step")


def test_asking_for_more_confidence_accepts_less() -> None:
    """The rows of the trade-off count what stays."""
    tubes = [judged(confidence=0.45, place=3.0), judged(confidence=0.95), judged(fault="unmixed")]
    rows = trade(tubes)
    assert "accepted 100.0 %  over a step 50.0 %" in rows[1]
    assert "accepted  50.0 %  over a step  0.0 %" in rows[4]
    assert all("let through 1 of 1" in row for row in rows)


def test_doubts_are_left_out_from_the_one_that_catches_least() -> None:
    """One doubt holds a good tube back and catches nothing, the other one of each; one is both."""
    doubtful = {"status": "doubtful"}
    tubes = [
        judged(),
        judged(codes=("vague",), **doubtful),
        judged(codes=("unmixed",), place=2.5, **doubtful),
        judged(codes=("unmixed",), fault="unmixed", **doubtful),
        judged(codes=("unmixed", "vague"), fault="unmixed", **doubtful),
    ]
    first, second = without_doubts(tubes)
    assert first.startswith("nor vague")
    assert first.endswith("accepted  66.7 %  over a step  0.0 %  faults let through 0 of 2")
    assert second.endswith("accepted 100.0 %  over a step 33.3 %  faults let through 2 of 2")


def test_how_a_tube_looks_is_a_note_of_one_chart() -> None:
    """Where an accepted reading has it; the other campaign's doubt is still one."""
    shade = ("tube_shadow",)
    tubes = [
        judged(campaign=c, codes=shade, status=s) for c, s in (("a", "accepted"), ("b", "doubtful"))
    ]
    assert exchange(tubes) == ["tube_shadow              good    1  faults    0"]


def test_campaigns_that_hold_too_few_truths_are_counted_beside_their_luck() -> None:
    """One of two campaigns holds 6 of 10 truths; where all hold nine tenths, hardly any does."""
    few = [judged(campaign="few", truth=1.0 if k < 6 else 2.0, place=1.4) for k in range(10)]
    tubes = few + [judged(campaign="many") for _ in range(90)]
    (line,) = by_campaign(tubes)
    assert line.startswith("below 82 %: 1 of 2 campaigns, by luck alone 0.")
    assert line.endswith("lowest few 60 %, many 100 %")


def test_readings_are_matched_to_tubes_by_place() -> None:
    """A reading whose box lies in no tube belongs to none; a photo without tubes takes any."""
    common = dict.fromkeys(COLUMNS, "") | {"role": "test", "card_w": ""}
    rows = [
        common | {"photo": "a.jpg", "tube": "1", "value": "6", "tube_poly": "0,0 9,0 9,40 0,40"},
        common
        | {"photo": "a.jpg", "tube": "2", "value": "5", "tube_poly": "20,0 29,0 29,40 20,40"},
        common | {"photo": "b.jpg", "fault": "no_tube"},
    ]
    said = {"status": "accepted", "value": 6.0, "low": 5.5, "high": 6.5, "swatch": 7.0,
            "confidence": 0.8, "reasons": [], "card": None}  # fmt: skip
    printed = [
        said | {"photo": "a.jpg", "tube": 1, "box": [2, 10, 5, 20]},
        said | {"photo": "b.jpg", "tube": 1, "box": [50, 10, 5, 20]},
    ]
    first, second, none = judge("c", rows, "\n".join(map(json.dumps, printed)), SCALE)
    assert first.accepted
    assert first.error == pytest.approx(0)
    assert (second.status, second.found) == ("nothing", False)
    assert none.silent


def write_campaign(folder: Path, tubes: Sequence[tuple[Any, ...]]) -> None:
    """Write the truth of tubes: role, value, lightness, a* and perhaps what is wrong with them.

    Those without a value are foreign.
    """
    folder.mkdir()
    (folder / "campaign.json").write_text(json.dumps({"swatches": list(SWATCHES)}))
    rows = []
    count = 0
    for role, value, light, a, *fault in tubes:
        count += role == "test"
        row = dict.fromkeys(COLUMNS, "") | {"role": role, "photo": "p.jpg", "tube": str(count)}
        row |= {"fault": "off_chart"} if value is None else {"value": f"{value:g}"}
        row |= {"fault": fault[0]} if fault else {}
        for reader in ("oracle", "known"):
            row |= {f"{reader}_L": str(light), f"{reader}_a": str(a), f"{reader}_b": str(light)}
        rows.append(row)
    with (folder / "truth.csv").open("w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, COLUMNS)
        table.writeheader()
        table.writerows(rows)


CHART = [("standard", v, light, 20) for v, light in zip(SWATCHES, (60, 50, 40), strict=True)]


def test_a_perfect_reader_misses_nothing_on_its_own_curve(tmp_path: Path) -> None:
    """Tubes with the colors of standards come back where they were put, by either reader."""
    write_campaign(tmp_path / "c", [*CHART, *(("test", *rest) for _, *rest in CHART)])
    for reader in ("oracle", "known"):
        seen = seen_tubes(tmp_path / "c", reader)
        assert [tube.place for tube in seen] == [0, 1, 2]
        assert np.allclose([tube.found for tube in seen], [0, 1, 2], atol=1e-3)


def test_readers_without_noise_are_also_judged_on_what_was_accepted(tmp_path: Path) -> None:
    """Of two good tubes of known photos one was accepted; the other alone is a swatch off."""
    write_campaign(tmp_path / "c", [*CHART, ("test", 4.0, 60, 20), ("test", 4.0, 50, 20)])
    tubes = [judged(campaign="c", photo="p.jpg", tube=1)]
    lines = bounds([tmp_path / "c"], tubes)
    assert lines[0].startswith("oracle, all: 2 good tubes, 0.707 steps")
    assert lines[1].startswith("oracle, accepted here: 1 good tubes, 0.000 steps")


def test_a_foreign_dye_is_on_the_curve_where_good_tubes_are_as_far_off(tmp_path: Path) -> None:
    """A good tube lies beside the curve; of two foreign ones the farther one can be told."""
    tubes = [("test", 5.0, 50, 24), ("test", None, 55, 22), ("test", None, 55, 40)]
    write_campaign(tmp_path / "c", [*CHART, *tubes])
    assert foreign_dyes([tmp_path / "c"]) == ["foreign dyes on the chart's curve: 1 of 2  c p"]


def test_a_fault_that_a_good_tube_could_be_did_nothing(tmp_path: Path) -> None:
    """One cloud lies beside the curve as a good tube does; a farther one and a wrong one not."""
    good = [("test", 5.0, 50, 24)]
    faults = [("test", 5.0, 50, a, "unsettled") for a in (22, 30)] + [("test", 4.0, 50, 20, "haze")]
    write_campaign(tmp_path / "c", [*CHART, *good, *faults])
    passed = {("c", "p.jpg", k) for k in (2, 3, 4)}
    (line,) = like_good_tubes([tmp_path / "c"], passed)
    assert line.endswith("without noise: 1 of 3  c p")
