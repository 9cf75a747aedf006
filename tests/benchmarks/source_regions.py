"""Does the region of the source hold it as often as it says? Made-up sites, a known source.

python -m tests.benchmarks.source_regions [--model 500] [--broken 200] [--noisy 200] [--seed 1]

Three worlds. "model": everything is drawn as the tracing itself draws it, so that the 80 % region
must hold the source in 80 % of the cases. "broken": ground that bends the flow and blotches the
plume, buffering, a second weak source, a direction wrong by up to 40 degrees, readings surer
than they should be. "noisy": the model with large and unequal errors of reading, for the ranking.
Cases in which no site is clearly affected are drawn again, as nobody would trace them, and so are
those in which the spill reached a background site: users name sites that they know to be clean.
"""

import argparse
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import perf_counter

import numpy as np

from app.site_map.acidity import FloatArray, Scale, draw_buffers
from app.site_map.flow import ARROW_SD_DEG, UNKNOWN, WELL_SD_DEG, Flow
from app.site_map.grid import Grid
from app.site_map.plane import Point
from app.site_map.regions import cells_within
from app.site_map.site_reading import TO_SD, SiteReading, spread_of
from app.site_map.source_tracing import TracedSource, trace
from app.site_map.spread_model import COORDINATES, Ways, ways_of
from app.site_map.unknowns import NATURAL_PH, powers_for

