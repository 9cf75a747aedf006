"""Shape and style of vessels: outline, walls, caps and how glass bends the light."""

from dataclasses import dataclass, replace

import numpy as np

from tests.laboratory.palette import FloatArray

KINDS = ("round", "flat", "conical", "vial", "shell", "cuvette", "bottle", "jar")
FLASK = "flask"  # a wide foot and a narrow neck; drawn only where a plan asks for it
_SLENDER = {
    "round": (4.2, 10.5),
    "flat": (3.5, 8.5),
    "conical": (4.0, 7.5),
    "vial": (1.9, 4.2),
    "shell": (2.2, 4.8),
    "cuvette": (2.4, 4.5),
    "bottle": (1.7, 3.2),
    "jar": (0.9, 1.9),
    FLASK: (1.1, 1.9),
}
_CAPPED = {
    FLASK: 0.2,
    "round": 0.35,
    "flat": 0.4,
    "vial": 0.85,
    "bottle": 0.8,
    "jar": 0.5,
    "conical": 0.6,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class VesselStyle:
    """How the vessels of one picture look; lengths in outer widths unless said otherwise."""

    kind: str
    slender: float  # height over width
    wall: float  # apparent thickness of the glass
    base: float  # thickness of the bottom
    view: float  # minor over major axis of the rim: 0 seen from the side, 0.3 from above
    neck: float  # half width of the neck over that of the body
    neck_height: float
    closure: str  # none, screw, stopper, cork, sleeve
    closure_size: tuple[float, float]  # width, height
    closure_variant: int
    lens: float  # liquid shows the background squeezed by this; below 0 upside down
    edge_dark: float  # how much the rim of the liquid darkens (below 0: brightens)
    edge_width: float
    wall_dark: float
    haze: float  # light that dull glass adds
    streaks: tuple[tuple[float, float, float, float, float, float], ...]
    window: tuple[float, float, float, float, float] | None
    marks: str  # none, lines, digits
    marks_variant: int
    marks_place: float  # -1 to 1 across
    sticker: float  # chance
    droplets: float  # chance
    glow: float  # share of light that reaches the liquid from the sides


def random_style(rng: np.random.Generator, kind: str | None = None) -> VesselStyle:
    """Return a random style; the kind is drawn too when None."""
    kind = kind or str(rng.choice(KINDS, p=(0.3, 0.16, 0.05, 0.18, 0.09, 0.06, 0.11, 0.05)))
    low, high = _SLENDER[kind]
    closure = "none"
    if rng.random() < _CAPPED.get(kind, 0.15):
        screw = kind in ("vial", "bottle", "jar", "conical")
        options = ("screw", "stopper", "cork", "sleeve")
        closure = str(
            rng.choice(options, p=(0.85, 0.05, 0.05, 0.05) if screw else (0.3, 0.3, 0.15, 0.25))
        )
    sizes = {
        "none": ((1.0, 1.01), (0.1, 0.2)),
        "screw": ((0.98, 1.18), (0.18, 0.75)),
        "stopper": ((0.85, 1.2), (0.2, 0.5)),
        "cork": ((0.8, 1.1), (0.3, 0.6)),
        "sleeve": ((1.04, 1.25), (0.5, 1.9)),
    }[closure]
    streaks = tuple(_random_streak(rng) for _ in range(int(rng.choice((0, 1, 2, 3, 4)))))
    window = None
    if rng.random() < 0.2:
        window = (
            rng.uniform(-0.6, 0.5), rng.uniform(0.15, 0.4), rng.uniform(0.1, 0.6),
            rng.uniform(0.05, 0.3), float(np.exp(rng.uniform(-2.5, 0.7))),
        )  # fmt: skip
    return VesselStyle(
        kind=kind,
        slender=rng.uniform(low, high),
        wall=float(np.exp(rng.uniform(np.log(0.012), np.log(0.11)))),
        base=rng.uniform(0.02, 0.2)
        if kind not in ("round", "conical")
        else rng.uniform(0.01, 0.07),
        view=float(rng.choice((0.0, rng.uniform(0, 0.12), rng.uniform(0, 0.35)))),
        neck=rng.uniform(0.45, 0.85) if kind == "bottle" else rng.uniform(0.78, 0.97),
        neck_height=rng.uniform(0.12, 0.5),
        closure=closure,
        closure_size=(rng.uniform(*sizes[0]), rng.uniform(*sizes[1])),
        closure_variant=int(rng.integers(3)),
        lens=float(rng.choice((rng.uniform(0.4, 1.0), -rng.uniform(0.5, 2.5)), p=(0.35, 0.65))),
        edge_dark=float(np.clip(rng.normal(0.25, 0.35), -0.7, 0.95)),
        edge_width=float(np.exp(rng.uniform(np.log(0.02), np.log(0.25)))),
        wall_dark=float(np.clip(rng.normal(0.25, 0.3), -0.5, 0.9)),
        haze=float(rng.choice((0.0, rng.uniform(0, 0.1)))),
        streaks=streaks,
        window=window,
        marks=str(rng.choice(("none", "lines", "digits"), p=(0.6, 0.2, 0.2))),
        marks_variant=int(rng.integers(3)),
        marks_place=rng.uniform(-0.7, 0.7),
        sticker=float(rng.choice((0.0, 0.15, 0.8))),
        droplets=float(rng.choice((0.0, 0.5))),
        glow=float(rng.choice((0.0, rng.uniform(0, 0.35)))),
    )


def under_new_light(rng: np.random.Generator, style: VesselStyle) -> VesselStyle:
    """Return the same vessel with other highlights and edges, as in another place."""
    other = random_style(rng, style.kind)
    return replace(
        style, streaks=other.streaks, window=other.window, edge_dark=other.edge_dark,
        edge_width=other.edge_width, wall_dark=other.wall_dark,
    )  # fmt: skip


def _random_streak(rng: np.random.Generator) -> tuple[float, float, float, float, float, float]:
    """Return place, half width, softness, start, end and strength of a highlight."""
    place = float(np.clip(rng.choice((-1, 1)) * rng.beta(3, 2), -0.94, 0.94))
    a, b = np.sort(rng.random(2))
    if rng.random() < 0.5:
        a, b = rng.uniform(-0.1, 0.15), rng.uniform(0.75, 1.1)
    half = float(np.exp(rng.uniform(np.log(0.008), np.log(0.13))))
    return (place, half, rng.uniform(0.05, 1.2), a, b, float(np.exp(rng.uniform(-3.0, 1.6))))


def half_width(style: VesselStyle, v: FloatArray, height: float, width: float) -> FloatArray:
    """Return the outer half width over that of the body, shape of v (rows below the top)."""
    out = np.ones_like(v)
    half = width / 2
    if style.kind in ("vial", "bottle"):
        neck = style.neck_height * width
        shoulder = half * (0.25 + 1.6 * (1 - style.neck))
        s = np.clip((v - neck) / max(shoulder, 1.0), 0, 1)
        out = style.neck + (1 - style.neck) * np.sqrt(np.clip(1 - (1 - s) ** 2, 0, 1))
    elif style.kind in ("round", "flat") and style.closure == "none":
        lip = 0.06 * width  # a rolled rim
        out = 1 + 0.05 * np.exp(-((v / max(lip, 1.0)) ** 2) * 2)
    if style.kind == FLASK:
        s = np.clip((v - 0.3 * height) / (0.6 * height), 0, 1)
        out = style.neck * 0.5 + (1 - style.neck * 0.5) * s
    if style.kind == "conical":
        cone = 1.6 * width
        s = np.clip((height - v) / cone, 0, 1)
        out = out * (0.22 + 0.78 * s)
    return np.asarray(out, np.float32)


def bottom_row(style: VesselStyle, t: FloatArray, height: float, width: float) -> FloatArray:
    """Return the row of the outer bottom for places across t in [-1, 1]."""
    bow = {"round": 1.0, "conical": 0.3, "cuvette": 0.0}.get(style.kind, style.view)
    curve = bow * np.sqrt(np.clip(1 - t**2, 0, 1))
    row = height - width / 2 * (bow - curve)
    if style.kind in ("flat", "vial", "shell", "bottle", "jar", FLASK):
        corner = 0.12 * width  # the bottom edge is a little round
        row = row - corner * np.clip((np.abs(t) - 0.85) / 0.15, 0, 1) ** 2
    return np.asarray(row, np.float32)


def path_length(
    style: VesselStyle, t: FloatArray, v: FloatArray, height: float, width: float
) -> FloatArray:
    """Return the path through a full vessel in inner diameters, by place across and row.

    A ray at distance t from the axis of a cylinder passes, once bent at the wall into water, at
    t / 1.33 from the axis (Snell's law for a thin wall), so the chord is sqrt(1 - (t / 1.33)^2).
    """
    across = (
        np.sqrt(np.clip(1 - (t / 1.33) ** 2, 0.02, 1))
        if style.kind != "cuvette"
        else np.ones_like(t)
    )
    path = across * half_width(style, v, height, width)
    if style.kind == "round":
        depth = np.clip((v - (height - width / 2)) / (width / 2), 0, 0.98)
        path = path * np.sqrt(1 - (depth / 1.15) ** 2)
    return np.asarray(path, np.float32)
