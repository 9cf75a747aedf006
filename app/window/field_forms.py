"""The forms of sites and samples."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING, Any

from app.window.facts_dialog import FactsDialog, Field, parse_number

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.survey.sample import Sample
    from app.survey.site import Site

KINDS = ("soil", "water", "check standard", "blank")
YES_NO = ("yes", "no")


def _yes(text: str) -> bool:
    return text == "yes"


def site_form(site: Site | None, parent: QWidget) -> FactsDialog:
    """Make the form of a site, empty for a new one."""
    from app.survey.site import Site

    there: dict[str, Any] = {} if site is None else asdict(site)
    suspected = there.get("suspected_contamination")
    there["suspected_contamination"] = None if suspected is None else YES_NO[not suspected]
    fields = (
        Field(name="name", words="Name", fixed=site is not None),
        Field(name="land_use", words="Land use"),
        Field(name="crop", words="Crop"),
        Field(name="area_ha", words="Area, hectares", parse=parse_number),
        Field(name="latitude_deg", words="Latitude, degrees (WGS 84)", parse=parse_number),
        Field(name="longitude_deg", words="Longitude, degrees", parse=parse_number),
        Field(name="elevation_m", words="Elevation, metres", parse=parse_number),
        Field(name="map_x_m", words="On the plan, metres to the right", parse=parse_number),
        Field(name="map_y_m", words="On the plan, metres up", parse=parse_number),
        Field(
            name="suspected_contamination", words="Contamination suspected", parse=_yes,
            choices=YES_NO,
        ),
        Field(name="notes", words="Notes"),
    )  # fmt: skip
    title = "New site" if site is None else f"Site {site.name}"
    return FactsDialog(title, fields, there, Site, parent)


def sample_form(sample: Sample | None, sites: tuple[str, ...], parent: QWidget) -> FactsDialog:
    """Make the form of a sample, empty for a new one."""
    from app.survey.sample import Sample

    there: dict[str, Any] = {"kind": "soil"} if sample is None else asdict(sample)
    fields = (
        Field(name="label", words="Label", fixed=sample is not None),
        Field(name="kind", words="Kind", choices=KINDS),
        Field(name="site", words="Site", choices=sites),
        Field(name="taken_on", words="Taken on (2026-03-31)", parse=date.fromisoformat),
        Field(name="depth_top_cm", words="Depth from, cm", parse=parse_number),
        Field(name="depth_bottom_cm", words="Depth to, cm", parse=parse_number),
        Field(name="texture", words="Texture"),
        Field(name="taken_by", words="Taken by (code)"),
        Field(name="notes", words="Notes"),
    )
    title = "New sample" if sample is None else f"Sample {sample.label}"
    return FactsDialog(title, fields, there, Sample, parent)
