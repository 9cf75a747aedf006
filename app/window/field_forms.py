"""The forms of sites, samples, methods, tests and known values."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from app.window.facts_dialog import FactsDialog, Field, parse_number

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.survey.method import Method, Test
    from app.survey.sample import KnownValue, Sample
    from app.survey.site import Site
    from app.survey.survey import Survey

KINDS = ("soil", "water", "check standard", "blank")
YES_NO = ("yes", "no")
KNOWN_FROM = ("certificate", "laboratory", "electrode")
QUANTITIES = ("ph", "nitrogen", "phosphorus", "potassium")

WORDS = {
    "name": "Name",
    "land_use": "Land use",
    "crop": "Crop",
    "area_ha": "Area, hectares",
    "latitude_deg": "Latitude, degrees (WGS 84)",
    "longitude_deg": "Longitude, degrees",
    "elevation_m": "Elevation, metres",
    "map_x_m": "On the plan, metres to the right",
    "map_y_m": "On the plan, metres up",
    "suspected_contamination": "Contamination suspected",
    "notes": "Notes",
    "label": "Label",
    "kind": "Kind",
    "site": "Site",
    "taken_on": "Taken on (2026-03-31)",
    "depth_top_cm": "Depth from, cm",
    "depth_bottom_cm": "Depth to, cm",
    "texture": "Texture",
    "taken_by": "Taken by (code)",
    "depth_cm": "Depth, cm (0-20)",
}
"""What the fields of sites and samples are called, in their forms and in imported tables."""


def _yes(text: str) -> bool:
    return text == "yes"


def parse_moment(text: str) -> datetime:
    """Read a date and time; without a zone it is this machine's.

    Examples
    --------
    >>> parse_moment("2026-03-31 09:30+00:00").isoformat()
    '2026-03-31T09:30:00+00:00'
    """
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo is not None else moment.astimezone()


def _of_what(survey: Survey, *, fixed: bool) -> tuple[Field, Field]:
    """Return the fields that say what a test or a value is of."""
    samples = tuple(sample.label for sample in survey.samples)
    kept = [c.analyte.quantity for c in survey.charts if c.analyte.quantity is not None]
    quantities = tuple(dict.fromkeys([*kept, *QUANTITIES]))
    return (
        Field(name="sample", words="Sample", choices=samples, needed=True, fixed=fixed),
        Field(name="quantity", words="Quantity", choices=quantities, needed=True, fixed=fixed),
    )


def site_form(site: Site | None, survey: Survey, parent: QWidget) -> FactsDialog:
    """Make the form of a site, empty for a new one."""
    from app.survey.site import Site

    there: dict[str, Any] = {} if site is None else asdict(site)
    suspected = there.get("suspected_contamination")
    there["suspected_contamination"] = None if suspected is None else YES_NO[not suspected]
    fields = (
        Field(name="name", words=WORDS["name"], needed=True, fixed=site is not None),
        Field(name="land_use", words=WORDS["land_use"]),
        Field(name="crop", words=WORDS["crop"]),
        Field(name="area_ha", words=WORDS["area_ha"], parse=parse_number),
        Field(name="latitude_deg", words=WORDS["latitude_deg"], parse=parse_number),
        Field(name="longitude_deg", words=WORDS["longitude_deg"], parse=parse_number),
        Field(name="elevation_m", words=WORDS["elevation_m"], parse=parse_number),
        Field(name="map_x_m", words=WORDS["map_x_m"], parse=parse_number),
        Field(name="map_y_m", words=WORDS["map_y_m"], parse=parse_number),
        Field(
            name="suspected_contamination", words=WORDS["suspected_contamination"], parse=_yes,
            choices=YES_NO,
        ),
        Field(name="notes", words=WORDS["notes"]),
    )  # fmt: skip
    title = "New site" if site is None else f"Site {site.name}"
    return FactsDialog(title, fields, there, Site, parent)


def sample_form(sample: Sample | None, survey: Survey, parent: QWidget) -> FactsDialog:
    """Make the form of a sample, empty for a new one."""
    from app.survey.sample import Sample

    there: dict[str, Any] = {"kind": "soil"} if sample is None else asdict(sample)
    fields = (
        Field(name="label", words=WORDS["label"], needed=True, fixed=sample is not None),
        Field(name="kind", words=WORDS["kind"], choices=KINDS),
        Field(name="site", words=WORDS["site"], choices=tuple(site.name for site in survey.sites)),
        Field(name="taken_on", words=WORDS["taken_on"], parse=date.fromisoformat),
        Field(name="depth_top_cm", words=WORDS["depth_top_cm"], parse=parse_number),
        Field(name="depth_bottom_cm", words=WORDS["depth_bottom_cm"], parse=parse_number),
        Field(name="texture", words=WORDS["texture"]),
        Field(name="taken_by", words=WORDS["taken_by"]),
        Field(name="notes", words=WORDS["notes"]),
    )
    title = "New sample" if sample is None else f"Sample {sample.label}"
    return FactsDialog(title, fields, there, Sample, parent)


def method_form(method: Method | None, survey: Survey, parent: QWidget) -> FactsDialog:
    """Make the form of a method, empty for a new one."""
    from app.survey.method import Method

    there: dict[str, Any] = {} if method is None else asdict(method)
    there["subtract_blank"] = YES_NO[not there.get("subtract_blank", False)]
    fields = (
        Field(name="name", words="Name", needed=True, fixed=method is not None),
        Field(name="ratio", words="Soil to liquid (1:5)"),
        Field(name="extractant", words="Shaken in"),
        Field(name="indicator", words="Indicator"),
        Field(name="settling_from_min", words="Settles at least, minutes", parse=parse_number),
        Field(name="settling_to_min", words="Settles at most, minutes", parse=parse_number),
        Field(name="color_from_min", words="Color is ready after, minutes", parse=parse_number),
        Field(name="color_to_min", words="Color is good until, minutes", parse=parse_number),
        Field(
            name="subtract_blank", words="Blank taken off every result", parse=_yes, choices=YES_NO
        ),
        Field(name="notes", words="Notes"),
    )

    def make(**facts: Any) -> Method:
        return Method(**facts | {"subtract_blank": bool(facts["subtract_blank"])})

    title = "New method" if method is None else f"Method {method.name}"
    return FactsDialog(title, fields, there, make, parent)


def soil_test_form(test: Test | None, survey: Survey, parent: QWidget) -> FactsDialog:
    """Make the form of a test of one sample; its clocks may be left to those of the bench."""
    from app.survey.method import Test

    there: dict[str, Any] = {"quantity": "ph"} if test is None else asdict(test)
    for name in ("shaken_at", "indicator_added_at"):
        moment = there.get(name)
        there[name] = None if moment is None else f"{moment.astimezone():%Y-%m-%d %H:%M:%S}"
    fields = (
        *_of_what(survey, fixed=test is not None),
        Field(name="method", words="Method", choices=tuple(m.name for m in survey.methods)),
        Field(name="indicator_batch", words="Batch of the indicator"),
        Field(name="shaken_at", words="Shaken at (2026-03-31 09:30)", parse=parse_moment),
        Field(name="indicator_added_at", words="Indicator added at", parse=parse_moment),
        Field(name="notes", words="Notes"),
    )
    ident = uuid4().hex if test is None else test.id

    def make(**facts: Any) -> Test:
        return Test(id=ident, **facts)

    title = "New test" if test is None else f"Test of {test.sample}"
    return FactsDialog(title, fields, there, make, parent)


def known_value_form(
    value: KnownValue | None, survey: Survey, person: str, parent: QWidget
) -> FactsDialog:
    """Make the form of what a sample is known to be; a newer value takes an older one's place."""
    from app.survey.sample import KnownValue

    there: dict[str, Any] = {"quantity": "ph"} if value is None else asdict(value)
    is_old = value is not None
    fields = (
        *_of_what(survey, fixed=is_old),
        Field(name="value", words="Value", parse=parse_number, needed=True),
        Field(name="unit", words="Unit (none for pH)"),
        Field(name="standard_uncertainty", words="Standard uncertainty", parse=parse_number),
        Field(name="source", words="Known from", choices=KNOWN_FROM, needed=True, fixed=is_old),
    )

    def make(**facts: Any) -> KnownValue:
        return KnownValue(noted_at=datetime.now().astimezone(), noted_by=person, **facts)

    title = "New known value" if value is None else f"Known value of {value.sample}"
    return FactsDialog(title, fields, there, make, parent)
