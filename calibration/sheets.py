"""The sheets a user writes: standards, which tube is which, and regions drawn by hand."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Literal, NamedTuple, Protocol, cast, get_args

from calibration.chart import SAME_PH, Role
from calibration.errors import AnalyteError, StandardError
from calibration.indicator import Analyte, read_analyte
from calibration.sheet_reader import SheetRow, read_sheet
from calibration.standards import certified_value, find_buffer
from colorcore.errors import SheetError
from colorcore.geometry import Point, Quad

TubeRole = Literal["sample", "in_frame", "blank"]

_ANALYTE = ("quantity", "form", "basis", "ratio")
_VALUE = ("value", "unit", "uncertainty", "label", *_ANALYTE)
_CORNERS = ("x1", "y1", "x2", "y2", "x3", "y3", "x4", "y4")
_NAMES_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardRow:
    """A tube of known value, as the sheet declares it.

    Parameters
    ----------
    line : int
        Line in the sheet, for messages.
    photo : str
        The photo as written in the sheet.
    path : Path
        The photo's file, from the sheet's folder.
    tube : int
        Place from the left, from 1.
    value : float or None
        In the unit of `analyte`; None for a blank, or where only a label is given.
    uncertainty : float or None
        Standard uncertainty of the value, > 0; None where it is not known.
    buffer : str or None
        Name of the buffer in our tables.
    temperature_c : float or None
        Degrees Celsius.
    role : {"standard", "blank"}
        A blank is the extract without indicator.
    label : str or None
        The user's name for it.
    analyte : Analyte
        What the line says that the value is.
    source : str or None
        Where a value that was looked up comes from.
    """

    line: int
    photo: str
    path: Path
    tube: int
    value: float | None
    uncertainty: float | None
    buffer: str | None
    temperature_c: float | None
    role: Role
    label: str | None
    analyte: Analyte
    source: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeRow:
    """Which sample and which test a tube is.

    Parameters
    ----------
    line : int
        Line in the sheet, for messages.
    photo : str
        The photo as written in the sheet.
    path : Path
        The photo's file, from the sheet's folder.
    tube : int
        Place from the left, from 1.
    sample, replicate, chart : str or None
        As written: the sample's name, the repeat, and the chart's id, name or file.
    role : {"sample", "in_frame", "blank"}
        What the tube is for.
    """

    line: int
    photo: str
    path: Path
    tube: int
    sample: str | None
    replicate: str | None
    chart: str | None
    role: TubeRole


class _Valued(Protocol):
    """What a line of standards and a patch have in common."""

    @property
    def line(self) -> int: ...
    @property
    def value(self) -> float | None: ...
    @property
    def analyte(self) -> Analyte: ...


class Region(NamedTuple):
    """A quadrilateral drawn by hand, in pixels of the upright photo, corners in turn."""

    name: str
    quad: Quad


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A patch of a printed chart.

    Parameters
    ----------
    line : int
        Line in the sheet, for messages.
    region : Region
        Name and corners.
    value : float or None
        In the unit of `analyte`; None where only a label is given.
    uncertainty : float or None
        Standard uncertainty of the value, > 0; None where it is not known.
    label : str or None
        The user's name for it; the region's name where there is no value either.
    analyte : Analyte
        What the line says that the value is.
    """

    line: int
    region: Region
    value: float | None
    uncertainty: float | None
    label: str | None
    analyte: Analyte


def read_standards_sheet(path: Path) -> tuple[StandardRow, ...]:
    """Read a sheet of tubes of known value.

    Columns `photo,tube,value,unit`; optional `uncertainty`, `buffer` and `temperature` (then the
    value may be blank), `role`, `label`, `quantity`, `form`, `basis`, `ratio`.

    Raises
    ------
    SheetError
        If a line does not make sense, photos are missing, a tube stands there twice, or the lines
        speak of different quantities or units.
    """
    standards = read_in_frame_sheet(path)
    _check_alike([row for row in standards if row.role == "standard"])
    return standards


def read_in_frame_sheet(path: Path) -> tuple[StandardRow, ...]:
    """Read a sheet of known tubes in the photos being read, with the columns of a standards sheet.

    Several tests may stand side by side in one photo, so the lines may differ in what they
    measure: which chart a line belongs to follows from its `analyte`.

    Raises
    ------
    SheetError
        If a line does not make sense, photos are missing, or a tube stands there twice.
    """
    rows = read_sheet(
        path,
        required=("photo", "tube"),
        optional=(*_VALUE, "buffer", "temperature", "temperature_c", "role"),
    )
    standards = tuple(_standard_row(row, path.parent) for row in rows)
    _check_places(standards)
    return standards