PLAN = Grid(west=0.0, south=0.0, east=120.0, north=90.0, columns=28, rows=21)
TEXTURES = ("sand", "sandy loam", "loam", "clay", None)
BACKGROUNDS = 3
REACHED_PH = 0.2
"""A background site whose pH the spill has changed by more is not what its user says it is."""
HERE = np.zeros((1, 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A made-up survey and its truth."""

    readings: tuple[SiteReading, ...]
    scale: Scale
    flow: Flow
    source: Point


def draw_case(world: str, generator: np.random.Generator) -> Case:
    """Draw surveys until one has background sites that are as clean as their user says."""
    while True:
        case = _draw_case(world, generator)
        if case is not None:
            return case


def _draw_case(world: str, generator: np.random.Generator) -> Case | None:
    """Draw one survey whose source is known; None where it reached a background site."""
    scale = Scale(is_ph=True, kind="water" if generator.random() < 0.5 else "soil")
    broken = world == "broken"
    flow = _draw_flow(generator)
    count = BACKGROUNDS + int(generator.integers(5, 11))
    places = generator.uniform((0, 0), (PLAN.east, PLAN.north), (count, 2))
    source = generator.uniform((0, 0), (PLAN.east, PLAN.north), 2)
    clean = _background_sites(places, flow, generator)
    texture = TEXTURES[generator.integers(len(TEXTURES))]
    ways = _draw_ways(flow, scale, generator)
    if broken:
        ways = _turned(flow, scale, generator)
    share = 10.0 ** ways.log_share(source[None], places, HERE)[0, 0].astype(float)
    none = spread_of([], is_ph=True)
    powers = powers_for(scale, none)
    strength = 10.0 ** generator.uniform(powers.weakest, powers.strongest)
    excess = strength * share * 10.0 ** (ways.model_sd * generator.normal(size=count))
    if broken:
        excess = _broken_excess(excess, strength, places, ways, generator)
    natural = math.exp(generator.uniform(*(math.log(limit) for limit in NATURAL_PH)))
    background = generator.uniform(5.8, 7.2) + natural * generator.normal(size=count)
    buffers = draw_buffers([texture] * count, 1, generator)[0]
    if broken:
        buffers = buffers * np.exp(generator.normal(0, 0.4, count))
        if scale.kind == "water":  # what is dissolved in the water takes up the first of the acid
            excess = np.maximum(excess - 10.0 ** generator.uniform(-6, -4.5), 0)
    true = scale.with_excess(background, excess, buffers)
    reached = np.abs(true - scale.with_excess(background, 0 * excess, buffers))
    if reached[clean].max() > REACHED_PH:
        return None
    low, high = (0.3, 1.0) if world == "noisy" else (0.05, 0.3)
    sd = generator.uniform(low, high, count)
    read = true + sd * generator.normal(size=count) * (1.3 if broken else 1.0)
    return Case(
        readings=tuple(
            SiteReading(
                name=f"S{i}",
                letter=f"S{i}",
                place=(float(places[i, 0]), float(places[i, 1])),
                value=float(read[i]),
                low=float(read[i] - TO_SD * sd[i]),
                high=float(read[i] + TO_SD * sd[i]),
                is_background=bool(clean[i]),
                texture=texture,
            )
            for i in range(count)
        ),
        scale=scale,
        flow=flow,
        source=(float(source[0]), float(source[1])),
    )


def _draw_flow(generator: np.random.Generator) -> Flow:
    azimuth = float(generator.uniform(0, 360))
    kind = generator.integers(3)
    if kind == 0:
        return UNKNOWN
    if kind == 1:
        return Flow(how="arrow", azimuth_deg=azimuth, sd_deg=ARROW_SD_DEG)
    return Flow(how="heads", azimuth_deg=azimuth, sd_deg=WELL_SD_DEG)


def _background_sites(places: FloatArray, flow: Flow, generator: np.random.Generator) -> FloatArray:
    """Take the sites that lie farthest up the flow, or any where that is unknown."""
    if flow.azimuth_deg is None:
        order = generator.permutation(len(places))
    else:
        order = np.argsort([flow.along((0.0, 0.0), (x, y))[0] for x, y in places])
    clean = np.zeros(len(places), dtype=bool)
    clean[order[:BACKGROUNDS]] = True
    return clean


def _draw_ways(flow: Flow, scale: Scale, generator: np.random.Generator) -> Ways:
    normals = generator.normal(size=(1, COORDINATES))
    return ways_of(flow, scale.kind, PLAN.size_m, normals)


def _turned(flow: Flow, scale: Scale, generator: np.random.Generator) -> Ways:
    """Spread along a direction that is up to 40 degrees off, or any where it is unknown."""
    if flow.azimuth_deg is None:
        azimuth = generator.uniform(0, 360)
    else:
        azimuth = flow.azimuth_deg + generator.uniform(-40, 40)
    true = Flow(how="arrow", azimuth_deg=float(azimuth), sd_deg=0.0)
    return _draw_ways(true, scale, generator)


def _broken_excess(
    excess: FloatArray,
    strength: float,
    places: FloatArray,
    ways: Ways,
    generator: np.random.Generator,
) -> FloatArray:
    """Blotches some 30 m wide, and a second source of a tenth to a third of the strength."""
    apart = np.linalg.norm(places[:, None] - places[None], axis=2)
    blotches = np.exp(-((apart / 30.0) ** 2)) + 1e-9 * np.eye(len(places))
    field = np.linalg.cholesky(blotches) @ generator.normal(size=len(places))
    other = generator.uniform((0, 0), (PLAN.east, PLAN.north), 2)
    more = 10.0 ** ways.log_share(other[None], places, HERE)[0, 0].astype(float)
    return excess * 10.0 ** (0.3 * field) + strength * generator.uniform(0.1, 0.33) * more


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of one case."""

    fell_back: bool
    two: bool
    held: bool
    share: float
    by_ranking: bool
    by_lowest: bool
    known: bool
    water: bool


def judge(case: Case, traced: TracedSource) -> Outcome:
    """Compare an answer with the truth."""
    asked = [r for r in case.readings if not r.is_background]
    nearest = min(asked, key=lambda r: math.dist(r.place, case.source))
    lowest = min(asked, key=lambda r: r.value or 0.0)
    held, share = False, math.nan
    if traced.regions is not None:
        column = min(int(case.source[0] / PLAN.cell_m[0]), PLAN.columns - 1)
        row = min(int(case.source[1] / PLAN.cell_m[1]), PLAN.rows - 1)
        inside = cells_within(np.array(traced.regions.probability), 0.8)
        held = bool(inside[row * PLAN.columns + column])
        share = traced.regions.regions[1].share
    return Outcome(
        fell_back=traced.regions is None,
        two=traced.two_sources is not None,
        held=held,
        share=share,
        by_ranking=traced.ranking[0].excess.site is nearest,
        by_lowest=lowest is nearest,
        known=case.flow.azimuth_deg is not None,
        water=case.scale.kind == "water",
    )


def run(world: str, wanted: int, seed: int) -> list[Outcome]:
    """Draw cases until so many were traced."""
    generator = np.random.default_rng([seed, sum(map(ord, world))])
    outcomes = []
    while len(outcomes) < wanted:
        case = draw_case(world, generator)
        traced = trace(case.readings, case.scale, case.flow, seed=seed, plan=PLAN)
        if any(item.excess.is_clear for item in traced.ranking):
            outcomes.append(judge(case, traced))
    return outcomes


def report(name: str, outcomes: Sequence[Outcome]) -> None:
    """Print the figures of one world."""
    drawn = [o for o in outcomes if not o.fell_back]

    def rate(of: Sequence[Outcome], what: Callable[[Outcome], bool]) -> str:
        if not of:
            return "-"
        p = sum(map(what, of)) / len(of)
        return f"{100 * p:.1f} % (± {196 * math.sqrt(p * (1 - p) / len(of)):.1f})"

    print(f"\n{name}: {len(outcomes)} cases")
    print(f"  region drawn in {rate(outcomes, lambda o: not o.fell_back)}")
    print(f"  two sources said in {rate(outcomes, lambda o: o.two)}")
    print(f"  80 % region holds the source: {rate(drawn, lambda o: o.held)}")
    print(f"  holds it or falls back: {rate(outcomes, lambda o: o.held or o.fell_back)}")
    for word, keep in (
        ("water, direction known", lambda o: o.water and o.known),
        ("water, unknown", lambda o: o.water and not o.known),
        ("soil, direction known", lambda o: not o.water and o.known),
        ("soil, unknown", lambda o: not o.water and not o.known),
    ):
        some = [o for o in drawn if keep(o)]
        if some:
            mean = sum(o.share for o in some) / len(some)
            print(f"    {word}: {rate(some, lambda o: o.held)}, mean share {100 * mean:.0f} %")
    if drawn:
        mean = sum(o.share for o in drawn) / len(drawn)
        print(f"  mean share of the plan: {100 * mean:.1f} %")
        print(f"  above half, shown as not informative: {rate(drawn, lambda o: o.share > 0.5)}")
    print(f"  nearest site named first by the ranking: {rate(outcomes, lambda o: o.by_ranking)}")
    print(f"  nearest site named first by the lowest pH: {rate(outcomes, lambda o: o.by_lowest)}")


def main() -> None:
    """Print all figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=int, default=500)
    parser.add_argument("--broken", type=int, default=200)
    parser.add_argument("--noisy", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    order = parser.parse_args()
    for world in ("model", "broken", "noisy"):
        wanted = getattr(order, world)
        if wanted:
            start = perf_counter()
            report(world, run(world, wanted, order.seed))
            print(f"  {(perf_counter() - start) / wanted:.2f} s a case")


if __name__ == "__main__":
    main()
