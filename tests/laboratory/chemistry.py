"""Indicators and their spectra: two-form dyes, deepening colours, clouds, brown soil water."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.laboratory.light import WAVELENGTHS, FloatArray, bell, lab, named_lamp, spectra_xyz


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solution:
    """What fills a tube; per path of one inner diameter, natural logarithm, all (81,)."""

    absorbs: FloatArray
    scatters: FloatArray
    tone: FloatArray  # reflectance of an endless depth of the cloud

    def with_more(self, *, absorbs: FloatArray, scatters: FloatArray) -> "Solution":
        """Return the same with soil water or clay added."""
        return Solution(
            absorbs=self.absorbs + absorbs, scatters=self.scatters + scatters, tone=self.tone
        )

    def thinned(self, dose: float, path: float) -> "Solution":
        """Return the same with another dose of dye and another path."""
        return Solution(
            absorbs=self.absorbs * dose * path, scatters=self.scatters * dose * path, tone=self.tone
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Indicator:
    """An indicator with the chart it is sold with."""

    name: str
    quantity: str
    unit: str
    swatches: tuple[float, ...]
    dark_ground: bool  # read before black
    solution: Callable[[float], Solution]


# peak nm, left and right width nm and relative strength of the acid and the base form; pKa.
# Peaks and pKa: handbook values as listed by common indicator tables; widths and strengths are
# round numbers of the usual size.
DYES: dict[str, tuple[float, tuple[float, ...], tuple[float, ...]]] = {
    "methyl red": (5.05, (525, 32, 30, 1.0), (430, 38, 45, 0.55)),
    "bromothymol blue": (7.1, (430, 32, 34, 0.5), (615, 42, 27, 1.0)),
    "bromocresol green": (4.7, (443, 34, 34, 0.45), (616, 40, 27, 1.0)),
    "bromocresol purple": (6.3, (431, 32, 34, 0.4), (590, 38, 24, 1.0)),
    "chlorophenol red": (6.1, (434, 33, 34, 0.4), (574, 34, 24, 1.0)),
    "phenol red": (7.9, (433, 33, 35, 0.45), (558, 32, 22, 1.0)),
    "thymol blue": (8.92, (435, 36, 36, 0.4), (596, 42, 28, 1.0)),
    "cresol red": (8.2, (434, 33, 35, 0.45), (572, 33, 23, 1.0)),
}
_ONE = np.ones_like(WAVELENGTHS)


def _band(values: tuple[float, ...], shift: float, widen: float) -> FloatArray:
    peak, left, right, height = values
    return height * bell(peak + shift, left * widen, right * widen)


def acid_base(rng: np.random.Generator) -> Indicator:
    """Return a pH indicator: one to three two-form dyes, known ones or invented."""
    names = list(DYES)
    kind = rng.choice(("known", "invented", "plant"), p=(0.6, 0.28, 0.12))
    if kind == "plant":
        return _plant(rng)
    count = int(rng.choice((1, 2, 3), p=(0.15, 0.65, 0.2)))
    parts = []
    if kind == "known":
        first = "methyl red" if rng.random() < 0.4 else str(rng.choice(names))
        near = sorted(names, key=lambda n: abs(DYES[n][0] - DYES[first][0] - rng.uniform(0.5, 2.5)))
        chosen = [first, *[n for n in near if n != first][: count - 1]]
        for n in chosen:
            pka, acid, base = DYES[n]
            shift, widen = rng.normal(0, 4), np.exp(rng.normal(0, 0.08))
            parts.append(
                (pka + rng.normal(0, 0.1), _band(acid, shift, widen), _band(base, shift, widen))
            )
        name = " + ".join(chosen)
    else:
        name = "invented dye"
        pka = rng.uniform(4.3, 8.0)
        for _ in range(count):
            acid = (
                rng.uniform(410, 550),
                rng.uniform(22, 45),
                rng.uniform(22, 45),
                rng.uniform(0.2, 1),
            )
            base = (
                rng.uniform(430, 630),
                rng.uniform(22, 45),
                rng.uniform(20, 40),
                rng.uniform(0.3, 1),
            )
            parts.append((pka, _band(acid, 0, 1), _band(base, 0, 1)))
            pka += rng.uniform(0.6, 1.8)
    doses = np.exp(rng.normal(0, 0.35, len(parts)))
    low = min(p for p, _, _ in parts) - rng.uniform(0.5, 1.1)
    high = max(p for p, _, _ in parts) + rng.uniform(0.4, 1.0)
    step = (
        float(rng.choice((0.4, 0.5, 0.5, 0.5, 1.0)))
        if high - low > 2.6
        else float(rng.choice((0.2, 0.3, 0.4)))
    )
    first_value = round(low / step) * step
    n = int(np.clip(round((high - first_value) / step) + 1, 5, 11))
    swatches = tuple(round(first_value + k * step, 2) for k in range(n))

    def raw(ph: float) -> FloatArray:
        total = np.zeros_like(WAVELENGTHS)
        for (pka, acid, base), dose in zip(parts, doses, strict=True):
            share = 1 / (1 + 10 ** (pka - ph))
            total = total + dose * ((1 - share) * acid + share * base)
        return total

    return _finish(rng, name, "pH", "pH", swatches, raw)


def _plant(rng: np.random.Generator) -> Indicator:
    """Return an extract like that of red cabbage: red, violet, blue, green, by three steps."""
    peaks = np.array((522, 545, 585, 610)) + rng.normal(0, 6, 4)
    heights = np.array((1.0, 0.35, 0.6, 0.55)) * np.exp(rng.normal(0, 0.15, 4))
    yellow = np.array((0.05, 0.1, 0.15, 0.5)) * np.exp(rng.normal(0, 0.3, 4))
    pkas = np.array((3.5, 6.3, 8.0)) + rng.normal(0, 0.3, 3)
    forms = np.stack(
        [
            h * bell(p, 42, 36) + y * bell(405, 30, 40)
            for p, h, y in zip(peaks, heights, yellow, strict=True)
        ]
    )

    def raw(ph: float) -> FloatArray:
        ladder = np.cumprod(np.concatenate(([1.0], 10 ** (ph - pkas))))
        return np.asarray(ladder / ladder.sum() @ forms)

    start = float(rng.choice((4.0, 5.0)))
    swatches = tuple(round(start + 0.5 * k, 2) for k in range(int(rng.integers(7, 10))))
    return _finish(rng, "plant extract", "pH", "pH", swatches, raw)


def _finish(
    rng: np.random.Generator, name: str, quantity: str, unit: str, swatches: tuple[float, ...],
    raw: Callable[[float], FloatArray],
) -> Indicator:  # fmt: skip
    """Scale the dose so that the deepest swatch absorbs a usual amount."""
    deepest = max(float(raw(v).max()) for v in swatches)
    depth = float(np.exp(rng.uniform(np.log(0.7), np.log(2.8)))) / max(deepest, 1e-6)

    def solution(value: float) -> Solution:
        return Solution(absorbs=raw(value) * depth, scatters=0 * _ONE, tone=0.8 * _ONE)

    return Indicator(
        name=name,
        quantity=quantity,
        unit=unit,
        swatches=swatches,
        dark_ground=False,
        solution=solution,
    )


# peak nm, widths nm, further band relative to the first: height, peak, width
_DEEPENING = {
    "molybdenum blue": ((720.0, 110.0, 90.0), (0.45, 880.0, 120.0), "phosphorus"),
    "azo dye": ((542.0, 36.0, 28.0), (0.12, 400.0, 40.0), "nitrate nitrogen"),
    "yellow complex": ((385.0, 30.0, 42.0), (0.0, 400.0, 30.0), "phosphorus"),
    "brown complex": ((400.0, 60.0, 90.0), (0.3, 500.0, 70.0), "nitrate nitrogen"),
    "blue complex": ((650.0, 55.0, 45.0), (0.2, 420.0, 40.0), "ammonium nitrogen"),
}
_LADDERS = (
    (0.0, 5.0, 10.0, 20.0, 40.0, 60.0),
    (0.0, 5.0, 10.0, 20.0, 30.0, 50.0),
    (0.0, 2.0, 5.0, 10.0, 20.0, 40.0),
    (0.0, 10.0, 20.0, 30.0, 40.0, 50.0),
    (0.0, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0),
)


def deepening(rng: np.random.Generator) -> Indicator:
    """Return a test whose one colour deepens with the amount, nearly as Beer-Lambert says."""
    name = str(rng.choice([*_DEEPENING, "invented dye"], p=(0.28, 0.28, 0.1, 0.1, 0.1, 0.14)))
    if name in _DEEPENING:
        first, second, quantity = _DEEPENING[name]
    else:
        first = (rng.uniform(420, 660), rng.uniform(22, 60), rng.uniform(22, 60))
        second, quantity = (
            (rng.uniform(0, 0.4), rng.uniform(400, 650), rng.uniform(25, 60)),
            "phosphorus",
        )
    band = bell(first[0] + rng.normal(0, 4), first[1], first[2]) + second[0] * bell(
        second[1], second[2]
    )
    reagent = rng.uniform(0, 0.06) * bell(rng.uniform(380, 430), 40, 60)
    ladder = _LADDERS[int(rng.integers(len(_LADDERS)))]
    top, bend = ladder[-1], rng.uniform(0.0, 0.5)

    def raw(value: float) -> FloatArray:
        x = value / top
        return np.asarray(band * x * (1 + bend) / (1 + bend * x) + reagent)

    return _finish(rng, name, quantity, "mg/kg", ladder, raw)


def clouding(rng: np.random.Generator) -> Indicator:
    """Return a test whose white cloud thickens with the amount, read before black."""
    ladder = (
        (50.0, 100.0, 150.0, 200.0, 300.0, 400.0), (20.0, 40.0, 80.0, 120.0, 160.0, 240.0),
        (25.0, 50.0, 100.0, 150.0, 200.0, 250.0),
    )[int(rng.integers(3))]  # fmt: skip
    full = float(np.exp(rng.uniform(np.log(0.8), np.log(2.6))))
    power = rng.uniform(0.3, 2.0)  # of the wavelength: small grains scatter blue more
    color = (550 / WAVELENGTHS) ** power
    tone = np.clip(rng.uniform(0.65, 0.9) * (1 - rng.uniform(0, 0.1) * bell(420, 40)), 0, 1)

    def solution(value: float) -> Solution:
        return Solution(absorbs=0.01 * _ONE, scatters=color * full * value / ladder[-1], tone=tone)

    return Indicator(
        name="turbidity", quantity="potassium", unit="mg/kg", swatches=ladder, dark_ground=True,
        solution=solution,
    )  # fmt: skip


def random_indicator(rng: np.random.Generator) -> Indicator:
    """Return a random test: pH (half of them), a deepening colour, or a cloud."""
    make = (acid_base, deepening, clouding)[int(rng.choice(3, p=(0.55, 0.32, 0.13)))]
    found = make(rng)
    for _ in range(200):
        if readable(found):
            break
        found = make(rng)
    return found


def readable(indicator: Indicator) -> bool:
    """Whether the chart's swatches can be told apart, as those of a test that is sold.

    In CIELAB under D65 neighbours differ by 4 or more (single white light through the tube, or the
    cloud before black) and no two others are much nearer than neighbours.
    """
    seen = []
    for value in indicator.swatches:
        s = indicator.solution(value)
        away = s.absorbs + s.scatters
        light = np.exp(-away)
        if indicator.dark_ground:
            light = s.tone * s.scatters / np.maximum(away, 1e-9) * (1 - light)
        seen.append(lab(spectra_xyz(named_lamp("D65"), light)))
    apart = np.linalg.norm(np.array(seen)[:, None] - np.array(seen)[None], axis=-1)
    next_to = np.diag(apart, 1)
    far = apart[np.triu_indices(len(seen), 2)]
    return bool(next_to.min() >= 4 and far.min() >= 1.1 * next_to.min())


def soil_water(amount: float) -> FloatArray:
    """Return absorbance (81,) of brown soil water, falling exponentially with wavelength.

    The slope 0.014 per nm is of the size reported for coloured dissolved organic matter.
    """
    return np.asarray(amount * np.exp(-0.014 * (WAVELENGTHS - 440)))


def clay(amount: float) -> FloatArray:
    """Return scattering (81,) of fine clay, a little stronger in the blue."""
    return np.asarray(amount * (550 / WAVELENGTHS) ** 0.7)


def strange_solution(rng: np.random.Generator) -> Solution:
    """Return another dye altogether, as when the wrong powder was used."""
    band = np.zeros_like(WAVELENGTHS)
    for _ in range(int(rng.integers(1, 3))):
        band = band + rng.uniform(0.8, 3.0) * bell(
            rng.uniform(420, 650), rng.uniform(20, 60), rng.uniform(20, 60)
        )
    return Solution(absorbs=band, scatters=0 * _ONE, tone=0.8 * _ONE)
