"""From readings to a source: excess, plume, regions, two sources, and what is never said."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from app.errors import OrderError
from app.site_map.acidity import Scale, buffer_range, draw_buffers
from app.site_map.affected import compare_sites
from app.site_map.flow import UNKNOWN, Flow, arrow
from app.site_map.grid import Grid
from app.site_map.regions import cells_within, regions_of
from app.site_map.site_reading import SiteReading, spread_of
from app.site_map.source_tracing import TracedSource, trace
from app.site_map.spread_model import Ways
from app.site_map.tracing_words import reasons_for

pytestmark = pytest.mark.usefixtures("few_draws")

WATER, SOIL = Scale(is_ph=True, kind="water"), Scale(is_ph=True, kind="soil")
EAST = arrow(90.0)
YARD = (
    *(("H1", 0.0, 80.0, 6.6), ("H2", 5.0, 45.0, 6.5), ("H3", 2.0, 10.0, 6.7)),
    *(("Gate", 40.0, 60.0, 6.4), ("Shed", 52.0, 46.0, 4.3), ("Pond", 75.0, 47.0, 4.9)),
    *(("Ditch", 95.0, 50.0, 5.3), ("Willow", 90.0, 15.0, 6.5)),
)
"""A yard that was made up: acid beside the shed, water flowing east."""


def _reading(name: str, x: float, y: float, ph: float, half: float = 0.2) -> SiteReading:
    return SiteReading(
        name=name,
        letter=name,
        place=(x, y),
        value=ph,
        low=ph - half,
        high=ph + half,
        is_background=name.startswith("H"),
    )


def _yard(**changed: float) -> list[SiteReading]:
    return [_reading(name, x, y, changed.get(name, ph)) for name, x, y, ph in YARD]


@pytest.fixture
def traced(few_draws: None) -> TracedSource:
    """Trace the yard once."""
    return trace(_yard(), WATER, EAST, seed=7)


def _one(value: float) -> np.ndarray:
    return np.array([value])


@pytest.mark.parametrize(
    ("x", "share"), [(10, 0.82992), (50, 0.39371), (100, 0.15501), (200, 0.024028)]
)
def test_plume_on_its_center_line(x: float, share: float) -> None:
    """Worked example, computed by hand: v 0.1 m/d, half-life 365 d, dispersivity 1 m.

    The reach is v / k; a wide source keeps the spreading across it out.
    """
    reach = 0.1 / (math.log(2) / 365)
    ways = Ways(
        azimuth_deg=_one(90.0),
        reach_m=_one(reach),
        along_m=_one(1.0),
        across_m=_one(1e-9),
        width_m=_one(100.0),
        uphill=_one(1.0),
        sideways=_one(1.0),
        is_plume=True,
    )
    found = ways.log_share(np.zeros((1, 2)), np.array([[x, 0.0]]), np.zeros((1, 2)))
    assert 10 ** float(found[0, 0, 0]) == pytest.approx(share, rel=2e-4)


def test_plume_keeps_what_flows_past() -> None:
    """Without decay the excess summed across the flow is the same at every distance."""
    ways = Ways(
        azimuth_deg=_one(90.0),
        reach_m=_one(1e9),
        along_m=_one(5.0),
        across_m=_one(2.0),
        width_m=_one(4.0),
        uphill=_one(1.0),
        sideways=_one(1.0),
        is_plume=True,
    )
    across = np.arange(-200, 201, 1.0)
    sums = []
    for x in (0.0, 20.0, 100.0):
        places = np.stack([np.full_like(across, x), across], axis=1)
        share = ways.log_share(np.zeros((1, 2)), places, np.zeros((1, 2)))[0, 0]
        sums.append(float((10.0**share).sum()))
    assert sums == pytest.approx([sums[0]] * 3, rel=1e-3)


def test_excess_of_a_well_worked_example() -> None:
    """A well at pH 4.2 over a background of 6.5: 6.278e-5 mol/L, 199.5 backgrounds (by hand)."""
    sharp = [_reading("H1", 0, 0, 6.5, half=0.001), _reading("W", 9, 0, 4.2, half=0.001)]
    background, (well,) = compare_sites(sharp, WATER, np.random.default_rng(1))
    assert background.value == pytest.approx(6.5)
    assert well.amount == pytest.approx(6.278e-5, rel=0.01)
    assert well.times_background == pytest.approx(198.5, rel=0.01)


@pytest.mark.parametrize(("dilution", "ph"), [(10, 4.0), (100, 5.0), (1000, 5.9957)])
def test_dilution_worked_example(dilution: float, ph: float) -> None:
    """Unbuffered dilution of pH 3.0 with pure water, by hand (the last with the water's own)."""
    excess = np.array((1e-3 - 1e-7 * 1e-7 / 1e-3) / dilution)
    pure = np.array(20.0) if dilution < 1000 else np.array(-math.log10(0.99e-8))
    found = WATER.with_excess(pure, excess, np.array(1.0))
    assert float(found) == pytest.approx(ph, abs=0.005 if dilution < 1000 else 0.5e-3)


def test_excess_goes_there_and_back_on_every_scale() -> None:
    """What an excess makes of a background is read back as that excess."""
    buffer = np.array([12.0])
    for scale in (WATER, SOIL, Scale(is_ph=False, kind="water")):
        excess = np.array([1e-4 if scale is WATER else 3.0])
        read = scale.with_excess(np.array([6.5]), excess, buffer)
        assert scale.excess_of(read, np.array([6.5]), buffer) == pytest.approx(excess)


def test_buffering_by_texture() -> None:
    """Sand takes up less than clay, both within 5 to 50; one texture shares its draw."""
    assert buffer_range("sand")[1] < buffer_range("clay")[0]
    drawn = draw_buffers(["sand", "sand", None, None], 4000, np.random.default_rng(2))
    logs = np.log(drawn)
    assert np.corrcoef(logs[:, 0], logs[:, 1])[0, 1] > 0.7
    assert abs(np.corrcoef(logs[:, 2], logs[:, 3])[0, 1]) < 0.1
    assert drawn[:, 2].min() >= 5
    assert drawn[:, 2].max() <= 50


def test_readings_keep_their_lopsided_intervals() -> None:
    """90 % of the draws lie in the interval; beyond the chart the open side is wide."""
    lopsided = SiteReading(name="A", letter="A", place=(0, 0), value=5.0, low=4.9, high=5.5)
    open_end = SiteReading(name="B", letter="B", place=(0, 0), value=None, low=None, high=4.0)
    drawn = spread_of([lopsided, open_end], is_ph=True).draw(20_000, np.random.default_rng(3))
    inside = (drawn[:, 0] > 4.9) & (drawn[:, 0] < 5.5)
    assert inside.mean() == pytest.approx(0.90, abs=0.01)
    assert (drawn[:, 1] < 4.0).mean() > 0.95
    with pytest.raises(ValueError, match="beyond one end"):
        replace(open_end, low=3.0)


def test_the_yard_is_traced_to_the_shed(traced: TracedSource) -> None:
    """The most acid site leads, with its reasons in plain words, and the region lies around it."""
    first = traced.ranking[0]
    assert first.excess.site.name == "Shed"
    assert first.excess.most > 0.9
    said = "; ".join(first.reasons)
    assert "most acid in" in said
    assert (
        "up-gradient of Pond, Ditch and Willow" in said or "up-gradient of Pond and Ditch" in said
    )
    assert traced.regions is not None
    assert math.dist(traced.regions.best, (52, 46)) < 25
    shares = [region.share for region in traced.regions.regions]
    assert shares == sorted(shares)
    assert traced.regions.is_informative
    assert sum(item.nearest or 0 for item in traced.ranking) == pytest.approx(1)


def test_it_never_says_more_than_it_knows(traced: TracedSource) -> None:
    """Consistent with; never proved, and no site is named the source."""
    assert "consistent with" in traced.conclusion
    assert "prove" not in traced.conclusion


def test_the_same_seed_gives_the_same_answer(traced: TracedSource) -> None:
    """And another seed nearly the same."""
    again = trace(_yard(), WATER, EAST, seed=7)
    assert again == traced
    other = trace(_yard(), WATER, EAST, seed=8)
    assert other.regions is not None
    assert traced.regions is not None
    assert other.regions.regions[1].share == pytest.approx(traced.regions.regions[1].share, rel=0.5)


def test_an_unknown_direction_widens_the_region(traced: TracedSource) -> None:
    """Distance alone is used, nothing lies up-gradient, and the answer still comes."""
    found = trace(_yard(), WATER, UNKNOWN, seed=7)
    assert found.regions is not None
    assert traced.regions is not None
    assert found.regions.regions[1].share > traced.regions.regions[1].share
    assert not any("gradient" in reason for item in found.ranking for reason in item.reasons)


def test_five_sites_and_no_direction_complete() -> None:
    """The classroom exercise: three sites and two clean ones."""
    five = [r for r in _yard() if r.name in ("H1", "H2", "Shed", "Pond", "Willow")]
    found = trace(five, SOIL, UNKNOWN, seed=1)
    assert len(found.ranking) == 3
    assert found.regions is not None


def test_nothing_to_trace_is_said() -> None:
    """Where no site differs from the background there is no region and no suspect."""
    clean = [_reading(name, x, y, 6.5) for name, x, y, _ in YARD]
    found = trace(clean, WATER, EAST, seed=1)
    assert found.regions is None
    assert "nothing to trace" in str(found.why_no_regions)
    assert "no source at all" in found.conclusion


def test_two_sources_are_said_where_the_data_want_them() -> None:
    """Two hot spots side by side across the flow, clean water between and above them."""
    sites = [
        *(_reading(f"H{i}", 0.0, y, 6.6, half=0.1) for i, y in enumerate((0.0, 50.0, 100.0))),
        *(
            _reading(f"N{i}", x, 92.0, ph, half=0.1)
            for i, (x, ph) in enumerate(((45, 3.4), (65, 3.6), (90, 3.9)))
        ),
        *(
            _reading(f"S{i}", x, 8.0, ph, half=0.1)
            for i, (x, ph) in enumerate(((45, 3.5), (65, 3.7), (90, 4.0)))
        ),
        *(
            _reading(f"M{i}", x, y, 6.6, half=0.1)
            for i, (x, y) in enumerate(((45, 50), (65, 50), (90, 50), (65, 35), (65, 65)))
        ),
    ]
    found = trace(sites, WATER, EAST, seed=3)
    assert found.regions is None
    assert found.two_sources is not None
    north, south = sorted(found.two_sources, key=lambda place: -place[1])
    assert north[1] > 60
    assert south[1] < 40
    assert "two sources" in found.conclusion


def test_a_misfit_falls_back_to_the_ranking_and_shows_residuals() -> None:
    """Acid at every other site along the flow: no plume from one or two sources looks so."""
    striped = [
        *(_reading(f"H{i}", 0.0, y, 6.6, half=0.05) for i, y in enumerate((20.0, 50.0, 80.0))),
        *(
            _reading(f"W{i}", 20.0 + 8 * i, 50.0 + (i % 3), 3.5 if i % 2 else 6.6, half=0.05)
            for i in range(10)
        ),
    ]
    found = trace(striped, WATER, EAST, seed=3)
    assert found.regions is None
    assert len(found.residuals) == len(striped)
    assert found.ranking[0].nearest is None
    assert found.ranking[0].reasons


@pytest.mark.parametrize("keep", ["H", "W"])
def test_both_kinds_of_sites_are_needed(keep: str) -> None:
    """Background sites alone, or none at all, compare with nothing."""
    some = [_reading(f"{keep}{i}", float(i), 0.0, 5.0 + i) for i in range(4)]
    with pytest.raises(OrderError):
        trace(some, WATER, EAST, seed=1)


def test_background_sites_that_differ_make_the_background_unsure() -> None:
    """Its interval widens with their scatter."""
    alike, apart = (
        compare_sites(
            [
                *(_reading(f"H{i}", 0, i, ph, half=0.05) for i, ph in enumerate(phs)),
                _reading("W", 9, 9, 5),
            ],
            SOIL,
            np.random.default_rng(1),
        )[0]
        for phs in ((6.5, 6.5, 6.5), (6.0, 6.5, 7.0))
    )
    assert apart.high - apart.low > 3 * (alike.high - alike.low)


def test_regions_hold_what_they_say() -> None:
    """The fewest cells, at least the level, and reaching the edge is noticed."""
    grid = Grid(west=0, south=0, east=4, north=4, columns=4, rows=4)
    probability = np.zeros(16)
    probability[[5, 6, 0]] = 0.5, 0.2, 0.3
    assert cells_within(probability, 0.8).sum() == 2
    found = regions_of(grid, probability)
    assert [region.share for region in found.regions] == [1 / 16, 2 / 16, 3 / 16]
    assert found.best == (1.5, 1.5)
    assert found.reaches_edge
    assert found.edge == pytest.approx(0.3)


def test_reasons_for_soil_speak_of_acid_taken_up() -> None:
    """Not of backgrounds: soil buffers."""
    readings = _yard()
    _, excess = compare_sites(readings, SOIL, np.random.default_rng(1))
    shed = next(item for item in excess if item.site.name == "Shed")
    flow: Flow = EAST
    every: Sequence = excess
    said = "; ".join(reasons_for(shed, 0.5, every, SOIL, flow))
    assert "mmol/kg" in said
    assert "times the background" not in said
