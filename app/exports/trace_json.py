"""A map and the source on it as JSON, for programs."""

import json

from app.exports.cell_text import printable
from app.site_map.flow_words import SOURCES
from app.site_map.grid import Grid
from app.site_map.map_view import MapPoint, MapView
from app.site_map.plane import Point
from app.site_map.regions import SourceRegions
from app.site_map.seepage import Seepage
from app.site_map.source_tracing import TracedSource
from app.site_map.tracing_words import Ranked

DIGITS = 6


def trace_json(view: MapView, *, seed: int) -> str:
    """Write everything that is said of a source; places are metres on the plan.

    Degrees are left out: the sites' positions go out only where somebody asks for them.
    """
    document = {
        "survey": printable(view.title),
        "quantity": view.quantity,
        "unit": view.unit,
        "kind": view.kind,
        "compared": view.scale.excess,
        "interpolated": view.scale.drawn,
        "seed": seed,
        "flow": {
            "from": view.flow.how,
            "towards_deg": _rounded(view.flow.azimuth_deg),
            "sd_deg": _rounded(view.flow.sd_deg),
            "residuals_m": [] if view.flow.table is None else list(view.flow.table.residuals_m),
            "gradient": None if view.flow.table is None else _rounded(view.flow.table.gradient),
            "seepage": None if view.seepage is None else _seepage(view.seepage),
        },
        "plane_error_m": _rounded(view.plane_error_m),
        "sites": [_point(point) for point in view.points],
        "left_out": [{"site": name, "why": why} for name, why in view.left_out],
        "surface": view.why_no_surface or (None if view.surface is None else view.surface.note),
        "source": None if view.traced is None else _traced(view.traced),
        "cautions": [{"code": c.code, "text": c.text} for c in view.cautions],
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2)


def _seepage(seepage: Seepage) -> dict[str, object]:
    return {
        "material": seepage.material.name,
        "darcy_m_per_day": [_rounded(speed) for speed in seepage.darcy_m_per_day],
        "speed_m_per_day": [_rounded(speed) for speed in seepage.speed_m_per_day],
        "ways": [
            {
                "from": printable(way.start.name),
                "to": printable(way.end.name),
                "distance_m": _rounded(way.distance_m),
                "days": [_rounded(days) for days in way.days],
            }
            for way in seepage.ways
        ],
        "sources": SOURCES,
    }


def _point(point: MapPoint) -> dict[str, object]:
    reading = point.reading
    return {
        "site": printable(reading.name),
        "letter": reading.letter,
        "place_m": _place(reading.place),
        "value": _rounded(reading.value),
        "low": _rounded(reading.low),
        "high": _rounded(reading.high),
        "background": reading.is_background,
        "texture": reading.texture,
    }


def _traced(traced: TracedSource) -> dict[str, object]:
    return {
        "conclusion": traced.conclusion,
        "background": {
            "value": _rounded(traced.background.value),
            "low": _rounded(traced.background.low),
            "high": _rounded(traced.background.high),
            "sites": list(traced.background.sites),
        },
        "ranking": [_ranked(item) for item in traced.ranking],
        "regions": None if traced.regions is None else _regions(traced.regions),
        "why_no_regions": traced.why_no_regions,
        "misfit_probability": _rounded(traced.misfit),
        "residuals": [
            {
                "site": printable(item.site.name),
                "predicted": _rounded(item.predicted),
                "left": _rounded(item.left),
                "in_sd": _rounded(item.in_sd),
            }
            for item in traced.residuals
        ],
        "two_sources_m": None
        if traced.two_sources is None
        else list(map(_place, traced.two_sources)),
        "next_sample": None
        if traced.next_sample is None
        else {
            "place_m": _place(traced.next_sample.place),
            "share_now": _rounded(traced.next_sample.share_now),
            "share_then": _rounded(traced.next_sample.share_then),
        },
    }


def _ranked(item: Ranked) -> dict[str, object]:
    excess = item.excess
    return {
        "rank": item.rank,
        "site": printable(excess.site.name),
        "most_affected": _rounded(excess.most),
        "nearest_to_source": _rounded(item.nearest),
        "excess": _rounded(excess.amount),
        "excess_low": _rounded(excess.low),
        "excess_high": _rounded(excess.high),
        "times_background": _rounded(excess.times_background),
        "is_clear": excess.is_clear,
        "reasons": list(item.reasons),
    }


def _regions(regions: SourceRegions) -> dict[str, object]:
    return {
        "is_informative": regions.is_informative,
        "reaches_edge": regions.reaches_edge,
        "most_probable_m": _place(regions.best),
        "levels": [
            {
                "probability": region.level,
                "share_of_plan": _rounded(region.share),
                "rings_m": [list(map(_place, ring)) for ring in region.rings],
            }
            for region in regions.regions
        ],
        "plan_m": _plan(regions.grid),
    }


def _plan(grid: Grid) -> dict[str, object]:
    edges = {"west": grid.west, "south": grid.south, "east": grid.east, "north": grid.north}
    return {name: _rounded(edge) for name, edge in edges.items()}


def _place(place: Point) -> list[float | None]:
    return [_rounded(axis) for axis in place]


def _rounded(number: float | None) -> float | None:
    return None if number is None else float(f"{number:.{DIGITS}g}")
