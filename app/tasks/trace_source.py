"""Draw a map of a survey's readings, and say where what was spilled may have come from."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from app.errors import OrderError
from app.site_map.acidity import Kind, Scale
from app.site_map.affected import FEWEST_BACKGROUNDS
from app.site_map.color_scale import chart_color, chart_scale, scale_color, scale_ends
from app.site_map.flow import UNKNOWN, Flow, arrow, from_heads, from_slope
from app.site_map.grid import Grid, grid_around
from app.site_map.interpolation import Surface, interpolate, why_no_surface
from app.site_map.map_view import MapPoint, MapView
from app.site_map.seepage import Seepage, seepage_from
from app.site_map.site_reading import SiteReading
from app.site_map.source_tracing import CELLS, MARGIN, TracedSource, trace
from app.site_map.tracing_words import tracing_cautions
from app.site_map.water_table import Head, Material
from app.soil.cautions import Caution
from app.survey.kept_reading import KeptReading
from app.survey.sample import Sample
from app.survey.survey import Survey
from app.tasks.site_readings import Placed, gather, place_sites
from app.tasks.step import Step, Task
from app.wording import say_interval

SURFACE_CELLS = 2400
APART_PH = 1.0
"""Background sites of one ground lie within this of each other (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapOrder:
    """What is asked.

    Parameters
    ----------
    quantity : str
        What was read: "ph", "nitrogen", ...
    background : tuple of str
        Names of the background sites; empty for a map without a source.
    direction : float, "heads", "slope" or "unknown"
        Where the water goes to, degrees from north; or where that comes from.
    heads : dict
        Water level at sites, metres above one level; for "heads".
    kind : {"water", "soil"} or None
        Which samples count; None where there is one kind.
    seed : int
        Fixes chance.
    plan : Grid or None
        Where the source may lie; None for a box around the sites.
    material : Material or None
        What groundwater flows through, for its speed and travel times.
    taken_on : date or None
        Only samples of this day.
    depth_cm : (float, float) or None
        Only samples from this depth, top and bottom.
    """

    quantity: str
    background: tuple[str, ...] = ()
    direction: float | str = "unknown"
    heads: Mapping[str, float] = field(default_factory=dict)
    kind: Kind | None = None
    seed: int = 0
    plan: Grid | None = None
    material: Material | None = None
    taken_on: date | None = None
    depth_cm: tuple[float, float] | None = None

    def takes(self, sample: Sample) -> bool:
        """Whether a sample is of the day and the depth that are asked for."""
        if self.taken_on is not None and sample.taken_on != self.taken_on:
            return False
        depth = sample.depth_top_cm or 0.0, sample.depth_bottom_cm or 0.0
        return self.depth_cm is None or depth == self.depth_cm


def trace_source(survey: Survey, readings: Iterable[KeptReading], order: MapOrder) -> Task[MapView]:
    """Place the sites, fill what lies between them and, with background sites, trace the source.

    Raises
    ------
    OrderError
        If nothing can be placed or compared, or the direction cannot be had in the way asked for.
    """
    labels = {sample.label for sample in survey.samples if order.takes(sample)}
    if survey.samples and not labels:
        raise OrderError(
            "No sample is of that day and depth.",
            what_to_do="Choose another day or depth, or leave them out.",
        )
    wanted = (kept for kept in readings if kept.line.entry.sample in labels)
    placed = gather(survey, wanted, order.quantity, kind=order.kind, background=order.background)
    yield Step(done=1, total=3, note="readings placed")
    scale = Scale(is_ph=placed.analyte.is_ph, kind=placed.kind)
    frame = order.plan or grid_around(
        [reading.place for reading in placed.readings], margin=MARGIN, cells=CELLS
    )
    surface, why = _surface(placed.readings, frame, scale)
    yield Step(done=2, total=3, note="ground between the sites")
    flow = flow_of(survey, order)
    traced = None
    if order.background:
        traced = trace(placed.readings, scale, flow, seed=order.seed, plan=frame)
    yield Step(done=3, total=3, note="source")
    unit = None if scale.is_ph else placed.analyte.unit
    values = [reading.value for reading in placed.readings if reading.value is not None]
    ends = scale_ends(values or [0.0])
    places = [reading.place for reading in placed.readings]
    return MapView(
        title=survey.name,
        quantity=order.quantity,
        unit=unit,
        kind=placed.kind,
        scale=scale,
        frame=frame,
        points=tuple(_point(reading, placed, ends, unit) for reading in placed.readings),
        color_ends=ends,
        surface=surface,
        why_no_surface=why,
        flow=flow,
        material=order.material,
        seepage=_seepage(placed.readings, flow, order.material, traced),
        traced=traced,
        cautions=_cautions(
            scale, flow, traced, placed, lifted=survey.suspected_contamination is False
        ),
        left_out=placed.left_out,
        plane=placed.plane,
        plane_error_m=None if placed.plane is None else placed.plane.error_m(places),
        charts=tuple(chart_scale(c) for c in {c.id: c for c in placed.charts.values()}.values()),
    )


def must_be_marked(survey: Survey, view: MapView) -> bool:
    """Whether a survey looked for a source and nobody has said yet whether it is suspected.

    It is then marked, so that no amounts are advised for its ground; who lifts that is heard.
    """
    return view.traced is not None and survey.suspected_contamination is None


def flow_of(survey: Survey, order: MapOrder) -> Flow:
    """Find which way the water goes, in the way that was asked for.

    Raises
    ------
    OrderError
        If the levels or heights do not tell a direction.
    """
    if order.direction == "unknown":
        return UNKNOWN
    places, _ = place_sites(survey.sites)
    if order.direction == "heads":
        lost = [name for name in order.heads if name not in places]
        if lost:
            raise OrderError(
                f"The water level of '{lost[0][:40]}' belongs to no site that has a place.",
                what_to_do="Add the well as a site with its position.",
            )
        return from_heads([Head(name=n, place=places[n], head_m=h) for n, h in order.heads.items()])
    if order.direction == "slope":
        return from_slope(
            [
                Head(name=site.name, place=places[site.name], head_m=site.elevation_m)
                for site in survey.sites
                if site.elevation_m is not None and site.name in places
            ]
        )
    return arrow(float(order.direction))


def _seepage(
    readings: Sequence[SiteReading],
    flow: Flow,
    material: Material | None,
    traced: TracedSource | None,
) -> Seepage | None:
    """Return how water moves from the most suspect site, else from the one that lies highest."""
    if material is None or not readings:
        return None
    if traced is not None:
        start, *others = (item.excess.site for item in traced.ranking)
    else:
        start, *others = sorted(readings, key=lambda r: flow.along((0.0, 0.0), r.place)[0])
    return seepage_from(start, others, flow, material)


def _surface(
    readings: Iterable[SiteReading], frame: Grid, scale: Scale
) -> tuple[Surface | None, str | None]:
    valued = [(r.place, r.value) for r in readings if r.value is not None]
    places, values = [place for place, _ in valued], [value for _, value in valued]
    why = why_no_surface(places)
    if why is not None:
        return None, why
    corners = [(frame.west, frame.south), (frame.east, frame.north)]
    grid = grid_around(corners, margin=0.0, cells=SURFACE_CELLS)
    return interpolate(places, values, grid, scale), None


def _point(
    reading: SiteReading, placed: Placed, ends: tuple[float, float], unit: str | None
) -> MapPoint:
    shown = next(v for v in (reading.value, reading.low, reading.high) if v is not None)
    chart = placed.charts.get(reading.name)
    samples = placed.samples[reading.name]
    closed = reading.value is not None and reading.low is not None and reading.high is not None
    return MapPoint(
        reading=reading,
        text=say_interval(
            reading.value, reading.low, reading.high, unit="" if unit is None else f" {unit}"
        ),
        color=scale_color((shown - ends[0]) / (ends[1] - ends[0])),
        chart_color=None if chart is None else chart_color(chart, shown),
        half_width=((reading.high or 0.0) - (reading.low or 0.0)) / 2 if closed else None,
        taken_on=tuple(sorted({s.taken_on for s in samples if s.taken_on is not None})),
    )


def _cautions(
    scale: Scale, flow: Flow, traced: TracedSource | None, placed: Placed, *, lifted: bool
) -> tuple[Caution, ...]:
    if traced is None:
        return tuple(_mixed(placed))
    regions = traced.regions
    wanted = {
        "no_proof": True,
        "danger": True,
        "no_amounts": not lifted,
        "suspicion_lifted": lifted,
        "few_backgrounds": len(traced.background.sites) < FEWEST_BACKGROUNDS,
        "backgrounds_differ": scale.is_ph and _differ(placed.readings),
        "edge": regions is not None and regions.reaches_edge,
        "distance_alone": flow.how == "unknown" and regions is not None,
        "slope_not_heads": flow.how == "slope",
        "soil_model": scale.is_ph and scale.kind == "soil",
        "natural_acid": scale.is_ph,
        "acid_slow": scale.is_ph,
        "ph_no_heads": scale.is_ph and flow.how != "heads",
        "other_quantity": not scale.is_ph,
        "extras": True,
    }
    told = tracing_cautions(*(code for code, is_wanted in wanted.items() if is_wanted))
    return (*told, *_mixed(placed))


def _differ(readings: Iterable[SiteReading]) -> bool:
    clean = [r.value for r in readings if r.is_background and r.value is not None]
    return bool(clean) and max(clean) - min(clean) > APART_PH


def _mixed(placed: Placed) -> tuple[Caution, ...]:
    texts = {
        "date": "The samples were taken on different days: water moves between them.",
        "depth": "The samples come from different depths.",
        "method": "The readings come from different methods, which shift pH against each other.",
    }
    beyond = [reading.letter for reading in placed.readings if reading.value is None]
    told = [Caution(code=f"mixed_{what}", text=texts[what]) for what in placed.mixed]
    if beyond:
        text = (
            f"Beyond the chart: {', '.join(beyond)}. There the end of the chart is used, and the "
            "other side is left open by about one pH (half the value for other quantities)."
        )
        told.append(Caution(code="beyond_chart", text=text))
    return tuple(told)
