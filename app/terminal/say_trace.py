"""A traced source as text."""

import math
import textwrap
from collections.abc import Sequence

from app.site_map.map_view import MapView
from app.site_map.plane import Point, azimuth_deg, compass
from app.site_map.site_reading import SiteReading
from app.site_map.source_tracing import TracedSource
from app.site_map.water_table import MATERIALS, travel_days
from app.wording import say_interval

WIDTH = 78
HOW = {
    "arrow": "as given",
    "heads": "from the water levels",
    "slope": "down the slope of the ground",
}
STEEP_SD = 2.0
"""A residual from so many standard deviations is pointed out."""
WORTH_IT = 0.85
"""One more sample is worth its way where it leaves no more than this share of the region."""


def describe_trace(view: MapView, *, material: str | None = None) -> str:
    """Write a traced source as text."""
    traced = view.traced
    assert traced is not None  # there were background sites
    lines = [
        f"{view.title}: where the source may lie",
        f"{view.heading}, {len(view.points)} sites",
        *_wrap(f"Compared: {view.scale.excess}."),
        *_say_background(traced, view),
        *_say_flow(view, material),
        "",
        *_wrap(traced.conclusion),
    ]
    if traced.why_no_regions is not None:
        lines += _wrap(traced.why_no_regions)
    lines += ["", "Sites, the most suspect first", *_ranking_table(traced, view)]
    lines += _say_regions(traced, view)
    lines += _say_residuals(traced)
    lines += [f"Not on the map: {name} ({why})." for name, why in view.left_out]
    if view.plane_error_m is not None:
        lines.append(f"Distances on the plan are right to {max(view.plane_error_m, 0.01):.2g} m.")
    lines += ["", "Cautions"]
    for caution in view.cautions:
        lines += _wrap(caution.text, first="  - ", rest="    ")
    return "\n".join(lines)


def _say_background(traced: TracedSource, view: MapView) -> list[str]:
    found = traced.background
    before, unit = "pH " if view.scale.is_ph else "", "" if view.unit is None else f" {view.unit}"
    mean = say_interval(found.value, found.low, found.high, before=before, unit=unit)
    clean = [f"{_named(p.reading)} {p.text}" for p in view.points if p.reading.is_background]
    return _wrap(f"Background: {mean}, from {', '.join(clean)}.")


def _named(site: SiteReading) -> str:
    return site.name if site.letter == site.name else f"{site.letter} {site.name}"


def _say_flow(view: MapView, material: str | None) -> list[str]:
    flow = view.flow
    if flow.azimuth_deg is None:
        return ["Direction of flow: unknown; distance alone counts."]
    lines = [f"Water flows {flow.towards()}, {HOW[flow.how]}; ± {flow.sd_deg:.0f} degrees."]
    if flow.table is not None:
        worst = max(map(abs, flow.table.residuals_m))
        lines.append(
            f"  Gradient {flow.table.gradient:.2g}; largest residual {100 * worst:.1f} cm"
            + (" (three places always fit exactly)." if len(flow.table.residuals_m) == 3 else ".")
        )
    if material is not None:
        lines += _say_travel(view, material)
    return lines


def _say_travel(view: MapView, material: str) -> list[str]:
    table, traced = view.flow.table, view.traced
    if table is None or view.flow.how != "heads" or traced is None:
        return ["  A travel time needs water levels: --direction heads."]
    ground = next(m for m in MATERIALS if m.name == material)
    sites = [item.excess.site for item in traced.ranking]
    first, *others = sites
    lines = []
    for other in others:
        along, across = view.flow.along(first.place, other.place)
        if along > abs(across):
            fast, slow = travel_days(along, table.gradient, ground)
            lines.append(
                f"  Water from {first.letter} to {other.letter} ({along:.0f} m) in {material}: "
                f"{say_days(fast)} to {say_days(slow)}."
            )
    return lines


def say_days(days: float) -> str:
    """Write a time roughly.

    Examples
    --------
    >>> say_days(0.2), say_days(40), say_days(4000), say_days(1e9)
    ('less than a day', '40 days', '11 years', 'over 10,000 years')
    """
    if days < 1:
        return "less than a day"
    if days < 730:
        return f"{days:.0f} days"
    years = days / 365.25
    return f"{years:,.0f} years" if years <= 10_000 else "over 10,000 years"


def _ranking_table(traced: TracedSource, view: MapView) -> list[str]:
    texts = {point.reading.name: point.text for point in view.points}
    lines = []
    for item in traced.ranking:
        site = item.excess.site
        before = "pH " if view.scale.is_ph else ""
        head = f"  {item.rank}. {_named(site)}: {before}{texts[site.name]}"
        lines.append(head)
        lines += _wrap("; ".join(item.reasons), first="     ", rest="     ")
    return lines


def _say_regions(traced: TracedSource, view: MapView) -> list[str]:
    regions = traced.regions
    sites = [point.reading for point in view.points]
    if traced.two_sources is not None:
        first, second = (where(place, sites) for place in traced.two_sources)
        return ["", *_wrap(f"Two sources would lie {first}, and {second}.")]
    if regions is None:
        return []
    lines = ["", "Region of the source (share of the plan)"]
    shares = [f"{100 * r.level:.0f} %: {100 * r.share:.0f} %" for r in regions.regions]
    lines.append(f"  holds it with {'; '.join(shares)}")
    lines.append(f"  most probable place: {where(regions.best, sites)}")
    if not regions.is_informative:
        lines.append("  The 80 % region covers more than half of the plan: not informative.")
    then = traced.next_sample
    if then is not None:
        hardly = "" if then.share_then < WORTH_IT * then.share_now else " (hardly worth it)"
        said = (
            f"next sample would teach most {where(then.place, sites)}: the 80 % region would "
            f"shrink from about {100 * then.share_now:.0f} % to about "
            f"{100 * then.share_then:.0f} % of the plan{hardly}"
        )
        lines += _wrap(said, first="  ", rest="    ")
    return lines


def _say_residuals(traced: TracedSource) -> list[str]:
    if not traced.residuals:
        return []
    far = [item for item in traced.residuals if abs(item.in_sd) >= STEEP_SD]
    if not far and traced.regions is not None:
        return ["  No site strays far from the best single source."]
    lines = ["", "Residuals of the best single source (measured, predicted, in sd)"]
    for item in traced.residuals:
        measured = item.predicted + item.left
        lines.append(
            f"  {item.site.letter:4} {measured:8.2f} {item.predicted:8.2f} {item.in_sd:+6.1f}"
            + ("  strays" if item in far else "")
        )
    return lines


def where(place: Point, sites: Sequence[SiteReading]) -> str:
    """Say where a place lies, from the nearest site.

    Examples
    --------
    >>> site = SiteReading(name="C", letter="C", place=(0, 0), value=5, low=None, high=None)
    >>> where((10, 10), [site])
    '14 m northeast of C'
    """
    near = min(sites, key=lambda site: math.dist(site.place, place))
    apart = math.dist(near.place, place)
    if apart < 1:
        return f"at {near.letter}"
    return f"{apart:.0f} m {compass(azimuth_deg(near.place, place))} of {near.letter}"


def _wrap(text: str, *, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest)
