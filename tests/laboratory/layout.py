"""Decide what stands where: plans of scenes and the places of vessels, card and support."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tests.laboratory.glass import Filling
from tests.laboratory.vessel import FLASK, VesselStyle, random_style

SUPPORTS = ("stand", "block", "rail", "clamp", "fingers", "sheet")


@dataclass(frozen=True, slots=True, kw_only=True)
class TubePlan:
    """What one tube must be; None leaves it to chance."""

    value: float | None = None
    role: str = "sample"
    fault: str | None = None  # tube_shadow, unmixed, unsettled, dry_soil, empty_tube, off_chart
    sediment: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ScenePlan:
    """What a scene must show; None leaves it to chance.

    A tidy scene is a photo taken with care: tubes and card whole, apart and unhidden.
    """

    tubes: tuple[TubePlan, ...] | None = None
    kind: str | None = None  # of vessel
    support: str | None = None
    backdrop: str | None = None
    card: str | None = None  # style of the card, "none" without
    faults: tuple[str, ...] = ()  # card_clipped, card_shadow, second_lamp, no_card
    tidy: bool = False
    ground: str | None = None  # material seen behind the tubes
    clutter: int | None = None
    style: VesselStyle | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One vessel with its filling and the map from its own frame to the picture."""

    plan: TubePlan
    style: VesselStyle
    filling: Filling
    matrix: NDArray[np.float64]
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnTube:
    """The truth about one tube; corners in pixels from its top left one clockwise."""

    outline: NDArray[np.float64]
    clear: NDArray[np.float64] | None  # the clear liquid in sight
    plan: TubePlan
    index: int  # its liquid in the palette


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Places in one picture, in pixels."""

    support: str
    backdrop: str
    horizon: float | None
    vessels: tuple[Placed, ...]
    base: float  # row of the vessels' feet
    front: float | None  # row from which a block hides them
    rail: tuple[float, float] | None  # rows of a bar in front, as shares of the vessels' height


def frame_matrix(
    foot: tuple[float, float], height: float, degrees: float, taper: float
) -> NDArray[np.float64]:
    """Return the map from a vessel's frame (x from axis, y from top) to the picture."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = np.array([(c, -s, foot[0]), (s, c, foot[1]), (0, 0, 1)])
    squeeze = np.array([(1, 0, 0), (0, 1, 0), (0, taper / height, 1)])
    down = np.array([(1, 0, 0), (0, 1, -height), (0, 0, 1)])
    return np.asarray(turn @ squeeze @ down)


