"""A chart that is being made: what the user has said so far, complete or not."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from app.desk import AS_FOUND
from app.desk_outlines import CARD_PLACE, Redrawn
from app.errors import OrderError
from app.tasks.calibrate_chart import ChartFacts, StandardsPhoto
from calibration.chart import ChartKind, Role
from calibration.errors import StandardError
from calibration.indicator import Analyte, read_analyte
from calibration.sheets import Patch, StandardRow
from calibration.standards import certified_value
from colorcore.geometry import Quad
from colorcore.hand_outlines import HandOutlines
from colorcore.measurement import Triple


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftFacts:
    """What is said of the chart, as it was typed; blank is unknown.

    Parameters
    ----------
    name, quantity, form, basis, ratio, unit : str
        What the values are.
    card : str
        Reflectance of the grey card: a fraction, or percent with its sign; three for R, G, B.
    indicator, batch, extractant, method, light_notes : str
        How the tubes are made, and in what light.
    check_again_on : str
        ISO date.
    supersedes : str
        Id of an older chart.
    """

    name: str = ""
    quantity: str = "ph"
    form: str = ""
    basis: str = ""
    ratio: str = ""
    unit: str = "pH"
    card: str = "18 %"
    indicator: str = ""
    batch: str = ""
    extractant: str = ""
    method: str = ""
    light_notes: str = ""
    check_again_on: str = ""
    supersedes: str = ""

    @property
    def analyte(self) -> Analyte:
        """What the values are.

        Raises
        ------
        AnalyteError
            If the words do not go together.
        """
        return read_analyte(
            quantity=self.quantity,
            form=self.form,
            basis=self.basis,
            ratio=self.ratio,
            unit=self.unit,
        )

    def chart_facts(self, ident: str, now: datetime) -> ChartFacts:
        """Return the same as the calibration takes it.

        Raises
        ------
        OrderError, AnalyteError
            If something that was typed cannot be right.
        """
        analyte = self.analyte
        return ChartFacts(
            id=ident,
            created_at=now,
            name=" ".join(self.name.split()) or "Chart",
            card_reflectance=card_reflectance(self.card),
            quantity=analyte.quantity,
            form=analyte.form,
            basis=analyte.basis,
            ratio=analyte.ratio,
            extractant=_said(self.extractant),
            indicator=_said(self.indicator),
            batch=_said(self.batch),
            method=_said(self.method),
            light_notes=_said(self.light_notes),
            check_again_on=_day(self.check_again_on),
            supersedes=_said(self.supersedes),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftTube:
    """What is said of one tube of a photo; nothing at all where it is no standard.

    Parameters
    ----------
    path : Path
        The photo.
    tube : int
        Its place from the left among all that were found or drawn, from 1.
    value, uncertainty : float or None
        Typed; the uncertainty is a standard uncertainty, > 0.
    buffer : str or None
        Name in the tables; then no value is typed.
    temperature_c : float or None
        Of the buffer, degrees Celsius.
    role : {"standard", "blank"}
        A blank is the extract without indicator.
    label : str or None
        The user's name for it.
    """

    path: Path
    tube: int
    value: float | None = None
    uncertainty: float | None = None
    buffer: str | None = None
    temperature_c: float | None = None
    role: Role = "standard"
    label: str | None = None

    @property
    def is_said(self) -> bool:
        """Whether it is a standard or a blank."""
        return (
            self.role == "blank"
            or self.value is not None
            or self.buffer is not None
            or self.label is not None
        )

    def known(self) -> tuple[float | None, float | None]:
        """Return the value and its uncertainty, looked up where a buffer is named.

        Raises
        ------
        StandardError
            If the tables have no such value.
        """
        if self.buffer is None:
            return self.value, self.uncertainty
        if self.temperature_c is None:
            raise StandardError(
                f"The {self.buffer} buffer has no temperature.",
                what_to_do="Type its temperature in °C beside it.",
            )
        found = certified_value(self.buffer, self.temperature_c)
        return found.value, self.uncertainty or found.uncertainty

    def like(self, other: "DraftTube") -> "DraftTube":
        """Return this tube with everything that is said of another one."""
        return replace(other, path=self.path, tube=self.tube)


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPatch:
    """A patch marked on the photo of a printed chart.

    Parameters
    ----------
    quad : Quad
        Corners, full-size upright pixels.
    value, uncertainty : float or None
        What it stands for; the uncertainty is a standard uncertainty, > 0.
    label : str or None
        The user's name for it.
    """

    quad: Quad
    value: float | None = None
    uncertainty: float | None = None
    label: str | None = None

    @property
    def is_said(self) -> bool:
        """Whether it is part of the chart."""
        return self.value is not None or self.label is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartDraft:
    """Everything said of a chart that is being made.

    Parameters
    ----------
    facts : DraftFacts
        What the values are, and how the tubes were made.
    kind : {"liquid", "printed"}
        Tubes, or patches on paper.
    photos : tuple of Path
        Photos of tubes, in order; of a printed chart the one photo.
    tubes : tuple of DraftTube
        What is said of tubes.
    patches : tuple of DraftPatch
        Of a printed chart.
    counted : tuple of (Path, int)
        Photos whose tubes are still numbered as a sheet counts them, with its highest number.
    hands : tuple of (Path, HandOutlines)
        What was drawn by hand over photos, in place of what was found there.
    """

    facts: DraftFacts = DraftFacts()
    kind: ChartKind = "liquid"
    photos: tuple[Path, ...] = ()
    tubes: tuple[DraftTube, ...] = ()
    patches: tuple[DraftPatch, ...] = ()
    counted: tuple[tuple[Path, int], ...] = ()
    hands: tuple[tuple[Path, HandOutlines], ...] = ()

    @property
    def is_blank(self) -> bool:
        """Whether nothing would be lost with it."""
        return not self.photos and self.facts == DraftFacts()

    def tube(self, path: Path, tube: int) -> DraftTube:
        """Return what is said of a tube."""
        for item in self.tubes:
            if (item.path, item.tube) == (path, tube):
                return item
        return DraftTube(path=path, tube=tube)

    def hand(self, path: Path) -> HandOutlines:
        """Return what was drawn over a photo."""
        return dict(self.hands).get(path, AS_FOUND)

    def redrawn(self, path: Path, drawn: Redrawn) -> "ChartDraft":
        """Draw something else over a photo; what is said of its tubes goes with them.

        A tube that is added where more were named than found is one of those that were missed:
        then the names, which count from the left, stay as they are.
        """
        tubes, places = self.tubes, dict(drawn.places)
        here = [tube for tube in tubes if tube.path == path]
        missed = [tube.tube for tube in here if tube.tube > drawn.before]
        is_added = drawn.at not in (None, CARD_PLACE) and drawn.at not in places.values()
        if not (missed and is_added):
            gone = 0 if drawn.hand.tubes is None else drawn.before - len(places)
            places |= {number: number - gone for number in missed}
            moved = [replace(t, tube=places[t.tube]) for t in here if t.tube in places]
            tubes = (*(tube for tube in tubes if tube.path != path), *moved)
        hands = dict(self.hands) | {path: drawn.hand}
        kept = tuple(item for item in hands.items() if item[1] != AS_FOUND)
        return replace(self, tubes=tubes, hands=kept)

    def with_card(self, patch: int) -> "ChartDraft":
        """Take a marked patch, counted from 0, for the grey card of the printed chart's photo."""
        patches = (*self.patches[:patch], *self.patches[patch + 1 :])
        return replace(self._with_card(self.patches[patch].quad), patches=patches)

    def with_found_card(self) -> "ChartDraft":
        """Let the grey card of the printed chart's photo be found again."""
        return self._with_card(None)

    def _with_card(self, card: Quad | None) -> "ChartDraft":
        path = self.photos[0]
        hands = dict(self.hands) | {path: replace(self.hand(path), card=card)}
        return replace(self, hands=tuple(item for item in hands.items() if item[1] != AS_FOUND))

    def with_photos(self, paths: Iterable[Path]) -> "ChartDraft":
        """Add photos behind those that are there; a printed chart has one."""
        photos = tuple(dict.fromkeys((*self.photos, *paths)))
        return replace(self, photos=photos[-1:] if self.kind == "printed" else photos)

    def without_photo(self, path: Path) -> "ChartDraft":
        """Leave a photo out, with what is said of its tubes."""
        return replace(
            self,
            photos=tuple(photo for photo in self.photos if photo != path),
            tubes=tuple(tube for tube in self.tubes if tube.path != path),
            counted=tuple(item for item in self.counted if item[0] != path),
            hands=tuple(item for item in self.hands if item[0] != path),
            patches=() if self.kind == "printed" else self.patches,
        )

    def with_tubes(self, changed: Iterable[DraftTube]) -> "ChartDraft":
        """Say something else of tubes."""
        tubes = {(tube.path, tube.tube): tube for tube in (*self.tubes, *changed)}
        return replace(self, tubes=tuple(tube for tube in tubes.values() if tube.is_said))

    def with_sheet(self, rows: Sequence[StandardRow]) -> "ChartDraft":
        """Take in a sheet of standards: its photos, its values and what it says they are."""
        paths = tuple(dict.fromkeys(row.path.resolve() for row in rows))
        others = tuple(tube for tube in self.tubes if tube.path not in paths)
        hands = tuple(item for item in self.hands if item[0] not in paths)
        facts = _facts_of(rows, self.facts)
        draft = replace(self, kind="liquid", tubes=others, hands=hands, facts=facts)
        highest = {
            path: max(row.tube for row in rows if row.path.resolve() == path) for path in paths
        }
        kept = tuple(item for item in self.counted if item[0] not in paths)
        draft = replace(draft.with_photos(paths), counted=(*kept, *highest.items()))
        return draft.with_tubes(_tube_of(row) for row in rows)

    def with_patches(self, patches: Sequence[Patch]) -> "ChartDraft":
        """Take in a sheet of patches in place of those that are marked."""
        marked = tuple(
            DraftPatch(
                quad=patch.region.quad,
                value=patch.value,
                uncertainty=patch.uncertainty,
                label=patch.label,
            )
            for patch in patches
        )
        return replace(self, patches=marked, facts=_facts_of(patches, self.facts))

    def renumbered(self, seen: StandardsPhoto) -> "ChartDraft":
        """Give the tubes of a photo the numbers of the found ones, where a sheet counted them."""
        highest = dict(self.counted).get(seen.path)
        if highest is None:
            return self
        places = seen.counted(highest)
        tubes = tuple(
            replace(tube, tube=places[tube.tube - 1] + 1)
            if tube.path == seen.path and tube.tube <= len(places)
            else tube
            for tube in self.tubes
        )
        counted = tuple(item for item in self.counted if item[0] != seen.path)
        return replace(self, tubes=tubes, counted=counted)

    def same_in_next(self, path: Path) -> "ChartDraft":
        """Say of the tubes of the next photo what is said of those of one photo."""
        at = self.photos.index(path)
        if at + 1 >= len(self.photos):
            return self
        after = self.photos[at + 1]
        copies = [replace(tube, path=after) for tube in self.tubes if tube.path == path]
        others = tuple(tube for tube in self.tubes if tube.path != after)
        return replace(self, tubes=others).with_tubes(copies)


