"""A pasted list of names fills tubes from the left, photo after photo."""

from dataclasses import replace
from pathlib import Path

from app.desk import DeskPhoto, PhotoEdits
from app.desk_names import fill_names, naming, read_names, same_tests
from app.tube_reading import PhotoLook, TubeEntry, TubeOutline

GLASS = ((0.0, 0.0), (10.0, 0.0), (10.0, 40.0), (0.0, 40.0))


def photo(name: str, tubes: int, *entries: tuple[int, TubeEntry]) -> DeskPhoto:
    """Make a photo with tubes that were found."""
    outlines = tuple(
        TubeOutline(vessel=GLASS, region=GLASS, found=number, by_hand=False)
        for number in range(1, tubes + 1)
    )
    look = PhotoLook(
        width=100, height=100, card=None, tubes=outlines, measurements=(None,) * tubes, lines=(),
        reasons=(), taken_at=None, camera=None, sha256=None,
    )  # fmt: skip
    return DeskPhoto(path=Path(name), edits=PhotoEdits(entries=entries), look=look)


def filled(text: str, photos: list[DeskPhoto], **how: bool) -> list[tuple[str, int, str | None]]:
    """Fill and say what each tube is called."""
    tubes, _ = fill_names(read_names(text), photos, **how)
    return [(str(tube.path), tube.tube, tube.sample) for tube in tubes]


def test_names_run_from_the_left_over_the_photos() -> None:
    """Three tubes of the first sample reach into the second photo."""
    assert filled("Oak Bed x3\nPlot 7", [photo("a", 2), photo("b", 2)]) == [
        ("a", 1, "Oak Bed"),
        ("a", 2, "Oak Bed"),
        ("b", 1, "Oak Bed"),
        ("b", 2, "Plot 7"),
    ]


def test_replicates_are_numbered_only_where_there_are_several() -> None:
    """A sample in one tube has no replicate."""
    tubes, _ = fill_names(read_names("Oak Bed x2\nPlot 7"), [photo("a", 3)])
    assert [tube.replicate for tube in tubes] == ["1", "2", None]


def test_a_number_in_a_name_is_no_count() -> None:
    """Only what stands behind an x, a tab or a comma counts."""
    names = read_names("Plot 7\nBed 3, 2\n  \nField x 4")
    assert [(name.sample, name.count) for name in names] == [
        ("Plot 7", 1),
        ("Bed 3", 2),
        ("Field", 4),
    ]


def test_one_name_may_stand_for_all_tests_of_a_photo() -> None:
    """Four tests of a sample side by side take one line of the list."""
    photos = [photo("a", 2), photo("b", 3)]
    assert filled("Oak Bed\nPlot 7", photos, whole_photos=True) == [
        ("a", 1, "Oak Bed"),
        ("a", 2, "Oak Bed"),
        ("b", 1, "Plot 7"),
        ("b", 2, "Plot 7"),
        ("b", 3, "Plot 7"),
    ]


def test_blanks_and_tubes_with_a_name_are_passed_over() -> None:
    """A blank takes no name; a named tube keeps its own where that is wanted."""
    blank, named = TubeEntry(role="blank"), TubeEntry(sample="Fern End")
    photos = [photo("a", 3, (1, blank), (3, named))]
    assert filled("Oak Bed\nPlot 7", photos) == [("a", 2, "Oak Bed"), ("a", 3, "Plot 7")]
    assert filled("Oak Bed\nPlot 7", photos, keep_named=True) == [("a", 2, "Oak Bed")]


def test_a_list_that_is_too_long_says_so() -> None:
    """What finds no tube is counted; a photo that was not looked at has none."""
    waiting = replace(photo("b", 2), look=None)
    tubes, left_over = fill_names(read_names("A\nB\nC"), [photo("a", 2), waiting])
    assert (len(tubes), left_over) == (2, 1)


def test_naming_leaves_other_words_on_the_tube() -> None:
    """The chart of a tube stays when it gets a name; tubes beyond the list stay as they are."""
    there = photo("a", 2, (1, TubeEntry(chart="pH")))
    tubes, _ = fill_names(read_names("Oak Bed"), [there])
    edits = naming(tubes, {there.path: there})
    assert edits[there.path].entries == ((1, TubeEntry(sample="Oak Bed", chart="pH")),)


def test_the_same_tests_stand_side_by_side_in_every_photo() -> None:
    """Chart and role are taken over by place, names stay; a photo of three tubes is left alone."""
    example = photo("a", 2, (1, TubeEntry(sample="A", chart="pH")), (2, TubeEntry(role="blank")))
    others = [photo("b", 2, (1, TubeEntry(sample="B"))), photo("c", 3)]
    edits = same_tests(example, [example, *others])
    assert list(edits) == [Path("b")]
    assert edits[Path("b")].entries == (
        (1, TubeEntry(sample="B", chart="pH")),
        (2, TubeEntry(role="blank")),
    )