def arrange(rng: np.random.Generator, size: tuple[int, int], plan: ScenePlan) -> Layout:
    """Choose the places of everything but card and clutter."""
    wide, high = size
    support = plan.support or str(rng.choice(SUPPORTS, p=(0.32, 0.2, 0.16, 0.04, 0.13, 0.15)))
    tubes = plan.tubes if plan.tubes is not None else _random_tubes(rng)
    lying = support in ("sheet", "fingers") or (support in ("rail", "clamp") and rng.random() < 0.5)
    backdrop = plan.backdrop or str(
        rng.choice(("sheet", "plain", "bokeh"), p=(0.75, 0.15, 0.1))
        if lying
        else rng.choice(
            ("room", "bench", "plain", "bokeh", "black", "print"),
            p=(0.45, 0.18, 0.12, 0.15, 0.06, 0.04),
        )
    )
    style = plan.style or _fitting_style(rng, plan.kind, support)
    if support == "sheet":
        style = replace(style, view=0.0, lens=abs(style.lens) ** 0.5)
    n = max(1, len(tubes))
    spacing = float(
        rng.choice(
            (rng.uniform(1.0, 1.15), rng.uniform(1.2, 2.0), rng.uniform(1.5, 3.5)),
            p=(0.2, 0.5, 0.3),
        )
    )
    if plan.tidy:
        spacing = float(np.clip(spacing, 1.35, 2.3))
    room = 0.62 if plan.tidy else 0.95
    most = min(0.45 if not plan.tidy else 0.17, room / (1 + (n - 1) * spacing))
    tallest = 0.72 if plan.tidy else 1.3
    close_up = not plan.tidy and rng.random() < 0.15  # the glass is taller than the picture
    if close_up:
        tallest, most = 3.5, 0.9 / (1 + (n - 1) * spacing)
    most = min(most, tallest * high / wide / style.slender)
    least = min(0.04, most * 0.6)
    if plan.tidy:
        least = max(least, most * 0.55)
    if close_up:
        least = 0.6 * most
    share = float(np.exp(rng.uniform(np.log(least), np.log(most))))
    width = share * wide
    height = width * style.slender
    pitch = width * spacing
    span = pitch * (n - 1) + width
    margin = width * (0.3 if plan.tidy else -0.15)
    left = rng.uniform(min(margin, wide - span - margin), max(margin, wide - span - margin))
    low = 0.45 * high if height < 0.4 * high else height + 0.1 * high
    foot = float(
        np.clip(rng.uniform(min(low, 0.92 * high), 0.96 * high), height * 0.75, 1.05 * high)
    )
    if plan.tidy:
        over = width * (style.closure_size[1] + 0.25 if style.closure != "none" else 0.2)
        foot = float(np.clip(foot, height + over, 0.93 * high))
    horizon = None
    if backdrop in ("room", "bench", "black") or (
        backdrop in ("bokeh", "plain") and rng.random() < 0.5
    ):
        horizon = float(foot - height * rng.uniform(0.0, 0.35) - width * style.view)
        if plan.tidy:
            horizon = float(foot - height * rng.uniform(-0.02, 0.05))
        elif rng.random() < 0.2:  # a table's far edge, seen through the glass
            horizon = float(foot - height * rng.uniform(0.1, 0.9))
        if support in ("rail", "clamp") and rng.random() < 0.6:
            horizon = float(foot + high * rng.uniform(0.0, 0.3))
    front, rail, hidden = None, None, 0.0
    if support == "block":
        hidden = rng.uniform(0.05, 0.3 if plan.tidy else 0.42)
        front = foot - hidden * height
    if support == "rail":
        a = rng.uniform(0.0, 0.28) if plan.tidy or rng.random() < 0.75 else rng.uniform(0.0, 0.8)
        rail = (a, a + rng.uniform(0.03, 0.14))
    tilt = float(rng.choice((0.3, 1.5, 5.0), p=(0.4, 0.35, 0.25)))
    whole_tilt = rng.normal(0, 1.5)
    if support == "stand":
        tilt = min(tilt, 1.5) if rng.random() < 0.9 else tilt
    if support in ("sheet", "fingers"):
        tilt = 8.0 if not plan.tidy else 3.0
        whole_tilt = rng.normal(0, 6)
        if not plan.tidy and rng.random() < 0.15:
            whole_tilt = rng.uniform(-60, 60)
    if plan.tidy:
        whole_tilt = float(np.clip(whole_tilt, -6, 6)) * (
            0.3 if support in ("stand", "block") else 1
        )
        tilt = min(tilt, 3.0)
    taper = rng.normal(0, 0.03)
    rest = hidden + 0.12 if support == "block" else 0.0
    top_rest = rail[1] if rail else 0.0
    recede = 0.0  # a row that goes away from the camera
    if not plan.tidy and rng.random() < 0.2:
        recede = rng.uniform(-0.5, 0.5) / n
    rows = 0.0
    if not plan.tidy and support == "stand" and n > 2 and rng.random() < 0.25:
        rows = rng.uniform(0.15, 0.9)
        style = replace(style, view=max(style.view, rng.uniform(0.1, 0.4)))
    vessels = []
    for k, tube in enumerate(tubes):
        own = _fitting_style(rng, None, support) if not plan.tidy and rng.random() < 0.05 else style
        own = replace(own, slender=own.slender * (1 + rng.normal(0, 0.01)))
        degrees = (
            float(np.clip(whole_tilt + rng.normal(0, tilt), -15, 15))
            if abs(whole_tilt) < 16
            else whole_tilt
        )
        wobble = height * (0.0 if support in ("stand", "block") else rng.normal(0, 0.05))
        if support == "stand":
            wobble = width * style.view * rng.normal(0, 0.6)
        near = 1 + recede * (k - (n - 1) / 2)
        if rows and k % 2:  # stands in the row behind
            near *= 0.9
            wobble -= height * rows
        wobble += height * 0.35 * (near - 1)
        place = (
            left + width / 2 + k * pitch + rng.normal(0, 0.03) * (pitch - width * 0.9),
            foot + wobble,
        )
        tall = near * width * own.slender
        vessels.append(
            Placed(
                plan=tube,
                style=own,
                filling=_random_filling(rng, own, tube, rest, top_rest, degrees, plan.tidy),
                matrix=frame_matrix(place, tall, degrees, taper),
                width=near * width,
                height=tall,
            )
        )
    return Layout(
        support=support, backdrop=backdrop, horizon=horizon, vessels=tuple(vessels),
        base=foot, front=front, rail=rail,
    )  # fmt: skip


