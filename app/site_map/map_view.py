"""Everything that is on a map: what a window, a picture or a text shows, as one value."""

import string
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from app.site_map.acidity import Kind, Scale
from app.site_map.color_scale import ChartScale
from app.site_map.flow import Flow
from app.site_map.grid import Grid
from app.site_map.interpolation import Surface
from app.site_map.plane import LocalPlane
from app.site_map.seepage import Seepage
from app.site_map.site_reading import SiteReading
from app.site_map.source_tracing import TracedSource
from app.site_map.water_table import Material
from app.soil.cautions import Caution
from colorcore.color_spaces import Lab

LONGEST_LETTER = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class MapPoint:
    """A site on the map.

    Parameters
    ----------
    reading : SiteReading
        Name, letter, place and reading.
    text : str
        The value with its interval, as it is printed.
    color : Lab
        In which it is drawn: on the even scale, or that of its chart.
    chart_color : Lab or None
        That the value has on its chart.
    half_width : float or None
        Half of the 90 % interval; None where it is open or unknown.
    taken_on : tuple of date
        When its samples were taken.
    """

    reading: SiteReading
    text: str
    color: Lab
    chart_color: Lab | None
    half_width: float | None
    taken_on: tuple[date, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MapView:
    """What a map shows.

    Parameters
    ----------
    title : str
        Name of the survey.
    quantity, unit : str, str or None
        What was read; pH has no unit behind it.
    kind : {"water", "soil"}
        What was sampled.
    scale : Scale
        What is interpolated and compared.
    frame : Grid
        What lies on the map, metres.
    points : tuple of MapPoint
        The sites, in the order of their letters.
    color_ends : tuple of float
        Values at the two ends of the color scale.
    surface : Surface or None
        Values between the sites.
    why_no_surface : str or None
        Why there are none.
    flow : Flow
        Where the water goes.
    material : Material or None
        What it flows through, where that was said.
    seepage : Seepage or None
        How fast it is there; None without water levels.
    traced : TracedSource or None
        The source, where it was asked for.
    cautions : tuple of Caution
        What must be said with it.
    left_out : tuple of (str, str)
        Sites that are not on the map, and why.
    plane : LocalPlane or None
        What turns metres into degrees; None for a plan of the user's own.
    plane_error_m : float or None
        Bound of the error of a distance on that plane.
    charts : tuple of ChartScale
        The charts on which the sites were read.
    wears_charts : bool
        Whether the sites are drawn in the colors of these charts, where they have one.
    """

    title: str
    quantity: str
    unit: str | None
    kind: Kind
    scale: Scale
    frame: Grid
    points: tuple[MapPoint, ...]
    color_ends: tuple[float, float]
    surface: Surface | None
    why_no_surface: str | None
    flow: Flow
    material: Material | None
    seepage: Seepage | None
    traced: TracedSource | None
    cautions: tuple[Caution, ...]
    left_out: tuple[tuple[str, str], ...]
    plane: LocalPlane | None
    plane_error_m: float | None
    charts: tuple[ChartScale, ...]
    wears_charts: bool = False

    def in_chart_colors(self) -> "MapView":
        """Return the same with every site in the color that its value has on its chart."""
        points = tuple(
            p if p.chart_color is None else replace(p, color=p.chart_color) for p in self.points
        )
        return replace(self, points=points, wears_charts=True)

    @property
    def heading(self) -> str:
        """What the numbers are."""
        name = "pH" if self.scale.is_ph else self.quantity
        return f"{name} of {self.kind} samples{'' if self.unit is None else f', {self.unit}'}"


def letters_for(names: Sequence[str]) -> tuple[str, ...]:
    """Give each site a letter: its own name where all names are short, else A, B, ... Z, AA, ...

    Examples
    --------
    >>> letters_for(["W1", "W2"]), letters_for(["Old yard", "Pond"])
    (('W1', 'W2'), ('A', 'B'))
    """
    if all(len(name) <= LONGEST_LETTER for name in names):
        return tuple(names)
    return tuple(_letter(i) for i in range(len(names)))


def _letter(number: int) -> str:
    before, last = divmod(number, 26)
    return ("" if before == 0 else _letter(before - 1)) + string.ascii_uppercase[last]
