"""Sites, samples, methods and tests refuse nonsense at birth."""

from datetime import datetime
from typing import Any

import pytest

from app.survey.kept_reading import ReadingFilter
from app.survey.method import Method, Test
from app.survey.names import tidy_name, tidy_text
from app.survey.person import Person
from app.survey.sample import KnownValue, Sample
from app.survey.site import Site
from tests.app.sample_surveys import NOW

KNOWN: dict[str, Any] = {
    "sample": "A1",
    "quantity": "ph",
    "unit": "pH",
    "value": 7.0,
    "standard_uncertainty": None,
    "source": "electrode",
    "noted_at": NOW,
    "noted_by": "P1",
}


@pytest.mark.parametrize(
    ("kind", "facts", "message"),
    [
        (Site, {"name": ""}, "name"),
        (Site, {"name": " North"}, "blanks"),
        (Site, {"name": "Cafe\u0301"}, "name"),
        (Site, {"name": "N", "notes": "\udce9"}, "half a character"),
        (Site, {"name": "N", "latitude_deg": 50.0}, "go together"),
        (Site, {"name": "N", "latitude_deg": 91.0, "longitude_deg": 0.0}, "latitude_deg"),
        (Site, {"name": "N", "latitude_deg": 0.0, "longitude_deg": -181.0}, "longitude_deg"),
        (Site, {"name": "N", "latitude_deg": float("nan"), "longitude_deg": 0.0}, "latitude_deg"),
        (Site, {"name": "N", "map_x_m": 1.0}, "go together"),
        (Site, {"name": "N", "elevation_m": float("inf")}, "finite"),
        (Site, {"name": "N", "area_ha": 0.0}, "area_ha"),
        (Sample, {"label": "A", "kind": "rock"}, "kind"),
        (Sample, {"label": "A", "depth_top_cm": -1.0}, "depth_top_cm"),
        (Sample, {"label": "A", "depth_top_cm": 20.0, "depth_bottom_cm": 20.0}, "less than"),
        (Sample, {"label": "A", "site": ""}, "site"),
        (Method, {"name": "M", "settling_from_min": -1.0}, "settling"),
        (Method, {"name": "M", "color_from_min": 9.0, "color_to_min": 5.0}, "more than"),
        (Test, {"id": "t", "sample": "A", "quantity": ""}, "quantity"),
        (
            Test,
            {"id": "t", "sample": "A", "quantity": "ph", "shaken_at": datetime(2026, 1, 1)},
            "offset",
        ),
        (Person, {"code": ""}, "code"),
        (KnownValue, {**KNOWN, "value": float("nan")}, "finite"),
        (KnownValue, {**KNOWN, "standard_uncertainty": 0.0}, "standard_uncertainty"),
        (KnownValue, {**KNOWN, "source": "rumor"}, "source"),
        (ReadingFilter, {"kept_from": datetime(2026, 1, 1)}, "offset"),
    ],
)
def test_nonsense_is_refused(kind: Any, facts: dict[str, Any], message: str) -> None:
    """The message names the field."""
    with pytest.raises(ValueError, match=message):
        kind(**facts)


def test_names_are_the_same_on_every_machine() -> None:
    """Composed and decomposed spelling are one name; emoji and right-to-left stay."""
    assert tidy_name(" Cafe\u0301 ") == "Caf\u00e9"
    assert tidy_name("حقل ٧ 🌱") == "حقل ٧ 🌱"
    assert tidy_text("a\udce9b") == "a\ufffdb"
