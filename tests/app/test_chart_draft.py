"""A chart that is being made: outlines drawn by hand, and sheets that go out and come in again."""

from dataclasses import replace
from pathlib import Path

import pytest

import sample_images
from app.desk_outlines import quad_of, with_card, with_tube, without_tube
from app.errors import OrderError
from app.tasks.calibrate_chart import SeenStandard, StandardsPhoto, look_at_standards
from app.tasks.chart_draft import ChartDraft, DraftFacts, DraftPatch, DraftTube
from app.tasks.draft_file import (
    export_patches,
    export_sheet,
    import_patches,
    load_draft,
    save_draft,
)
from calibration.sheets import read_patches
from colorcore.errors import SheetError
from colorcore.geometry import Box
from colorcore.hand_outlines import HandOutlines

SIZE = (400, 300)
AS_FOUND = HandOutlines()


def photo_of(path: Path, lefts: tuple[float, ...]) -> StandardsPhoto:
    """Return a photo in which tubes were found at these places from the left."""
    tubes = tuple(
        SeenStandard(
            vessel=quad_of(Box(left, 50, 30, 150)),
            region=quad_of(Box(left + 5, 90, 20, 80)),
            measurement=None, why_not="", rank=place, found=place + 1,
        )
        for place, left in enumerate(lefts)
    )  # fmt: skip
    return StandardsPhoto(
        path=path, width=SIZE[0], height=SIZE[1], card=None, tubes=tubes, reasons=()
    )


def draft_of(path: Path, values: tuple[float, ...]) -> ChartDraft:
    """Return a draft that says values of tubes from the left."""
    tubes = tuple(DraftTube(path=path, tube=t, value=v) for t, v in enumerate(values, start=1))
    return ChartDraft(photos=(path,), tubes=tubes)


def said(draft: ChartDraft) -> dict[int, float | None]:
    """Return what is said, by place."""
    return {tube.tube: tube.value for tube in draft.tubes}


def test_values_follow_their_tubes_when_another_is_drawn_between_them() -> None:
    """Tubes count from the left; a value stays with its tube."""
    path = Path("a")
    drawn = with_tube(AS_FOUND, photo_of(path, (50, 200)), quad_of(Box(120, 90, 20, 80)))
    draft = draft_of(path, (4.0, 7.0)).redrawn(path, drawn)
    assert said(draft) == {1: 4.0, 3: 7.0}
    assert draft.hand(path).tubes is not None


def test_values_of_a_sheet_stay_when_the_tube_is_drawn_that_was_missed() -> None:
    """A sheet names three tubes, two were found: its second value belongs to the drawn one."""
    path = Path("a")
    drawn = with_tube(AS_FOUND, photo_of(path, (50, 200)), quad_of(Box(120, 90, 20, 80)))
    assert said(draft_of(path, (4.0, 5.5, 7.0)).redrawn(path, drawn)) == {1: 4.0, 2: 5.5, 3: 7.0}


def test_a_phantom_taken_out_takes_its_value_along() -> None:
    """The values of the others go on to their new places, also one that was not found."""
    path = Path("a")
    seen, draft = photo_of(path, (50, 120, 200)), draft_of(path, (4.0, 5.5, 7.0, 8.0))
    for place, left in ((2, {1: 4, 2: 7, 3: 8}), (3, {1: 4, 2: 5.5, 3: 8})):
        assert said(draft.redrawn(path, without_tube(AS_FOUND, seen, place))) == left


def test_what_is_drawn_is_kept_with_the_draft(tmp_path: Path) -> None:
    """A draft that is taken up again has its outlines; a photo left out takes them along."""
    path = tmp_path / "a.jpg"
    path.touch()
    seen = photo_of(path, (50, 200))
    draft = draft_of(path, (4.0, 7.0))
    for drawn in (
        with_tube(AS_FOUND, seen, quad_of(Box(120, 90, 20, 80))),
        with_card(draft.hand(path), seen, quad_of(Box(300, 90, 50, 60))),
    ):
        draft = draft.redrawn(path, drawn)
    save_draft(draft, tmp_path / "draft")
    assert load_draft(tmp_path / "draft") == draft
    assert draft.without_photo(path).hands == ()


