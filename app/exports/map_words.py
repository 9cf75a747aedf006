"""What a map says in words, as HTML for the window and the report."""

from html import escape

from app.site_map.flow_words import NO_SEEPAGE, say_flow, say_seepage
from app.site_map.map_view import MapView
from app.site_map.source_tracing import TracedSource
from app.site_map.tracing_words import where
from app.wording import say_interval


def map_html(view: MapView) -> str:
    """Say what the map shows: sites, what lies between, the source, cautions; all text escaped."""
    parts = [f"<h3>{escape(view.heading)}</h3>"]
    if view.traced is not None:
        parts += _traced(view.traced, view)
    else:
        parts.append(_sites(view))
        parts.append(
            "<p>Mark the background sites (clean places, away from what is suspected) to ask where "
            "a source may lie.</p>"
        )
    parts += _flow(view)
    between = view.why_no_surface if view.surface is None else view.surface.note
    parts.append(f"<p><b>Between the sites.</b> {escape(between or '')}</p>")
    for name, why in view.left_out:
        parts.append(f"<p>Not on the map: {escape(name)} ({escape(why)}).</p>")
    if view.plane_error_m is not None:
        error = max(view.plane_error_m, 0.01)
        parts.append(f"<p>Distances on the map are right to {error:.2g} m.</p>")
    if view.cautions:
        said = "".join(f"<li>{escape(caution.text)}</li>" for caution in view.cautions)
        parts.append(f"<h4>Cautions</h4><ul>{said}</ul>")
    return "\n".join(parts)


def _sites(view: MapView) -> str:
    rows = "".join(
        f"<tr><td><b>{escape(point.reading.letter)}</b>&nbsp;</td>"
        f"<td>{escape(point.reading.name)}&nbsp;&nbsp;</td><td>{escape(point.text)}</td></tr>"
        for point in view.points
    )
    return f"<table>{rows}</table>"


def _flow(view: MapView) -> list[str]:
    if view.traced is None and view.flow.azimuth_deg is None:
        return []
    said = list(say_flow(view.flow))
    if view.material is not None:
        said += (NO_SEEPAGE,) if view.seepage is None else say_seepage(view.seepage)
    return [f"<p><b>Flow.</b> {'<br>'.join(map(escape, said))}</p>"]


def _traced(traced: TracedSource, view: MapView) -> list[str]:
    before = "pH " if view.scale.is_ph else ""
    unit = "" if view.unit is None else f" {view.unit}"
    found = traced.background
    background = say_interval(found.value, found.low, found.high, before=before, unit=unit)
    parts = [
        f"<p><b>{escape(traced.conclusion)}</b></p>",
        f"<p>Background: {escape(background)}, from {escape(', '.join(found.sites))}. "
        f"Compared: {escape(view.scale.excess)}.</p>",
    ]
    if traced.why_no_regions is not None:
        parts.append(f"<p>{escape(traced.why_no_regions)}</p>")
    sites = [point.reading for point in view.points]
    if traced.two_sources is not None:
        first, second = (escape(where(place, sites)) for place in traced.two_sources)
        parts.append(f"<p>Two sources would lie {first}, and {second}.</p>")
    texts = {point.reading.name: point.text for point in view.points}
    rows = "".join(
        f"<li><b>{escape(item.excess.site.letter)} {escape(item.excess.site.name)}</b>: "
        f"{before}{escape(texts[item.excess.site.name])}<br>{escape('; '.join(item.reasons))}</li>"
        for item in traced.ranking
    )
    parts.append(f"<h4>The most suspect first</h4><ol>{rows}</ol>")
    if traced.regions is not None:
        shares = ", ".join(
            f"{100 * region.level:.0f} %: {100 * region.share:.0f} % of the plan"
            for region in traced.regions.regions
        )
        parts.append(f"<p><b>Regions of the source.</b> {shares}.</p>")
        if not traced.regions.is_informative:
            parts.append(
                "<p>The 80 % region covers more than half of the plan: not informative.</p>"
            )
    if traced.next_sample is not None:
        then = traced.next_sample
        parts.append(
            f"<p><b>Next sample</b> (marked on the map): {escape(where(then.place, sites))}. It "
            f"would shrink the 80 % region from about {100 * then.share_now:.0f} % to about "
            f"{100 * then.share_then:.0f} % of the plan.</p>"
        )
    if traced.residuals:
        lines = "".join(
            f"<tr><td>{escape(item.site.letter)}&nbsp;</td>"
            f"<td align='right'>{item.predicted + item.left:.2f}&nbsp;&nbsp;</td>"
            f"<td align='right'>{item.predicted:.2f}&nbsp;&nbsp;</td>"
            f"<td align='right'>{item.in_sd:+.1f}</td></tr>"
            for item in traced.residuals
        )
        parts.append(
            "<h4>How well the best single source fits</h4><table><tr><th></th>"
            f"<th>measured&nbsp;</th><th>predicted&nbsp;</th><th>in sd</th></tr>{lines}</table>"
        )
    return parts
