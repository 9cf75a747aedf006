"""The ground that a sample speaks for."""

from collections.abc import Sequence

from app.soil.soil_reading import Plot, textures
from app.survey.sample import Sample
from app.survey.site import Site

M2_PER_HA = 10_000
CONTAMINATION = "contaminat"
"""A site whose land use holds this ("suspected contamination") counts as suspected, unless its
mark says that it is not."""


def parts_of_sites(samples: Sequence[Sample]) -> dict[str, int]:
    """Return for each soil sample into how many parts its site is divided; 0 for a deeper sample.

    Samples of the same site stand for equal parts of its area; one from further down stands for
    none, so that nothing is spread twice.

    Examples
    --------
    >>> top = [Sample(label=label, site="North") for label in "AB"]
    >>> parts_of_sites([*top, Sample(label="C", site="North", depth_top_cm=20.0)])
    {'A': 2, 'B': 2, 'C': 0}
    """
    tops: dict[str, list[float]] = {}
    for sample in samples:
        if sample.kind == "soil" and sample.site is not None:
            tops.setdefault(sample.site, []).append(sample.depth_top_cm or 0.0)
    parts = {}
    for sample in samples:
        if sample.kind == "soil":
            top, alike = sample.depth_top_cm or 0.0, tops.get(sample.site or "", [])
            is_uppermost = not alike or top == min(alike)
            parts[sample.label] = max(1, alike.count(top)) if is_uppermost else 0
    return parts


def plot_of(
    sample: Sample, site: Site | None, *, parts: int = 1, suspected: bool | None = None
) -> tuple[Plot, tuple[str, ...]]:
    """Return the ground of a sample, and what the survey says of it that could not be used.

    Parameters
    ----------
    parts : int
        As in `parts_of_sites`.
    suspected : bool or None
        Whether the whole survey is under suspicion of contamination.
    """
    notes = []
    texture = None if sample.texture is None else " ".join(sample.texture.casefold().split())
    if texture is not None and texture not in textures():
        notes.append(
            f"The texture '{sample.texture}' is not one of {', '.join(textures())}: it is left out."
        )
        texture = None
    area = None if site is None or site.area_ha is None else site.area_ha * M2_PER_HA
    if site is not None and area is not None and parts != 1:
        area = area / parts if parts else None
        notes.append(
            f"{parts} samples stand for equal parts of {site.name}."
            if parts
            else f"It was taken below other samples of {site.name}: no area is counted for it."
        )
    bottom = sample.depth_bottom_cm
    plot = Plot(
        name=sample.label,
        area_m2=area,
        depth_cm=None if not bottom else bottom - (sample.depth_top_cm or 0.0),
        texture=texture,
        suspected_contamination=bool(suspected) or _is_suspected(site),
    )
    return plot, tuple(notes)


def _is_suspected(site: Site | None) -> bool:
    if site is None:
        return False
    if site.suspected_contamination is None:
        return CONTAMINATION in (site.land_use or "").casefold()
    return site.suspected_contamination
