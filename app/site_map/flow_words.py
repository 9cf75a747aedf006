"""Which way the water goes, how well that is known and how fast it is, in plain words."""

from app.site_map.flow import Flow
from app.site_map.seepage import Seepage

HOW = {
    "arrow": "as given",
    "heads": "from the water levels",
    "slope": "down the slope of the ground",
}
NO_SEEPAGE = "A speed and a travel time need water levels in wells."
SOURCES = (
    "Conductivity of gravel, sands and silt: a San Joaquin County environmental record (document "
    "455058, Table 2); of other ground Freeze & Cherry 1979 (from memory, verify locally). "
    "Porosity: Johnson 1967, with gaps filled from memory."
)


def say_flow(flow: Flow) -> tuple[str, ...]:
    """Say which way the water goes, and how well the plane fits that tells it."""
    if flow.azimuth_deg is None:
        return ("Direction of flow: unknown; distance alone counts.",)
    said = [f"Water flows {flow.towards()}, {HOW[flow.how]}; ± {flow.sd_deg:.0f} degrees."]
    if flow.table is not None:
        worst = max(map(abs, flow.table.residuals_m))
        exact = " (three places always fit exactly)" if len(flow.table.residuals_m) == 3 else ""
        said.append(
            f"Gradient {flow.table.gradient:.2g}; largest residual {100 * worst:.1f} cm{exact}."
        )
    return tuple(said)


def say_seepage(seepage: Seepage) -> tuple[str, ...]:
    """Say how fast the water is and how long it takes, with the sources."""
    (slow, fast), (less, more) = seepage.speed_m_per_day, seepage.darcy_m_per_day
    return (
        f"Through {seepage.material.name} it moves {say_speed(slow)} to {say_speed(fast)}; by "
        f"Darcy's law {say_speed(less)} to {say_speed(more)} pass a unit of area.",
        *(
            f"Water from {way.start.letter} to {way.end.letter} ({way.distance_m:.0f} m) in "
            f"{seepage.material.name}: {say_days(way.days[0])} to {say_days(way.days[1])}."
            for way in seepage.ways
        ),
        "Acid arrives later than the water, for the ground takes it up.",
        SOURCES,
    )


def say_speed(m_per_day: float) -> str:
    """Write a speed roughly.

    Examples
    --------
    >>> say_speed(0.1728), say_speed(3.156e-1 / 365.25), say_speed(1e-9)
    ('0.17 m a day', '0.32 m a year', 'under 1 cm a year')
    """
    if m_per_day >= 0.01:
        return f"{m_per_day:,.2f} m a day" if m_per_day < 1 else f"{m_per_day:,.0f} m a day"
    year = 365.25 * m_per_day
    return f"{year:.2f} m a year" if year >= 0.01 else "under 1 cm a year"


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