def test_a_sheet_cannot_hold_outlines_and_says_so(tmp_path: Path) -> None:
    """A sheet that would be read elsewhere on the terminal is not written."""
    path, out = tmp_path / "a.jpg", tmp_path / "out.csv"
    seen = photo_of(path, (50, 200))
    drawn = with_tube(AS_FOUND, seen, quad_of(Box(120, 90, 20, 80)))
    draft = draft_of(path, (4.0, 7.0)).redrawn(path, drawn)
    with pytest.raises(OrderError, match="drawn by hand"):
        export_sheet(draft, {path: seen}, out)
    assert not out.exists()


def test_outlines_beside_the_photo_are_refused() -> None:
    """A smaller photo may have taken the place of the one that was drawn on."""
    photo = Path(sample_images.__file__).resolve().parent / "ph" / "ph-2.jpg"
    with pytest.raises(OrderError, match="1600 by 1200"):
        look_at_standards(
            photo, (0.18, 0.18, 0.18), HandOutlines(card=quad_of(Box(1590, 9, 50, 50)))
        )


PATCHES = (
    DraftPatch(quad=quad_of(Box(10, 20, 30, 40)), value=5.0, uncertainty=0.1, label="five"),
    DraftPatch(quad=((60, 20), (90, 24), (88, 60), (61, 58)), value=6.5),
)
NITRATE = DraftFacts(quantity="nitrogen", form="NO3", basis="extract", unit="mg/L")


def printed(folder: Path, patches: tuple[DraftPatch, ...] = ()) -> ChartDraft:
    """Return the draft of a printed chart."""
    return ChartDraft(kind="printed", photos=(folder / "chart.jpg",), patches=patches)


def test_patches_go_out_and_come_in_again(tmp_path: Path) -> None:
    """Values, labels, uncertainties and what they are of come back; unfinished ones stay away."""
    sheet = tmp_path / "patches.csv"
    blank = DraftPatch(quad=quad_of(Box(120, 20, 30, 40)))
    draft = replace(printed(tmp_path, (*PATCHES, blank)), facts=NITRATE)
    assert export_patches(draft, sheet) == 2
    again = import_patches(printed(tmp_path), sheet, SIZE)
    assert (again.patches, again.facts) == (PATCHES, NITRATE)
    assert [patch.value for patch in read_patches(sheet, photo="chart.jpg")] == [5.0, 6.5]


def test_patches_without_any_value_go_out_as_places(tmp_path: Path) -> None:
    """All come back, named by their numbers."""
    sheet = tmp_path / "patches.csv"
    blank = tuple(replace(patch, value=None, label=None) for patch in PATCHES)
    assert export_patches(printed(tmp_path, blank), sheet) == 2
    assert [p.label for p in import_patches(printed(tmp_path), sheet, SIZE).patches] == ["1", "2"]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("photo,x1,y1\na.jpg,1,2\n", "x2"),
        ("x1,y1,x2,y2,x3,y3,x4,y4,value\n10,10,40,10,40,40,10,forty,5\n", "Line 2"),
        ("x1,y1,x2,y2,x3,y3,x4,y4,value\n10,10,420,10,420,40,10,40,5\n", "400 by 300"),
        ("x1,y1,x2,y2,x3,y3,x4,y4,value\n10,10,12,10,12,12,10,12,5\n", "too small"),
        ("photo,x1,y1,x2,y2,x3,y3,x4,y4,value\nb.jpg,10,10,40,10,40,40,10,40,5\n", "chart.jpg"),
    ],
)  # fmt: skip
def test_a_sheet_of_patches_that_cannot_be_taken_says_why(
    tmp_path: Path, text: str, why: str
) -> None:
    """A missing column, a word for a number, a patch beside the photo, another photo's sheet."""
    sheet = tmp_path / "patches.csv"
    sheet.write_text(text)
    with pytest.raises(SheetError) as refused:
        import_patches(printed(tmp_path), sheet, SIZE)
    assert why in f"{refused.value.what_happened} {refused.value.what_to_do}"
