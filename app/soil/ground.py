"""What a user knows of the ground beyond what a survey keeps."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from app.soil.soil_reading import Plot
from calibration.sheet_reader import SheetRow

HEADINGS = ("sample",)
OPTIONS = (
    *("area_m2", "bulk_density", "moisture_percent", "recent_lime_kg_per_ha"),
    *("months_since_lime", "fizzes", "phosphorus", "suspected_contamination"),
)
"""Headings of the sheet; bulk density in g/cm3, moisture as a share of the moist mass."""

_ANSWERS = {"yes": True, "no": False, "allowed": True, "forbidden": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Facts of one sample's ground; they go before what the survey says. None is unknown.

    Parameters
    ----------
    sample : str
        Label of the sample.
    line : int
        Line in the sheet, for messages.
    area_m2, bulk_density_g_cm3, moisture, recent_lime_kg_per_ha, months_since_lime, fizzes, \
phosphorus_allowed, suspected_contamination
        As in `Plot`.
    """

    sample: str
    line: int
    area_m2: float | None = None
    bulk_density_g_cm3: float | None = None
    moisture: float | None = None
    recent_lime_kg_per_ha: float | None = None
    months_since_lime: float | None = None
    fizzes: bool | None = None
    phosphorus_allowed: bool | None = None
    suspected_contamination: bool | None = None

    def laid_on(self, plot: Plot) -> Plot:
        """Return a plot with these facts.

        Examples
        --------
        >>> Ground(sample="A", line=2, area_m2=20.0).laid_on(Plot(depth_cm=15)).area_m2
        20.0
        """
        facts = {f.name: getattr(self, f.name) for f in fields(self)[2:]}
        return replace(plot, **{name: fact for name, fact in facts.items() if fact is not None})


def grounds_of(rows: Sequence[SheetRow]) -> tuple[Ground, ...]:
    """Return the facts of a sheet with the headings of `HEADINGS` and `OPTIONS`, a sample a line.

    Raises
    ------
    SheetError
        If a line makes no sense; it is named.
    """
    found: dict[str, Ground] = {}
    for row in rows:
        sample = row.needed("sample")
        if sample in found:
            raise row.error(
                f"'{sample}' stands on line {found[sample].line} already.", "Keep one of the two."
            )
        moisture = row.number("moisture_percent")
        ground = Ground(
            sample=sample,
            line=row.line,
            area_m2=row.number("area_m2"),
            bulk_density_g_cm3=row.number("bulk_density"),
            moisture=None if moisture is None else moisture / 100,
            recent_lime_kg_per_ha=row.number("recent_lime_kg_per_ha"),
            months_since_lime=row.number("months_since_lime"),
            fizzes=_answer(row, "fizzes", ("yes", "no")),
            phosphorus_allowed=_answer(row, "phosphorus", ("allowed", "forbidden")),
            suspected_contamination=_answer(row, "suspected_contamination", ("yes", "no")),
        )
        try:
            ground.laid_on(Plot())
        except ValueError as error:
            raise row.error(f"A number cannot be: {error}.", "Correct it.") from error
        found[sample] = ground
    return tuple(found.values())


def _answer(row: SheetRow, heading: str, known: tuple[str, str]) -> bool | None:
    word = row.one_of(heading, known)
    return None if word is None else _ANSWERS[word]
