"""What plants like, and how probably a soil is right for them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import OrderError
from app.soil.crops import crop_fit, find_crop, rank_crops, shipped_crops
from app.soil.spread import Spread, exactly


def test_forty_eight_plants() -> None:
    """40 ranges of the almanac, 9 from memory and the highbush blueberry; two of them are twins."""
    names = [crop.name for crop in shipped_crops()]
    assert len(names) == len(set(names)) == 50
    plants = {name.partition(",")[0] if "hydrangea" in name else name for name in names}
    assert len(plants - {"blueberry, highbush"}) == 48
    assert sum("from memory" in crop.citation.source for crop in shipped_crops()) == 9


@pytest.mark.parametrize(
    ("name", "low", "high"),
    # The Old Farmer's Almanac (almanac.com), read on its page
    [
        ("asparagus", 6.0, 8.0),
        ("potato", 4.8, 6.5),
        ("celery", 5.8, 7.0),
        ("blueberry", 4.0, 6.0),
        ("hydrangea, blue", 4.0, 5.0),
        ("pecan", 6.4, 8.0),
    ],
)
def test_printed_ranges(name: str, low: float, high: float) -> None:
    """As printed."""
    crop = find_crop(name)
    assert (crop.ph_from, crop.ph_to) == (low, high)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("  BRUSSELS  sprout", "Brussels sprout"),
        ("bean", "bean, pole"),
        ("lawn", "lawn, cool-season"),
        ("grass", "lawn, cool-season"),
        ("blueberry", "blueberry"),
    ],
)
def test_names_as_people_type_them(typed: str, found: str) -> None:
    """Any case, an alias, or the first word where it is the only one."""
    assert find_crop(typed).name == found


def test_a_name_for_several_crops_is_asked_back() -> None:
    """Blue and pink hydrangea want opposite soils."""
    with pytest.raises(OrderError, match="several crops") as caught:
        find_crop("hydrangea")
    assert "hydrangea, blue" in caught.value.what_to_do


def test_an_unknown_name_gets_a_hint() -> None:
    """The nearest names, or a table of one's own."""
    with pytest.raises(OrderError) as caught:
        find_crop("tomatoe")
    assert "tomato" in caught.value.what_to_do


@given(value=st.floats(3, 10), down=st.floats(0, 2), up=st.floats(0, 2), at=st.integers(0, 49))
def test_the_three_chances_are_all_there_are(value: float, down: float, up: float, at: int) -> None:
    """They add up to 1."""
    spread = Spread(value=value, low=value - down, high=value + up)
    fit = crop_fit(spread, shipped_crops()[at])
    assert fit.below + fit.inside + fit.above == pytest.approx(1)
    assert min(fit.below, fit.inside, fit.above) >= 0


def test_both_ends_of_the_range_are_inside() -> None:
    """Printed ranges include their ends."""
    tomato = find_crop("tomato")
    assert crop_fit(exactly(5.5), tomato).inside == 1
    assert crop_fit(exactly(7.5), tomato).inside == 1
    assert crop_fit(exactly(7.6), tomato).wants == "acidifying"
    assert crop_fit(exactly(5.4), tomato).wants == "lime"


def test_the_best_crops_come_first() -> None:
    """On a very acid soil those of the heath."""
    ranked = rank_crops(Spread(value=4.8, low=4.6, high=5.0), shipped_crops())
    best = {fit.crop.name for fit in ranked[:6]}
    assert {"azalea", "rhododendron", "blueberry"} <= best
    assert [fit.inside for fit in ranked] == sorted((fit.inside for fit in ranked), reverse=True)
