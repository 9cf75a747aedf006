"""Photos find their samples by name, time or a typed label, or it is said why not."""

from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.survey.method import Method, Test
from app.survey.photo_matching import (
    PhotoMatch,
    match_by_label,
    match_by_name,
    match_by_time,
    sites_by_photos,
)
from app.survey.sample import Sample
from app.survey.site import Site
from colorcore.errors import SheetError

LABELS = ("Plot A", "Plot A2", "Böden 7", "A")
START = datetime(2026, 5, 1, 9, 0, tzinfo=timezone(timedelta(hours=2)))


@pytest.mark.parametrize(
    ("photo", "sample"),
    [
        ("plot-a_2.jpg", "Plot A"),
        ("season/IMG 0042 PLOT_A2.HEIC", "Plot A2"),
        ("C:\\photos\\bo\u0308den-7.jpg", "Böden 7"),
        ("plots.jpg", None),
        ("IMG_0042.jpg", None),
    ],
)
def test_the_longest_label_in_the_name_counts(photo: str, sample: str | None) -> None:
    """As whole words, however they are written; a part of a word is none."""
    assert match_by_name([photo], LABELS)[0].sample == sample


def test_two_labels_of_the_same_words_are_left_to_the_user() -> None:
    """A wrong sample is worse than none."""
    (found,) = match_by_name(["plot-a.jpg"], ["Plot A", "plot_a"])
    assert (found.sample, found.why) == (None, "its name fits Plot A and plot_a")


def test_a_pattern_says_where_the_label_stands() -> None:
    """Also where the name holds other words; what does not fit is said."""
    first, second, third = match_by_name(
        ["2026-A-03.jpg", "2026-B-03.jpg", "other.jpg"], LABELS, "{any}-{sample}-{replicate}"
    )
    assert (first.sample, first.replicate) == ("A", "03")
    assert (second.sample, second.why) == (None, "its name holds no known label")
    assert third.why == "its name does not fit the pattern"
    for pattern in ("{replicate}", "{sample}{sample}", "{label}", "plain"):
        with pytest.raises(SheetError, match="cannot be used"):
            match_by_name([], LABELS, pattern)


@given(st.text(max_size=20), st.text(max_size=20))
def test_names_and_patterns_never_break_it(name: str, around: str) -> None:
    """Whatever stands in a name or round the label in a pattern."""
    assert match_by_name([name], LABELS)[0].sample in (None, *LABELS)
    plain = around.replace("{", "").replace("}", "")
    assert match_by_name([f"{plain}A"], LABELS, f"{plain}{{sample}}")[0].photo == f"{plain}A"


def started(sample: str, minutes: int, method: str | None = "N") -> Test:
    """Make a test whose indicator was added so many minutes after the start."""
    at = START + timedelta(minutes=minutes)
    return Test(
        id=f"{sample} {minutes}",
        sample=sample,
        quantity="nitrogen",
        method=method,
        indicator_added_at=at,
    )


def test_the_time_of_color_development_tells_the_test() -> None:
    """Inside the method's window; a camera without a zone shows the time of the place."""
    methods = (Method(name="N", color_from_min=10, color_to_min=20),)
    tests = (started("A", 0), started("B", 30))
    minutes = {5: None, 10: "A", 20: "A", 25: None, 45: "B"}
    photos = [(f"{m}.jpg", (START + timedelta(minutes=m)).replace(tzinfo=None)) for m in minutes]
    found = match_by_time(photos, tests, methods)
    assert [match.sample for match in found] == list(minutes.values())
    assert found[1].quantity == "nitrogen"
    zoned = match_by_time([("x.jpg", START + timedelta(minutes=15))], tests, methods)
    assert zoned[0].sample == "A"
    both = match_by_time(photos[2:3], (*tests, started("C", 5)), methods)[0]
    assert both.why == "its time fits A and C"
    assert match_by_time([("x.jpg", None)], tests, methods)[0].sample is None
    hour = [("x.jpg", START + timedelta(minutes=59)), ("y.jpg", START + timedelta(minutes=61))]
    assert [m.sample for m in match_by_time(hour, (started("A", 0, None),), ())] == ["A", None]


def test_a_typed_label() -> None:
    """However it is written; one that is not there is refused."""
    assert match_by_label(["x.jpg"], LABELS, "plot a")[0].sample == "Plot A"
    with pytest.raises(SheetError, match="no sample 'Z'"):
        match_by_label(["x.jpg"], LABELS, "Z")


def test_sites_get_the_mean_place_of_their_photos() -> None:
    """Only those without one; other photos do not count."""
    sites = (Site(name="N"), Site(name="S", latitude_deg=1.0, longitude_deg=2.0))
    samples = (Sample(label="A", site="N"), Sample(label="B", site="S"))
    matches = [
        PhotoMatch(photo="1.jpg", sample="A"),
        PhotoMatch(photo="2.jpg", sample="A"),
        PhotoMatch(photo="3.jpg", sample="B"),
        PhotoMatch(photo="4.jpg", sample=None),
    ]
    places = {f"{n}.jpg": (50.0 + n, 8.0) for n in range(1, 5)}
    (placed,) = sites_by_photos(sites, samples, matches, places)
    assert (placed.name, placed.latitude_deg, placed.longitude_deg) == ("N", 51.5, 8.0)
    assert sites_by_photos(sites, samples, matches, {}) == ()
