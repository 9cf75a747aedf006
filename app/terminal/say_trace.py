"""A traced source as text."""

import textwrap

from app.site_map.flow_words import NO_SEEPAGE, say_flow, say_seepage
from app.site_map.map_view import MapView
from app.site_map.site_reading import SiteReading
from app.site_map.source_tracing import TracedSource
from app.site_map.tracing_words import where
from app.wording import say_interval

WIDTH = 78
STEEP_SD = 2.0
"""A residual from so many standard deviations is pointed out."""
WORTH_IT = 0.85
"""One more sample is worth its way where it leaves no more than this share of the region."""


def describe_trace(view: MapView) -> str:
    """Write a traced source as text."""
    traced = view.traced
    assert traced is not None  # there were background sites
    lines = [
        f"{view.title}: where the source may lie",
        f"{view.heading}, {len(view.points)} sites",
        *_wrap(f"Compared: {view.scale.excess}."),
        *_say_background(traced, view),
        *_say_flow(view),
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


def _say_flow(view: MapView) -> list[str]:
    first, *more = say_flow(view.flow)
    lines = _wrap(first)
    if view.material is not None:
        more += (NO_SEEPAGE,) if view.seepage is None else say_seepage(view.seepage)
    for text in more:
        lines += _wrap(text, first="  ", rest="    ")
    return lines


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


def _wrap(text: str, *, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest)
