"""PDF pages: the right size, no row cut in two, heads repeated, any text."""

import os
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from app.errors import OrderError
from app.window import pdf_page
from app.window.pdf_page import Cut, write_report_pdf
from tests.app.exports.test_hostile_text import report_of

POINTS = {"a4": (595, 842), "letter": (612, 792)}
"""Width and height: 210 x 297 mm, and 8.5 x 11 inches, at 72 points an inch."""


def test_pages_have_the_size_of_the_paper(qapp: object, tmp_path: Path) -> None:
    """ISO 216 A4 and US Letter, in the file's own box of the page."""
    for paper, (width, height) in POINTS.items():
        target = tmp_path / f"{paper}.pdf"
        assert write_report_pdf(report_of("North"), target, paper=paper) > 1  # type: ignore[arg-type]
        data = target.read_bytes()
        assert data.startswith(b"%PDF-")
        box = data.split(b"/MediaBox [")[1].split(b"]")[0].split()
        assert [float(x) for x in box[2:]] == [
            pytest.approx(width, abs=1),
            pytest.approx(height, abs=1),
        ]


def test_pages_are_cut_between_rows_under_repeated_heads(
    qapp: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Strips follow on each other without a gap, fit the page, and begin at a place of cutting."""
    report = report_of("North")
    row = report.readings[0]
    many = replace(report, readings=tuple(replace(row, id=i) for i in range(1, 60)))
    seen: list[Any] = []
    heights: list[float] = []
    pages = pdf_page._pages

    def watched(document: Any, height: float) -> Any:
        seen.extend(pages(document, height))
        heights.append(height)
        cuts.update((cut.y, cut.head) for cut in pdf_page._cuts(document))
        return iter(seen)

    cuts: set[tuple[float, Any]] = set()
    monkeypatch.setattr(pdf_page, "_pages", watched)
    write_report_pdf(many, tmp_path / "a.pdf")
    assert seen[0][0] == Cut(y=0.0)
    for (_, end), (start, _) in pairwise(seen):
        assert end == start.y
        assert (start.y, start.head) in cuts
    for start, end in seen:
        head = 0 if start.head is None else start.head[1] - start.head[0]
        assert end - start.y + head <= heights[0]
    assert sum(start.head is not None for start, _ in seen) >= 3


@pytest.mark.parametrize("text", ["x" * 5000, "مرحبا \u202eevil", "<b>\x00=1", "🌱 e\u0301"])
def test_any_text(qapp: object, tmp_path: Path, text: str) -> None:
    """Long words are broken, strange ones do no harm, and nothing runs out of the page."""
    assert write_report_pdf(report_of(text), tmp_path / "a.pdf") > 1


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs limits of POSIX")
def test_a_full_disk_is_said(qapp: object, tmp_path: Path) -> None:
    """Qt itself would leave an empty file and say nothing."""
    import resource

    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, limits[1]))
    try:
        with pytest.raises(OrderError, match="cannot be written"):
            write_report_pdf(report_of("North"), tmp_path / "a.pdf")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert list(tmp_path.rglob("*.p*")) == []


def test_a_place_that_cannot_be_written(qapp: object, tmp_path: Path) -> None:
    """Said plainly, and nothing is left."""
    with pytest.raises(OrderError, match="cannot be written"):
        write_report_pdf(report_of("North"), tmp_path / "nowhere" / "a.pdf")
    assert list(tmp_path.rglob("*.pdf")) == []