def _standard_row(row: SheetRow, folder: Path) -> StandardRow:
    photo, photo_path = _photo(row, folder)
    analyte, value, uncertainty = _known_value(row)
    buffer, source = row.text("buffer"), None
    degrees_said = row.number("temperature")
    temperature = row.number("temperature_c") if degrees_said is None else degrees_said
    role = cast(Role, row.one_of("role", get_args(Role)) or "standard")
    if buffer is not None:
        analyte, value, certified, source = _buffer_value(row, buffer, temperature, analyte, value)
        uncertainty = certified if uncertainty is None else uncertainty
        buffer = find_buffer(buffer).name
    if role == "standard" and value is None and row.text("label") is None:
        raise row.error(
            "there is no value.", "Give a value, a buffer and its temperature, or a label."
        )
    return StandardRow(
        line=row.line,
        photo=photo,
        path=photo_path,
        tube=row.whole_number("tube"),
        value=value,
        uncertainty=uncertainty,
        buffer=buffer,
        temperature_c=temperature,
        role=role,
        label=row.text("label"),
        analyte=analyte,
        source=source,
    )


def _known_value(row: SheetRow) -> tuple[Analyte, float | None, float | None]:
    """Return what a line says about a value: what it is, the value, its uncertainty."""
    try:
        analyte = read_analyte(unit=row.text("unit"), **{key: row.text(key) for key in _ANALYTE})
    except AnalyteError as error:
        raise row.error(error.what_happened, error.what_to_do) from error
    uncertainty = row.number("uncertainty")
    if uncertainty is not None and uncertainty <= 0:
        raise row.error(
            f"the uncertainty {uncertainty:g} is not above zero.", "Leave it blank if not known."
        )
    return analyte, row.number("value"), uncertainty


def _buffer_value(
    row: SheetRow, buffer: str, temperature: float | None, analyte: Analyte, value: float | None
) -> tuple[Analyte, float, float, str | None]:
    """Look a buffer up; a value that is given as well must agree and is kept."""
    if temperature is None:
        raise row.error("the buffer has no temperature.", "Add its temperature in °C.")
    try:
        certified = certified_value(buffer, temperature)
        in_ph = read_analyte(quantity="ph", unit=analyte.unit) if analyte.unit else None
    except (StandardError, AnalyteError) as error:
        raise row.error(error.what_happened, error.what_to_do) from error
    if analyte.quantity not in (None, "ph"):
        raise row.error(
            f"a pH buffer is no standard for {analyte.quantity}.", "Correct one of the two."
        )
    if value is not None and abs(value - certified.value) > SAME_PH + 1e-9:
        raise row.error(
            f"the value {value:g} and the {certified.buffer} buffer at {temperature:g} °C "
            f"({certified.value:.2f}) differ by more than {SAME_PH:g}.",
            "Correct value, buffer or temperature, or leave the value blank.",
        )
    known = replace(analyte, quantity="ph", unit="pH") if in_ph is None else analyte
    source = certified.source if value is None else None
    return known, certified.value if value is None else value, certified.uncertainty, source


def sheet_analyte(
    rows: Sequence[_Valued],
    *,
    quantity: str | None = None,
    form: str | None = None,
    basis: str | None = None,
    ratio: str | None = None,
) -> Analyte:
    """Put together what the sheet and the user's own words say that the values are.

    Raises
    ------
    SheetError
        If the two contradict each other.
    AnalyteError
        If the user's words do.
    """
    said = read_analyte(quantity=quantity, form=form, basis=basis, ratio=ratio)
    first = next((row for row in rows if row.value is not None), rows[0] if rows else None)
    written = Analyte() if first is None else first.analyte
    joined: dict[str, str | None] = {"unit": written.unit}
    for key in _ANALYTE:
        spoken, in_sheet = getattr(said, key), getattr(written, key)
        if spoken and in_sheet and spoken != in_sheet:
            raise SheetError(
                f"The sheet says {key} {in_sheet}, but {spoken} was asked for.",
                what_to_do=f"Correct the sheet, or leave out the {key}.",
            )
        joined[key] = spoken or in_sheet
    return read_analyte(**joined)


def read_tubes_sheet(path: Path) -> tuple[TubeRow, ...]:
    """Read which tube is which sample: `photo,tube`, and any of `sample,replicate,chart,role`.

    Raises
    ------
    SheetError
        If a line does not make sense, photos are missing, or a tube stands there twice.
    """
    rows = read_sheet(
        path, required=("photo", "tube"), optional=("sample", "replicate", "chart", "role")
    )
    tubes = []
    for row in rows:
        photo, photo_path = _photo(row, path.parent)
        tubes.append(
            TubeRow(
                line=row.line,
                photo=photo,
                path=photo_path,
                tube=row.whole_number("tube"),
                sample=row.text("sample"),
                replicate=row.text("replicate"),
                chart=row.text("chart"),
                role=cast(TubeRole, row.one_of("role", get_args(TubeRole)) or "sample"),
            )
        )
    _check_places(tubes)
    return tuple(tubes)


def read_regions(path: Path, *, photo: str | None = None) -> tuple[Region, ...]:
    """Read quadrilaterals: `x1,y1,...,x4,y4`, named by `patch`, else `name`, else their number.

    Parameters
    ----------
    path : Path
        The sheet.
    photo : str, optional
        Name of a photo's file: where the sheet has a column `photo`, only its lines are taken.

    Raises
    ------
    SheetError
        If a line is no quadrilateral, two have one name, or none belongs to the photo.
    """
    return tuple(region for _, region in _region_rows(path, photo, ()))


