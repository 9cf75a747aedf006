"""What the Samples page lists beside readings: how each kind is shown, typed in and kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from PySide6.QtWidgets import QWidget

from app.window import field_forms as forms

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from app.records.record_book import RecordBook
    from app.survey.import_tables import Listed
    from app.survey.method import Method, Test
    from app.survey.sample import KnownValue, Sample
    from app.survey.site import Site
    from app.survey.survey import Survey
    from app.window.facts_dialog import FactsDialog
    from app.window.facts_table import Fact

SUSPECTED = {None: None, True: "suspected", False: "not suspected"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """One kind of thing that a survey lists.

    Parameters
    ----------
    name, one : str
        As the tab is called, and one of them.
    listed : Listed
        As imported tables call it.
    headings : tuple of str
        Of the table.
    things : callable
        Those that a survey has.
    row : callable
        The facts of one, in the order of the headings.
    form : callable
        The dialog of one, or of a new one, for a survey and a person.
    keep : callable
        Writes one into a book for a person at a moment.
    """

    name: str
    one: str
    listed: Listed
    headings: tuple[str, ...]
    things: Callable[[Survey], tuple[Any, ...]]
    row: Callable[[Any], tuple[Fact, ...]]
    form: Callable[[Any, Survey, str, QWidget], FactsDialog]
    keep: Callable[[RecordBook, Any, str, datetime], object]


def _sample_row(sample: Sample) -> tuple[Fact, ...]:
    return (
        sample.label, sample.kind, sample.site,
        None if sample.taken_on is None else sample.taken_on.isoformat(),
        sample.depth_top_cm, sample.depth_bottom_cm, sample.texture, sample.taken_by, sample.notes,
    )  # fmt: skip


def _site_row(site: Site) -> tuple[Fact, ...]:
    return (
        site.name, site.land_use, site.crop, site.area_ha, site.latitude_deg, site.longitude_deg,
        site.elevation_m, site.map_x_m, site.map_y_m, SUSPECTED[site.suspected_contamination],
        site.notes,
    )  # fmt: skip


def _method_row(method: Method) -> tuple[Fact, ...]:
    return (
        method.name, method.ratio, method.extractant, method.indicator, method.settling_from_min,
        method.settling_to_min, method.color_from_min, method.color_to_min,
        method.subtract_blank, method.notes,
    )  # fmt: skip


def _test_row(test: Test) -> tuple[Fact, ...]:
    return (
        test.sample, test.quantity, test.method, _moment(test.shaken_at),
        _moment(test.indicator_added_at), test.indicator_batch, test.notes,
    )  # fmt: skip


def _known_row(value: KnownValue) -> tuple[Fact, ...]:
    return (
        value.sample, value.quantity, value.value, value.unit, value.standard_uncertainty,
        value.source, _moment(value.noted_at), value.noted_by,
    )  # fmt: skip


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else f"{moment.astimezone():%Y-%m-%d %H:%M}"


SAMPLES = Listing(
    name="Samples",
    listed="samples",
    one="sample",
    headings=(
        "Label", "Kind", "Site", "Taken on", "From cm", "To cm", "Texture", "By", "Notes",
    ),
    things=lambda survey: survey.samples,
    row=_sample_row,
    form=lambda thing, survey, _, parent: forms.sample_form(thing, survey, parent),
    keep=lambda book, thing, person, now: book.add_samples(
        [thing], person=person, now=now, replace=True
    ),
)  # fmt: skip
SITES = Listing(
    name="Sites",
    listed="sites",
    one="site",
    headings=(
        "Name", "Land use", "Crop", "Area ha", "Latitude", "Longitude", "Elevation m",
        "Plan x m", "Plan y m", "Contamination", "Notes",
    ),
    things=lambda survey: survey.sites,
    row=_site_row,
    form=lambda thing, survey, _, parent: forms.site_form(thing, survey, parent),
    keep=lambda book, thing, person, now: book.add_sites(
        [thing], person=person, now=now, replace=True
    ),
)  # fmt: skip
METHODS = Listing(
    name="Methods",
    listed="methods",
    one="method",
    headings=(
        "Name", "Soil to liquid", "Shaken in", "Indicator", "Settles from min", "to min",
        "Color from min", "to min", "Blank taken off", "Notes",
    ),
    things=lambda survey: survey.methods,
    row=_method_row,
    form=lambda thing, survey, _, parent: forms.method_form(thing, survey, parent),
    keep=lambda book, thing, person, now: book.add_methods(
        [thing], person=person, now=now, replace=True
    ),
)  # fmt: skip
TESTS = Listing(
    name="Tests",
    listed="tests",
    one="test",
    headings=(
        "Sample", "Quantity", "Method", "Shaken", "Indicator added", "Indicator's batch", "Notes",
    ),
    things=lambda survey: survey.tests,
    row=_test_row,
    form=lambda thing, survey, _, parent: forms.soil_test_form(thing, survey, parent),
    keep=lambda book, thing, person, now: book.add_tests(
        [thing], person=person, now=now, replace=True
    ),
)  # fmt: skip
KNOWN = Listing(
    name="Known values",
    listed="known",
    one="known value",
    headings=("Sample", "Quantity", "Value", "Unit", "Uncertainty", "From", "Noted", "By"),
    things=lambda survey: survey.known_values,
    row=_known_row,
    form=forms.known_value_form,
    keep=lambda book, thing, _person, _now: book.add_known_values([thing]),
)
LISTINGS = (SAMPLES, SITES, METHODS, TESTS, KNOWN)
