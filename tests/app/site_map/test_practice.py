"""A practice survey: what is mixed, what the class would read, and how it did."""

from dataclasses import replace

import pytest

from app.errors import OrderError
from app.site_map.acidity import Scale
from app.site_map.flow import arrow
from app.site_map.practice import (
    GroupAnswer,
    PracticePlan,
    judge_answers,
    practice_doubts,
    practice_values,
)
from app.site_map.practice_mix import CITRIC, VINEGAR, mix_for, ph_of, recipe
from app.site_map.site_reading import SiteReading
from app.site_map.source_tracing import trace

pytestmark = pytest.mark.usefixtures("few_draws")

PLAN = PracticePlan(
    sites=(
        *(("Gate", (40.0, 55.0)), ("Shed", (52.0, 48.0)), ("Pond", (75.0, 47.0))),
        *(("Ditch", (95.0, 52.0)), ("Willow", (90.0, 20.0))),
        *(("Hill 1", (0.0, 80.0)), ("Hill 2", (5.0, 45.0)), ("Hill 3", (2.0, 10.0))),
    ),
    background=("Hill 1", "Hill 2", "Hill 3"),
    source=(50.0, 47.0),
    flow_deg=90.0,
    reach_m=15.0,
    spread_m=6.0,
)


@pytest.mark.parametrize(
    ("acid", "molar", "ph"), [(VINEGAR, 0.1, 2.88), (VINEGAR, 0.01, 3.38), (CITRIC, 0.1, 2.08)]
)
def test_acids_alone(acid: object, molar: float, ph: float) -> None:
    """Textbook pH of acetic acid 0.1 and 0.01 mol/L, and of citric acid (from memory)."""
    assert ph_of(acid, molar) == pytest.approx(ph, abs=0.01)  # type: ignore[arg-type]


def test_water_in_air_and_soda_alone() -> None:
    """Water in air has pH 5.6 (well known, from memory).

    1 mmol/L of soda: by hand h = 10^-6.35 x 1.42e-5 / 1e-3, pH 8.20, the carbonate left out.
    """
    assert ph_of(CITRIC, 0.0) == pytest.approx(5.6, abs=0.05)
    assert ph_of(CITRIC, 0.0, 0.001) == pytest.approx(8.20, abs=0.02)


@pytest.mark.parametrize("ph", [2.6, 3.5, 4.8, 6.0, 7.0, 8.0])
def test_a_recipe_gives_the_ph_it_is_for(ph: float) -> None:
    """The balance solved the other way round gives the pH back; an error of 5 % is bracketed."""
    mix = mix_for(ph, CITRIC)
    mol = [ml / 100 * 0.05 for ml in (mix.acid_ml, mix.soda_ml)]
    assert ph_of(CITRIC, *mol) == pytest.approx(ph, abs=0.005)
    assert mix.ph_if_less < ph < mix.ph_if_more
    assert mix.acid_ml + mix.soda_ml <= mix.volume_ml


def test_a_teacher_is_told_of_a_source_that_nobody_can_find() -> None:
    """The exercise as made is sound; a narrow plume past all sites, or over clean ones, is not."""
    assert practice_doubts(PLAN, practice_values(PLAN)) == ()
    past = replace(PLAN, source=(50.0, 0.0), spread_m=1.0)
    (doubt,) = practice_doubts(past, practice_values(past))
    assert "shows at 0 of the sites" in doubt
    over = replace(PLAN, source=(0.0, 44.0))
    assert "reaches Hill 2" in practice_doubts(over, practice_values(over))[-1]


@pytest.mark.parametrize(("ph", "acid"), [(1.5, CITRIC), (9.0, CITRIC), (2.5, VINEGAR)])
def test_what_is_not_mixed_for_a_class(ph: float, acid: object) -> None:
    """Too strong, too alkaline, or more acid than fits into the beaker."""
    with pytest.raises(OrderError):
        mix_for(ph, acid)  # type: ignore[arg-type]


def test_the_recipe_names_every_sample_and_the_dangers() -> None:
    """Gas, goggles, cleaning products and the meter are in it."""
    text = "\n".join(recipe(["A", "B"], [4.0, 6.5], CITRIC))
    for word in ("A: pH 4.0", "B: pH 6.5", "gas", "Goggles", "cleaning products", "meter", "sand"):
        assert word in text


def test_the_same_plan_gives_the_same_samples() -> None:
    """Most acid beside the source, clean at the background, and another seed differs."""
    values = dict(zip((name for name, _ in PLAN.sites), practice_values(PLAN), strict=True))
    assert practice_values(PLAN) == practice_values(PLAN)
    assert practice_values(replace(PLAN, seed=1)) != practice_values(PLAN)
    assert min(values, key=lambda name: values[name]) == "Shed"
    assert all(abs(values[name] - PLAN.background_ph) < 0.5 for name in PLAN.background)


def test_the_tracing_finds_what_the_teacher_hid() -> None:
    """The practice survey, read with the usual error, leads back to the source."""
    readings = [
        SiteReading(
            name=name,
            letter=name,
            place=place,
            value=value,
            low=value - 0.2,
            high=value + 0.2,
            is_background=name in PLAN.background,
        )
        for (name, place), value in zip(PLAN.sites, practice_values(PLAN), strict=True)
    ]
    found = trace(readings, Scale(is_ph=True, kind="water"), arrow(PLAN.flow_deg), seed=1)
    assert found.ranking[0].excess.site.name == "Shed"
    assert found.regions is not None
    assert found.regions.is_informative


def test_groups_are_compared_with_the_truth() -> None:
    """One group is right, one is not, one gives no place; a site that is not there is refused."""
    mixed = practice_values(PLAN)
    true = tuple(zip((name for name, _ in PLAN.sites), mixed, strict=True))
    off = tuple((name, value + 0.5) for name, value in true)
    right, wrong, short = judge_answers(
        PLAN,
        mixed,
        [
            GroupAnswer(group="1", readings=true, suspect="Shed", place=(50.0, 50.0)),
            GroupAnswer(group="2", readings=off, suspect="Willow", place=(90.0, 20.0)),
            GroupAnswer(group="3", readings=(), suspect="Shed"),
        ],
    )
    assert (right.named_nearest, right.found_it, right.distance_m) == (True, True, 3.0)
    assert right.reading_error == pytest.approx(0)
    assert (wrong.named_nearest, wrong.found_it) == (False, False)
    assert wrong.reading_error == pytest.approx(0.5)
    assert (short.found_it, short.reading_error) == (None, None)
    with pytest.raises(OrderError, match="Moon"):
        judge_answers(PLAN, mixed, [GroupAnswer(group="4", readings=(), suspect="Moon")])


@pytest.mark.parametrize(
    "change",
    [
        {"sites": PLAN.sites[:3]},
        {"background": ("Moon",)},
        {"source_ph": 7.5},
        {"source_ph": 1.0},
        {"reach_m": 0.0},
    ],
)
def test_a_plan_that_cannot_be_is_refused(change: dict[str, object]) -> None:
    """Too few sites, an unknown background, a source that is no acid, or too strong a one."""
    with pytest.raises(OrderError):
        replace(PLAN, **change)  # type: ignore[arg-type]