def _facts_of(rows: Sequence[StandardRow] | Sequence[Patch], facts: DraftFacts) -> DraftFacts:
    """Return the facts with what a sheet says that its values are."""
    known = next((row.analyte for row in rows if row.value is not None), rows[0].analyte)
    said = {
        key: word
        for key in ("quantity", "form", "basis", "ratio", "unit")
        if (word := getattr(known, key)) is not None
    }
    if said.get("unit", "pH") != "pH" and "quantity" not in said and facts.unit == "pH":
        said["quantity"] = ""  # the sheet speaks of something else and does not say of what
    return replace(facts, **said)


def _tube_of(row: StandardRow) -> DraftTube:
    looked_up = row.buffer is not None and row.source is not None
    return DraftTube(
        path=row.path.resolve(),
        tube=row.tube,
        value=None if looked_up else row.value,
        uncertainty=None if looked_up else row.uncertainty,
        buffer=row.buffer if looked_up else None,
        temperature_c=row.temperature_c,
        role=row.role,
        label=row.label,
    )


def card_reflectance(text: str) -> Triple:
    """Read a card's reflectance: a fraction, or percent with its sign; one number or three.

    Raises
    ------
    OrderError
        If a number is missing or not between 0 and 1.

    Examples
    --------
    >>> card_reflectance("18 %"), card_reflectance("0.18, 0.18, 0.17")
    ((0.18, 0.18, 0.18), (0.18, 0.18, 0.17))
    """
    percent = "%" in text
    words = text.replace("%", " ").replace(";", ",").split(",")
    try:
        parts = [float(word) for word in words]
    except ValueError:
        parts = []
    if len(parts) not in (1, 3):
        raise OrderError(
            f"'{text.strip()}' is no card reflectance.",
            what_to_do="Type what the card's label says, such as 18 % or 0.18; a tinted card has "
            "three: 0.18, 0.18, 0.17.",
        )
    fractions = [part / 100 if percent else part for part in parts]
    if not all(0 < part < 1 for part in fractions):
        hint = f" 18 % is 0.18; {parts[0]:g} % is {parts[0] / 100:g}." if parts[0] >= 1 else ""
        raise OrderError(
            f"A card reflectance lies between 0 and 1 (0 to 100 %), not {text.strip()}.",
            what_to_do=f"Add the percent sign if the label says percent.{hint}",
        )
    red, green, blue = fractions * 3 if len(fractions) == 1 else fractions
    return red, green, blue


def _said(text: str) -> str | None:
    return " ".join(text.split()) or None


def _day(text: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise OrderError(
            f"'{text.strip()}' is no date.", what_to_do="Write year-month-day, such as 2027-03-01."
        ) from error
