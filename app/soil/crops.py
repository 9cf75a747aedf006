"""Which pH plants like, and how probably a soil has it."""

import difflib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from app.errors import OrderError
from app.soil.spread import Spread
from app.soil.table_reader import Citation, SoilTable, load_table, table_names

HEADINGS = ("name", "ph_from", "ph_to")


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """A plant and the pH it likes.

    Parameters
    ----------
    name : str
        As in the table.
    ph_from, ph_to : float
        Preferred pH in water.
    use : str
        Land use by which recommendations and caps are looked up, "" where the table says none.
    aliases : tuple of str
        Other names.
    citation : Citation
        Where the range stands printed.
    """

    name: str
    ph_from: float
    ph_to: float
    use: str = ""
    aliases: tuple[str, ...] = ()
    citation: Citation

    def __post_init__(self) -> None:
        if not 0 < self.ph_from < self.ph_to < 14:
            raise ValueError(f"needs 0 < ph_from < ph_to < 14, got {self.ph_from}, {self.ph_to}")

    @property
    def target(self) -> float:
        """Middle of the range, to which a soil outside it is brought."""
        return (self.ph_from + self.ph_to) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class CropFit:
    """How a soil and a crop go together.

    Parameters
    ----------
    crop : Crop
        The crop.
    below, inside, above : float
        Probabilities that the soil is too acid, right, too alkaline; together 1.
    """

    crop: Crop
    below: float
    inside: float
    above: float

    @property
    def wants(self) -> str:
        """What the soil most probably needs for it: "nothing", "lime" or "acidifying"."""
        best = max(self.below, self.inside, self.above)
        if self.inside == best:
            return "nothing"
        return "lime" if self.below == best else "acidifying"


def read_crops(table: SoilTable) -> tuple[Crop, ...]:
    """Return the crops of a table with the headings name, ph_from and ph_to.

    Optional headings are use and aliases (separated by "|").

    Raises
    ------
    TableError
        If a row makes no sense; its line is named.
    """
    crops = []
    for row in table:
        low, high = row.number("ph_from"), row.number("ph_to")
        if not 0 < low < high < 14:
            raise row.error(f"pH {low:g} to {high:g} is no range.", "Write the lower pH first.")
        aliases = tuple(part.strip() for part in row.text("aliases").split("|") if part.strip())
        crops.append(
            Crop(
                name=row.needed("name"),
                ph_from=low,
                ph_to=high,
                use=row.text("use").casefold(),
                aliases=aliases,
                citation=table.citation,
            )
        )
    return tuple(crops)


@cache
def shipped_crops() -> tuple[Crop, ...]:
    """Return all crops that ship with the program, by name."""
    names = (name for name in table_names() if name.startswith("crops_"))
    crops = (crop for name in names for crop in read_crops(load_table(name)))
    return tuple(sorted(crops, key=lambda crop: crop.name.casefold()))


def find_crop(name: str, own: Sequence[Crop] = ()) -> Crop:
    """Return the crop of a name; the user's own come first.

    Raises
    ------
    OrderError
        If there is none, or several that begin so.

    Examples
    --------
    >>> find_crop("Tomato").target, find_crop("corn").name
    (6.5, 'maize')
    """
    wanted = " ".join(name.casefold().split())
    for crops in (tuple(own), shipped_crops()):
        known = [(word.casefold(), crop) for crop in crops for word in (crop.name, *crop.aliases)]
        exact = [crop for word, crop in known if word == wanted]
        if exact:
            return exact[0]
        begins = [crop for word, crop in known if wanted and word.startswith(f"{wanted},")]
        if len(begins) == 1:
            return begins[0]
        if begins:
            names = "; ".join(crop.name for crop in begins)
            raise OrderError(f"'{name}' may be several crops.", what_to_do=f"Say which: {names}.")
    every = [crop.name for crop in (*own, *shipped_crops())]
    near = difflib.get_close_matches(wanted, [word.casefold() for word in every], n=3)
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    raise OrderError(
        f"The crop '{name[:40]}' is not in the tables.",
        what_to_do=f"{hint}Or add it in a table of your own: name, ph_from, ph_to.",
    )


def crop_fit(ph: Spread, crop: Crop) -> CropFit:
    """Return the probabilities that a soil lies below, inside and above a crop's range.

    Examples
    --------
    >>> round(crop_fit(Spread(value=6.0, low=5.7, high=6.3), find_crop("asparagus")).inside, 3)
    0.5
    """
    below = ph.below(crop.ph_from)
    above = 1 - ph.below(math.nextafter(crop.ph_to, math.inf))
    return CropFit(crop=crop, below=below, inside=max(0.0, 1 - below - above), above=above)


def rank_crops(ph: Spread, crops: Sequence[Crop]) -> tuple[CropFit, ...]:
    """Return how each crop fits a soil as it is, the best first."""
    fits = (crop_fit(ph, crop) for crop in crops)
    return tuple(sorted(fits, key=lambda fit: (-fit.inside, fit.crop.name.casefold())))
