"""The ground that a sample speaks for: its part of the site, and whether it is under suspicion."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.survey.plots import parts_of_sites, plot_of
from app.survey.sample import Sample
from app.survey.site import Site

SITE = Site(name="North", area_ha=0.3, land_use="vegetables")
SAMPLE = Sample(label="A", site="North", depth_bottom_cm=20.0, texture="Sandy  Loam")


@given(
    places=st.lists(
        st.tuples(st.sampled_from(["North", "South", None]), st.sampled_from([None, 0.0, 20.0])),
        max_size=12,
    )
)
def test_the_parts_of_a_site_make_the_whole(places: list[tuple[str | None, float | None]]) -> None:
    """However many samples there are and at whatever depths, its area is counted once."""
    samples = [
        Sample(label=str(i), site=site, depth_top_cm=top) for i, (site, top) in enumerate(places)
    ]
    parts = parts_of_sites(samples)
    for site in {sample.site for sample in samples} - {None}:
        shares = [1 / parts[s.label] for s in samples if s.site == site and parts[s.label]]
        assert sum(shares) == pytest.approx(1)


def test_a_plot_takes_what_is_known() -> None:
    """Area in square metres, depth between top and bottom, texture in the tables' words."""
    plot, notes = plot_of(replace(SAMPLE, depth_top_cm=5.0), SITE)
    assert (plot.name, plot.area_m2, plot.depth_cm) == ("A", 3000, 15)
    assert (plot.texture, notes) == ("sandy loam", ())
    shared, (note,) = plot_of(SAMPLE, SITE, parts=3)
    assert (shared.area_m2, note) == (1000, "3 samples stand for equal parts of North.")
    deeper, (note,) = plot_of(SAMPLE, SITE, parts=0)
    assert (deeper.area_m2, "below other samples" in note) == (None, True)


@pytest.mark.parametrize(
    ("mark", "land_use", "survey", "suspected"),
    [
        (None, "vegetables", None, False),
        (True, "vegetables", None, True),
        (None, "Suspected contamination", None, True),
        (False, "formerly contaminated, cleared", None, False),
        (False, "vegetables", True, True),
        (None, None, False, False),
    ],
)
def test_ground_under_suspicion(
    mark: bool | None, land_use: str | None, survey: bool | None, suspected: bool
) -> None:
    """By its mark, by its words where there is no mark, or because the whole survey is."""
    site = replace(SITE, suspected_contamination=mark, land_use=land_use)
    assert plot_of(SAMPLE, site, suspected=survey)[0].suspected_contamination is suspected
    assert plot_of(SAMPLE, None, suspected=survey)[0].suspected_contamination is bool(survey)