def random_plan(rng: np.random.Generator) -> ScenePlan:
    """Return a plan for training: half of the photos are taken with care, the rest anyhow."""
    if rng.random() < 0.5:
        return ScenePlan()
    ground = str(rng.choice(("wall", "paper", "dark", "table"), p=(0.25, 0.15, 0.5, 0.1)))
    faults = ("card_clipped", "card_shadow")
    return ScenePlan(
        tidy=True,
        ground=ground if rng.random() < 0.6 else None,
        faults=(faults[int(rng.integers(2))],) if rng.random() < 0.12 else (),
    )


def _random_tubes(rng: np.random.Generator) -> tuple[TubePlan, ...]:
    n = int(rng.choice(9, p=(0.07, 0.2, 0.18, 0.15, 0.13, 0.1, 0.08, 0.05, 0.04)))
    if rng.random() < 0.05:
        n = int(rng.integers(9, 14))
    faults = (None, "unmixed", "unsettled", "dry_soil", "empty_tube")
    empty = float(rng.choice((0.04, 0.4, 1.0), p=(0.7, 0.23, 0.07)))  # usual, mixed, all empty
    others = np.array((0.87, 0.05, 0.05, 0.03)) * (1 - empty)
    return tuple(TubePlan(fault=faults[int(rng.choice(5, p=(*others, empty)))]) for _ in range(n))


def _fitting_style(rng: np.random.Generator, kind: str | None, support: str) -> VesselStyle:
    if kind is None and support in ("rail", "clamp", "block", "fingers") and rng.random() < 0.75:
        kind = str(rng.choice(("round", "flat", "conical"), p=(0.6, 0.32, 0.08)))
    if kind is None and support == "stand" and rng.random() < 0.6:
        kind = str(rng.choice(("vial", "vial", "bottle", "shell", "flat", "cuvette", "jar", FLASK)))
    style = random_style(rng, kind)
    if support == "stand" and style.kind in ("round", "conical") and rng.random() < 0.5:
        style = replace(style, kind="flat")
    if style.closure == "sleeve" and rng.random() < 0.4:  # long caps over half of the glass
        style = replace(style, closure_size=(style.closure_size[0], rng.uniform(1.0, 3.0)))
    return style


def _random_filling(
    rng: np.random.Generator, style: VesselStyle, tube: TubePlan, rest: float, top_rest: float,
    degrees: float, tidy: bool,
) -> Filling:  # fmt: skip
    """Choose the heights; `rest` and `top_rest` are hidden shares below and above."""
    most = 0.92 - top_rest
    if style.kind in ("vial", "bottle"):
        most = min(most, 1 - (style.neck_height + (1 - style.neck) * 0.8 + 0.12) / style.slender)
    least = min(rest + 0.18, most - 0.05)
    low = max(least, 0.45 * most if tidy else min(0.15, most - 0.05))
    level: float | None = rng.uniform(min(low, most - 0.02), most)
    sediment = None
    wants = tube.sediment if tube.sediment is not None else rng.random() < 0.35
    if wants:
        sediment = rest * 0.5 + float(rng.uniform(0.03, 0.3 if tidy else 0.6)) * level
        sediment = min(sediment, level - 0.12) if level > 0.2 else None
    if tube.fault == "dry_soil":
        sediment, level = rest + rng.uniform(0.08, 0.55), None
    if tube.fault == "empty_tube":
        sediment, level = None, None
    matter, beads = "soil", 0.0
    if not tidy and sediment is not None and rng.random() < 0.4:  # powders and beads of any color
        matter = str(rng.choice(("white", "clutter", "wood", "grey")))
        beads = float(np.exp(rng.uniform(-3.6, -1.6))) if rng.random() < 0.6 else 0.0
    wild = not tidy and level is not None
    level_slope = -np.tan(np.radians(degrees)) * float(rng.random() < 0.5)
    return Filling(
        level=level,
        sediment=sediment,
        unmixed=rng.uniform(0.6, 2.2) if tube.fault == "unmixed" else 0.0,
        unsettled=float(np.exp(rng.uniform(-0.3, 1.6))) if tube.fault == "unsettled" else 0.0,
        slope=float(np.clip(level_slope, -0.6, 0.6)),
        wavy=0.01 if rng.random() < 0.05 else 0.0,
        upper=rng.uniform(0.15, 0.8) if not tidy and rng.random() < 0.1 else None,
        inside=str(rng.choice(("rod", "coil", "sheet")))
        if not tidy and rng.random() < 0.06
        else "nothing",
        vapor=rng.uniform(0.02, 0.6) if wild and rng.random() < 0.05 else 0.0,
        foam=float(np.exp(rng.uniform(-4.0, -0.7))) if wild and rng.random() < 0.08 else 0.0,
        slope_of_color=rng.normal(0, 1.2) if wild and rng.random() < 0.1 else 0.0,
        layers=rng.random() < 0.25,
        matter=matter,
        beads=beads,
    )
