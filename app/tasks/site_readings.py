"""The readings of a survey as one reading a site, placed in metres."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from app.errors import OrderError
from app.site_map.acidity import Kind
from app.site_map.map_view import letters_for
from app.site_map.plane import LocalPlane, Point, plane_for
from app.site_map.site_reading import SiteReading
from app.survey.kept_reading import KeptReading
from app.survey.repeats import Repeat, put_together
from app.survey.sample import Sample
from app.survey.site import Site
from app.survey.survey import Survey
from calibration.chart import Chart
from calibration.indicator import Analyte


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """The sites of a map.

    Parameters
    ----------
    readings : tuple of SiteReading
        One a site, in the order of their names.
    samples : dict
        Samples behind each site's reading, by the site's name.
    charts : dict
        A chart that it was read on, by the site's name.
    analyte : Analyte
        What was read.
    kind : {"water", "soil"}
        What was sampled.
    left_out : tuple of (str, str)
        Sites without a place or a reading, and which of them is missing.
    mixed : tuple of str
        What differs among the samples and should not: "date", "depth", "method".
    plane : LocalPlane or None
        Where places come from degrees.
    """

    readings: tuple[SiteReading, ...]
    samples: Mapping[str, tuple[Sample, ...]]
    charts: Mapping[str, Chart]
    analyte: Analyte
    kind: Kind
    left_out: tuple[tuple[str, str], ...]
    mixed: tuple[str, ...]
    plane: LocalPlane | None


def place_sites(sites: Iterable[Site]) -> tuple[dict[str, Point], LocalPlane | None]:
    """Place sites on the survey's own plan, or on a local plane where more have degrees.

    The two are never mixed: nobody has said how the plan lies on the earth.
    """
    every = tuple(sites)
    planned = {s.name: (s.map_x_m, s.map_y_m) for s in every if s.map_x_m is not None}
    degrees = {
        s.name: (s.latitude_deg, s.longitude_deg) for s in every if s.latitude_deg is not None
    }
    if len(planned) >= len(degrees):
        return {name: (x, y) for name, (x, y) in planned.items() if y is not None}, None
    known = {
        n: (lat, lon) for n, (lat, lon) in degrees.items() if lat is not None and lon is not None
    }
    plane = plane_for(tuple(known.values()))
    return {name: plane.to_metres(*position) for name, position in known.items()}, plane


def gather(
    survey: Survey,
    readings: Iterable[KeptReading],
    quantity: str,
    *,
    kind: Kind | None,
    background: Sequence[str],
) -> Placed:
    """Put the readings of each site together, and place the sites.

    Parameters
    ----------
    survey : Survey
        Its sites and samples.
    readings : iterable of KeptReading
        All that stand.
    quantity : str
        "ph", "nitrogen", ...
    kind : {"water", "soil"} or None
        Which samples count; None where those with readings are of one kind.
    background : sequence of str
        Names of the background sites.

    Raises
    ------
    OrderError
        If a background site is not there, soil and water are not told apart, units are mixed, or
        no site has both a place and a reading.
    """
    sites = {site.name: site for site in survey.sites}
    _check_background(background, sites)
    samples = {
        s.label: s for s in survey.samples if s.kind in ("soil", "water") and s.site in sites
    }
    groups: dict[str, list[KeptReading]] = defaultdict(list)
    for kept in readings:
        label = kept.line.entry.sample or ""
        chart = kept.line.chart
        asked = label in samples and kept.line.entry.role == "sample" and _has_number(kept)
        if asked and chart is not None and chart.analyte.quantity == quantity:
            groups[label].append(kept)
    kinds = {samples[label].kind for label in groups}
    if kind is None:
        kind = _only_kind(kinds, quantity)
    groups = {label: group for label, group in groups.items() if samples[label].kind == kind}
    analyte = _only_analyte(groups.values(), quantity, kind)
    places, plane = place_sites(survey.sites)
    by_site: dict[str, list[str]] = defaultdict(list)
    for label in sorted(groups):
        by_site[str(samples[label].site)].append(label)
    names = [site.name for site in survey.sites if site.name in places and site.name in by_site]
    if not names:
        raise OrderError(
            "No site has both a place and such a reading.",
            what_to_do="Give the sites positions or places on a plan (tintwell add SURVEY sites), "
            "and name the site of each sample.",
        )
    kept_of = {name: [k for label in by_site[name] for k in groups[label]] for name in names}
    used = [samples[label] for name in names for label in by_site[name]]
    charts = [k.line.chart for name in names for k in kept_of[name] if k.line.chart is not None]
    return Placed(
        readings=tuple(
            _reading(name, letter, places[name], kept_of[name], by_site[name], samples, background)
            for name, letter in zip(names, letters_for(names), strict=True)
        ),
        samples={name: tuple(samples[label] for label in by_site[name]) for name in names},
        charts={n: k.line.chart for n in names for k in kept_of[n] if k.line.chart is not None},
        analyte=analyte,
        kind=kind,
        left_out=tuple(
            (site.name, "no reading" if site.name in places else "no place")
            for site in survey.sites
            if site.name not in names
        ),
        mixed=_mixed(used, charts),
        plane=plane,
    )


def _check_background(background: Sequence[str], sites: Mapping[str, Site]) -> None:
    missing = [name for name in background if name not in sites]
    if missing:
        raise OrderError(
            f"The survey has no site '{missing[0][:40]}'.",
            what_to_do=f"Its sites are {', '.join(sites) or 'none yet'}.",
        )


def _has_number(kept: KeptReading) -> bool:
    reading = kept.line.reading
    return reading.value is not None or (reading.low is None) != (reading.high is None)


def _only_kind(kinds: Collection[str], quantity: str) -> Kind:
    if kinds == {"water"}:
        return "water"
    if kinds == {"soil"}:
        return "soil"
    if not kinds:
        raise OrderError(
            f"The survey holds no reading of {quantity} at a site.",
            what_to_do="Keep readings with tintwell read and --keep, and name each sample's site.",
        )
    raise OrderError(
        "The survey holds such readings of both soil and water, which cannot be compared.",
        what_to_do="Say which: --kind water or --kind soil.",
    )


def _only_analyte(groups: Iterable[Sequence[KeptReading]], quantity: str, kind: Kind) -> Analyte:
    found = {k.line.chart.analyte for group in groups for k in group if k.line.chart is not None}
    same = {(a.unit, a.form, a.basis) for a in found}
    if not found:
        raise OrderError(
            f"The survey holds no reading of {quantity} in {kind}.",
            what_to_do="Choose the other kind of sample, or another quantity.",
        )
    if len(same) > 1:
        units = " and ".join(
            sorted(f"{unit or 'no unit'} ({form or basis})" for unit, form, basis in same)
        )
        raise OrderError(
            f"The readings do not compare: they are in {units}.",
            what_to_do="Read all sites against charts of one unit.",
        )
    return min(found, key=repr)


def _reading(
    name: str,
    letter: str,
    place: Point,
    kept: Sequence[KeptReading],
    labels: Sequence[str],
    samples: Mapping[str, Sample],
    background: Sequence[str],
) -> SiteReading:
    """Put all readings of a site together; without others, one beyond the chart counts."""
    valued = [
        Repeat(value=k.line.reading.value, low=k.line.reading.low, high=k.line.reading.high)
        for k in kept
        if k.line.reading.value is not None
    ]
    textures = {samples[label].texture for label in labels}
    if valued:
        found = put_together(valued)
        value, low, high = found.value, found.low, found.high
    else:
        ends = kept[0].line.reading
        value, low, high = None, ends.low, ends.high
    return SiteReading(
        name=name,
        letter=letter,
        place=place,
        value=value,
        low=low,
        high=high,
        is_background=name in background,
        texture=textures.pop() if len(textures) == 1 else None,
    )


def _mixed(samples: Sequence[Sample], charts: Sequence[Chart]) -> tuple[str, ...]:
    """Say what differs among samples that are compared."""
    differs = {
        "date": len({sample.taken_on for sample in samples}) > 1,
        "depth": len({(s.depth_top_cm, s.depth_bottom_cm) for s in samples}) > 1,
        "method": len({(chart.analyte.ratio, chart.extractant) for chart in charts}) > 1,
    }
    return tuple(what for what, does in differs.items() if does)