def read_patches(path: Path, *, photo: str | None = None) -> tuple[Patch, ...]:
    """Read the patches of a printed chart: regions with `value` or `label`, and `unit`.

    Raises
    ------
    SheetError
        If a line is no region, the units differ, or only some patches have a value.
    """
    patches = []
    for row, region in _region_rows(path, photo, _VALUE):
        analyte, value, uncertainty = _known_value(row)
        label = row.text("label") or (region.name if value is None else None)
        patches.append(
            Patch(
                line=row.line,
                region=region,
                value=value,
                uncertainty=uncertainty,
                label=label,
                analyte=analyte,
            )
        )
    _check_alike(patches)
    return tuple(patches)


def _region_rows(
    path: Path, photo: str | None, optional: Sequence[str]
) -> list[tuple[SheetRow, Region]]:
    rows = read_sheet(path, required=_CORNERS, optional=("photo", "patch", "name", *optional))
    named = [row for row in rows if row.text("photo") is not None]
    if photo is not None and named:
        wanted = Path(photo).name
        rows = tuple(row for row in named if _file_name(row.needed("photo")) == wanted)
        if not rows:
            raise SheetError(
                f"{path.name} has no line for the photo {wanted}.",
                what_to_do="Check the names under 'photo', or remove that column.",
            )
    found: dict[str, tuple[SheetRow, Region]] = {}
    for number, row in enumerate(rows, start=1):
        name = row.text("patch") or row.text("name") or str(number)
        if name in found:
            first = found[name][0].line
            raise row.error(
                f"the name '{name}' stands on line {first} already.",
                "Give every region its own name; name the photo where the sheet has several.",
            )
        found[name] = (row, Region(name, _quad(row)))
    return list(found.values())


def _file_name(photo: str) -> str:
    return photo.replace("\\", "/").rsplit("/", 1)[-1]


def _quad(row: SheetRow) -> Quad:
    """Return the corners of a line, which must go round a convex region."""
    numbers = [row.number(corner) for corner in _CORNERS]
    known = [number for number in numbers if number is not None]
    if len(known) < len(_CORNERS):
        raise row.error("a corner is blank.", "Give x1, y1 to x4, y4, in pixels.")
    one, two, three, four = zip(known[::2], known[1::2], strict=True)
    quad: Quad = (one, two, three, four)
    turns = [_turn(quad[i - 2], quad[i - 1], quad[i]) for i in range(4)]
    if not (all(turn > 0 for turn in turns) or all(turn < 0 for turn in turns)):
        raise row.error(
            "the corners do not go round a region.",
            "Give the four corners one after the other, clockwise or counter-clockwise.",
        )
    return quad


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _photo(row: SheetRow, folder: Path) -> tuple[str, Path]:
    photo = row.needed("photo")
    if any(unicodedata.category(character) == "Cc" for character in photo):
        raise row.error("the photo's name has control characters.", "Type the name again.")
    return photo, folder / photo


def _check_places(rows: Sequence[StandardRow] | Sequence[TubeRow]) -> None:
    """Refuse a tube that is declared twice, and photos that are not there."""
    missing = list(dict.fromkeys(row.photo for row in rows if not _is_file(row.path)))
    if missing:
        more = f" and {len(missing) - _NAMES_SHOWN} more" if len(missing) > _NAMES_SHOWN else ""
        raise SheetError(
            f"Photos in the sheet are missing: {', '.join(missing[:_NAMES_SHOWN])}{more}.",
            what_to_do="Photo names are taken from the folder of the sheet: put them there, or "
            "correct the names.",
        )
    lines: dict[tuple[Path, int], int] = {}
    for row in rows:
        place = (row.path.resolve(), row.tube)
        if place in lines:
            raise SheetError(
                f"Line {row.line}: tube {row.tube} of {row.photo} stands on line {lines[place]} "
                "already.",
                what_to_do="Keep one of the two lines.",
            )
        lines[place] = row.line


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name that no file can have, such as one too long
        return False


def _check_alike(rows: Sequence[_Valued]) -> None:
    """Refuse lines of different quantity, form, basis, ratio or unit, or values beside labels."""
    for first, second in pairwise(rows):
        if (first.value is None) != (second.value is None):
            raise SheetError(
                f"Line {second.line}: some lines have a value and some only a label.",
                what_to_do="Give every line a value, or none.",
            )
        for what in ("unit", *_ANALYTE):
            one, other = getattr(first.analyte, what), getattr(second.analyte, what)
            if one != other:
                raise SheetError(
                    f"Line {second.line}: the {what} is {_said(other)}, but {_said(one)} on line "
                    f"{first.line}.",
                    what_to_do=f"Use one {what} throughout; make one sheet for each test.",
                )


def _said(word: str | None) -> str:
    return "not given" if word is None else word
