"""A practice survey with a hidden source: what each site would read, and how groups did."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.errors import OrderError
from app.site_map.acidity import LOWEST_PH, FloatArray
from app.site_map.plane import Point
from app.site_map.practice_mix import HIGHEST_PH, LEAST_PH
from app.site_map.spread_model import Ways

SHOWS_PH = 0.5
"""A class sees a sample differ that lies so far below the clean ones (judgement)."""
FEWEST_SHOWN = 2
"""As many samples must show the acid, for one alone has no direction (judgement)."""
SHARE_FOUND = 0.15
"""A group found the source where its place lies within this share of the plan's diagonal
(judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticePlan:
    """What the teacher makes up.

    Parameters
    ----------
    sites : tuple of (str, Point)
        Names and places, metres; in the order in which the samples are made.
    background : tuple of str
        The sites that are to stay clean.
    source : Point
        Where the acid is hidden, metres.
    flow_deg : float
        Where the water flows to, degrees from north.
    reach_m : float
        Distance over which the acid falls to 1/e on its way, metres.
    spread_m : float
        Half-width of the plume at the source, metres; it widens on its way.
    source_ph, background_ph : float
        At the source, and without any acid.
    noise_ph : float
        Standard deviation of what is natural at each site.
    seed : int
        Fixes chance: the same plan and seed give the same samples.
    """

    sites: tuple[tuple[str, Point], ...]
    background: tuple[str, ...]
    source: Point
    flow_deg: float
    reach_m: float
    spread_m: float
    source_ph: float = 3.5
    background_ph: float = 6.8
    noise_ph: float = 0.1
    seed: int = 0

    def __post_init__(self) -> None:
        names = [name for name, _ in self.sites]
        problem = None
        if len(names) < 4 or len(set(names)) < len(names):
            problem = "A practice survey needs four sites or more, each with its own name."
        elif not set(self.background) < set(names):
            problem = "The background sites must be some of the sites, and not all of them."
        elif not LEAST_PH <= self.source_ph < self.background_ph <= HIGHEST_PH:
            problem = (
                f"The pH at the source must lie below the background, both from {LEAST_PH:g} to "
                f"{HIGHEST_PH:g}."
            )
        elif self.seed < 0:
            problem = "The seed must be 0 or more."
        elif not all(map(math.isfinite, (*self.source, self.flow_deg, self.reach_m))):
            problem = "Source, flow and reach must be numbers."
        elif not (self.reach_m > 0 and self.spread_m > 0 and 0 <= self.noise_ph <= 1):
            problem = "Reach and spread must be above 0 m, and the noise from 0 to 1 pH."
        if problem is not None:
            raise OrderError(problem, what_to_do="Change the practice plan.")


def practice_values(plan: PracticePlan) -> tuple[float, ...]:
    """Return the pH that each site's sample is to have, to a tenth.

    The same plume as the tracing works with: steady flow, spreading across it, decay on its way.

    Examples
    --------
    >>> plan = PracticePlan(
    ...     sites=(("A", (0, 0)), ("B", (20, 0)), ("C", (60, 0)), ("D", (-30, 0))),
    ...     background=("D",), source=(0, 0), flow_deg=90, reach_m=20, spread_m=5, noise_ph=0,
    ... )
    >>> practice_values(plan)
    (3.5, 4.0, 4.8, 6.8)
    """
    generator = np.random.default_rng(plan.seed)
    places = np.array([place for _, place in plan.sites], dtype=np.float64)
    source = np.array([plan.source], dtype=np.float64)
    share = 10.0 ** _ways(plan).log_share(source, places, np.zeros((1, 2)))[0, 0].astype(float)
    top = 10.0**-plan.source_ph - 10.0**-plan.background_ph
    clean = plan.background_ph + plan.noise_ph * generator.normal(size=len(places))
    values = -np.log10(10.0**-clean + top * share)
    limited = np.clip(values, max(LEAST_PH, LOWEST_PH), HIGHEST_PH)
    return tuple(round(float(value), 1) for value in limited)


def _ways(plan: PracticePlan) -> Ways:
    def one(number: float) -> FloatArray:
        return np.array([number])

    return Ways(
        azimuth_deg=one(plan.flow_deg),
        reach_m=one(plan.reach_m),
        along_m=one(0.1 * plan.reach_m),
        across_m=one(0.01 * plan.reach_m),
        width_m=one(plan.spread_m),
        uphill=one(1.0),
        sideways=one(1.0),
        is_plume=True,
    )


def practice_doubts(plan: PracticePlan, values: Sequence[float]) -> tuple[str, ...]:
    """Say what would keep a class from finding the source, for the teacher alone.

    Parameters
    ----------
    values : sequence of float
        What `practice_values` gave.
    """
    low = [
        n
        for (n, _), v in zip(plan.sites, values, strict=True)
        if plan.background_ph - v >= SHOWS_PH
    ]
    shown = [name for name in low if name not in plan.background]
    doubts = []
    if len(shown) < FEWEST_SHOWN:
        doubts.append(
            f"The acid shows at {len(shown)} of the sites: too few to find a source by. Let it "
            "reach farther or spread wider, or move the source up the flow from the sites."
        )
    reached = [name for name in low if name in plan.background]
    if reached:
        doubts.append(
            f"The acid reaches {', '.join(reached)}, which is to be clean: choose another one, or "
            "move the source."
        )
    return tuple(doubts)


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupAnswer:
    """What a group of the class found.

    Parameters
    ----------
    group : str
        Its name or number.
    readings : tuple of (str, float)
        Site and pH that they read.
    suspect : str
        The site that they name as the nearest to the source.
    place : Point or None
        Where they put the source, metres.
    """

    group: str
    readings: tuple[tuple[str, float], ...]
    suspect: str
    place: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupResult:
    """How a group did.

    Parameters
    ----------
    group : str
        Its name or number.
    named_nearest : bool
        Whether the site they suspect is the nearest to the source.
    distance_m : float or None
        From their place of the source to the true one.
    found_it : bool or None
        Whether that is near enough; None where they gave no place.
    reading_error : float or None
        Root mean square of their readings against the pH that was mixed.
    worst : str or None
        The site that they read worst.
    said : str
        All that in a sentence.
    """

    group: str
    named_nearest: bool
    distance_m: float | None
    found_it: bool | None
    reading_error: float | None
    worst: str | None
    said: str


def judge_answers(
    plan: PracticePlan, mixed: Sequence[float], answers: Sequence[GroupAnswer]
) -> tuple[GroupResult, ...]:
    """Compare what groups concluded with the truth.

    Parameters
    ----------
    plan : PracticePlan
        What was made up.
    mixed : sequence of float
        pH of each site's sample, as it was measured after mixing.
    answers : sequence of GroupAnswer
        One a group.

    Raises
    ------
    OrderError
        If a group names a site that is not in the plan.
    """
    places, true = dict(plan.sites), dict(zip((n for n, _ in plan.sites), mixed, strict=True))
    open_sites = [name for name in places if name not in plan.background]
    nearest = min(open_sites, key=lambda name: math.dist(places[name], plan.source))
    span = max(math.dist(a, b) for a in places.values() for b in places.values())
    results = []
    for answer in answers:
        unknown = {answer.suspect, *(name for name, _ in answer.readings)} - set(places)
        if unknown:
            raise OrderError(
                f"Group {answer.group} names '{min(unknown)[:40]}', which is no site of the plan.",
                what_to_do=f"The sites are {', '.join(places)}.",
            )
        errors = {name: value - true[name] for name, value in answer.readings}
        rms = math.sqrt(sum(e * e for e in errors.values()) / len(errors)) if errors else None
        away = None if answer.place is None else math.dist(answer.place, plan.source)
        result = GroupResult(
            group=answer.group,
            named_nearest=answer.suspect == nearest,
            distance_m=away,
            found_it=None if away is None else away <= SHARE_FOUND * span,
            reading_error=rms,
            worst=max(errors, key=lambda name: abs(errors[name])) if errors else None,
            said=_say(answer, nearest, away, rms),
        )
        results.append(result)
    return tuple(results)


def _say(answer: GroupAnswer, nearest: str, away: float | None, rms: float | None) -> str:
    said = f"Group {answer.group} named {answer.suspect}"
    said += ", the nearest site" if answer.suspect == nearest else f"; {nearest} is the nearest"
    if away is not None:
        said += f"; their source lies {away:.0f} m from the true one"
    if rms is not None:
        said += f"; their readings are off by {rms:.1f} pH"
    return f"{said}."
