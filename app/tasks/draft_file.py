"""The chart that is being made, as plain files: what was said, and a sheet that the terminal reads.

`standards.csv` is a sheet of standards as far as it is filled in, with whole paths; `facts.json`
holds the rest.
"""

import csv
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields, replace
from math import isfinite
from pathlib import Path
from typing import Any, cast, get_args

from app.desk import AS_FOUND
from app.desk_outlines import is_usable
from app.errors import OrderError
from app.exports.readings import safe_text
from app.exports.whole_file import whole_file
from app.tasks.calibrate_chart import StandardsPhoto
from app.tasks.chart_draft import ChartDraft, DraftFacts, DraftPatch, DraftTube
from app.tasks.small_json import is_there, read_small_json
from calibration.chart import ChartKind, Role
from calibration.sheet_reader import SheetRow, read_sheet
from calibration.sheets import read_patches
from colorcore.errors import SheetError
from colorcore.geometry import Quad
from colorcore.hand_outlines import HandOutlines, HandTube

SHEET, FACTS = "standards.csv", "facts.json"
COLUMNS = (
    "photo", "tube", "value", "unit", "uncertainty", "buffer", "temperature", "role", "label",
    "quantity", "form", "basis", "ratio",
)  # fmt: skip
PATCH_COLUMNS = (
    "photo", "patch", "x1", "y1", "x2", "y2", "x3", "y3", "x4", "y4", "value", "unit",
    "uncertainty", "label", "quantity", "form", "basis", "ratio",
)  # fmt: skip


def save_draft(draft: ChartDraft, folder: Path) -> None:
    """Write a draft into a folder of the program's own.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OrderError(
            f"{folder} cannot be made ({error.strerror}).", what_to_do="Make room on the disk."
        ) from error
    _write_sheet(folder / SHEET, _sheet_rows(draft.tubes, draft.facts, None))
    data = {
        "facts": asdict(draft.facts),
        "kind": draft.kind,
        "photos": [str(path) for path in draft.photos],
        "patches": [asdict(patch) for patch in draft.patches],
        "counted": [[str(path), highest] for path, highest in draft.counted],
        "hands": [[str(path), asdict(hand)] for path, hand in draft.hands],
    }
    with whole_file(folder / FACTS) as part:
        part.write_text(json.dumps(data, indent=1, ensure_ascii=False), encoding="utf-8")


def load_draft(folder: Path) -> ChartDraft | None:
    """Return the draft that lies in a folder, None where there is none.

    Photos that are gone are left out.

    Raises
    ------
    OrderError, SheetError
        If its files are damaged.
    """
    try:
        data = read_small_json(folder / FACTS)
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:
        raise _damaged(folder, error) from error
    try:
        known = {field.name for field in fields(DraftFacts)}
        facts = DraftFacts(**{k: str(v) for k, v in data["facts"].items() if k in known})
        kind = cast(ChartKind, data["kind"])
        photos = tuple(path for name in data["photos"] if is_there(path := Path(name)))
        patches = tuple(_patch(item) for item in data["patches"])
        counted = tuple((Path(name), int(highest)) for name, highest in data["counted"])
        hands = tuple((Path(name), _hand(item)) for name, item in data.get("hands", ()))
    except (LookupError, TypeError, ValueError, AttributeError, OverflowError) as error:
        raise _damaged(folder, error) from error
    if kind not in get_args(ChartKind):
        raise _damaged(folder, ValueError(kind))
    draft = ChartDraft(
        facts=facts, kind=kind, photos=photos, patches=patches, counted=counted, hands=hands
    )
    sheet = folder / SHEET
    if not _has_rows(sheet):
        return draft
    rows = read_sheet(sheet, required=("photo", "tube"), optional=COLUMNS[2:])
    return draft.with_tubes(tube for row in rows if (tube := _tube(row)).path in photos)


def _has_rows(sheet: Path) -> bool:
    if not sheet.is_file():
        return False
    with sheet.open("rb") as file:
        file.readline(10_000)
        return bool(file.readline(10))


def forget_draft(folder: Path) -> None:
    """Remove a draft's files."""
    for name in (FACTS, SHEET):
        (folder / name).unlink(missing_ok=True)


def export_sheet(draft: ChartDraft, seen: Mapping[Path, StandardsPhoto], target: Path) -> None:
    """Write a sheet of standards that a calibration from the terminal reads as it is meant.

    A sheet counts the surest vessels of a photo only, so the numbers may differ from those shown.

    Raises
    ------
    OrderError
        If a photo's tubes cannot be counted that way, outlines were drawn by hand, which a sheet
        cannot hold, or the disk refuses.
    """
    tubes: list[DraftTube] = []
    for path in draft.photos:
        here = [tube for tube in draft.tubes if tube.path == path]
        if here and draft.hand(path) != AS_FOUND:
            raise OrderError(
                f"Outlines were drawn by hand over {path.name}; a sheet of standards cannot hold "
                "them, and without them its tubes would be read elsewhere.",
                what_to_do="Make the chart here, or reset the outlines of this photo first.",
            )
        photo = seen.get(path)
        if photo is not None and here and path not in dict(draft.counted):
            here = _as_counted(here, photo)
        tubes.extend(here)
    _write_sheet(target, _sheet_rows(tubes, draft.facts, target.parent.resolve()))


def export_patches(draft: ChartDraft, target: Path) -> int:
    """Write the patches of a printed chart as a sheet that `calibrate --printed` reads.

    Returns
    -------
    int
        How many were written: those with a value or a label, where any has one.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    facts, name = draft.facts, draft.photos[0].name if draft.photos else ""
    said = [patch for patch in draft.patches if patch.is_said] or draft.patches
    rows: list[Sequence[object]] = [PATCH_COLUMNS]
    for number, patch in enumerate(said, start=1):
        corners = [round(x, 1) for point in patch.quad for x in point]
        rows.append(
            (name, number, *corners, patch.value, facts.unit, patch.uncertainty, patch.label,
             facts.quantity, facts.form, facts.basis, facts.ratio)
        )  # fmt: skip
    _write_sheet(target, rows)
    return len(said)


def import_patches(draft: ChartDraft, sheet: Path, size: tuple[int, int]) -> ChartDraft:
    """Take in a sheet of patches, as it is exported and as `calibrate --patches` reads it.

    Parameters
    ----------
    draft : ChartDraft
        With the photo of the printed chart.
    sheet : Path
        Its patches take the place of those that are marked.
    size : tuple of int
        Width and height of the upright photo, pixels.

    Raises
    ------
    SheetError
        If the sheet cannot be read, is another photo's, or a patch lies outside the photo.
    """
    patches = read_patches(sheet, photo=draft.photos[0].name)
    for patch in patches:
        if not is_usable(patch.region.quad, *size):
            raise SheetError(
                f"Line {patch.line}: the patch '{patch.region.name}' does not lie in the photo, "
                f"which is {size[0]} by {size[1]} pixels, or is too small.",
                what_to_do="Choose the photo on which the patches were marked, in its full size, "
                "or correct the corners.",
            )
    return draft.with_patches(patches)


def _as_counted(tubes: Sequence[DraftTube], photo: StandardsPhoto) -> list[DraftTube]:
    wanted = {tube.tube - 1 for tube in tubes if tube.tube <= len(photo.tubes)}
    if not wanted:
        return list(tubes)
    highest = 1 + max(photo.tubes[place].rank for place in wanted)
    places = photo.counted(highest)
    if places[-1] not in wanted:
        raise OrderError(
            f"The tubes of {photo.path.name} cannot be told apart by counting: the last vessel "
            "from the left has no value.",
            what_to_do="Give it a value, or cut it off the photo.",
        )
    return [
        replace(tube, tube=places.index(tube.tube - 1) + 1)
        for tube in tubes
        if tube.tube - 1 in wanted
    ]


def _sheet_rows(
    tubes: Iterable[DraftTube], facts: DraftFacts, folder: Path | None
) -> list[Sequence[object]]:
    rows: list[Sequence[object]] = [COLUMNS]
    for tube in tubes:
        photo = tube.path
        if folder is not None and photo.is_relative_to(folder):
            photo = photo.relative_to(folder)
        rows.append(
            (photo, tube.tube, tube.value, facts.unit, tube.uncertainty, tube.buffer,
             tube.temperature_c, tube.role, tube.label, facts.quantity, facts.form, facts.basis,
             facts.ratio)
        )  # fmt: skip
    return rows


def _write_sheet(target: Path, rows: Sequence[Sequence[object]]) -> None:
    with whole_file(target) as part, part.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        for row in rows:
            writer.writerow([_cell(value) for value in row])


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.12g}"
    return safe_text(str(value)) if isinstance(value, str | Path) else value


def _tube(row: SheetRow) -> DraftTube:
    return DraftTube(
        path=Path(row.needed("photo")),
        tube=row.whole_number("tube"),
        value=row.number("value"),
        uncertainty=row.number("uncertainty"),
        buffer=row.text("buffer"),
        temperature_c=row.number("temperature"),
        role=cast(Role, row.one_of("role", get_args(Role)) or "standard"),
        label=row.text("label"),
    )


def _patch(data: Mapping[str, object]) -> DraftPatch:
    value, uncertainty, label = data["value"], data.get("uncertainty"), data["label"]
    return DraftPatch(
        quad=_quad(data["quad"]),
        value=None if value is None else float(str(value)),
        uncertainty=None if uncertainty is None else float(str(uncertainty)),
        label=None if label is None else str(label),
    )


def _hand(data: Mapping[str, Any]) -> HandOutlines:
    card, tubes = data["card"], data["tubes"]
    return HandOutlines(
        card=None if card is None else _quad(card),
        tubes=None if tubes is None else tuple(_hand_tube(item) for item in tubes),
    )


def _hand_tube(data: Mapping[str, Any]) -> HandTube:
    found, region = data["found"], data["region"]
    if found is not None and not int(found) > 0:
        raise ValueError(f"tubes count from 1, not {found}")
    return HandTube(
        found=None if found is None else int(found),
        region=None if region is None else _quad(region),
    )


def _quad(corners: Any) -> Quad:
    one, two, three, four = ((float(x), float(y)) for x, y in corners)
    if not all(isfinite(x) for point in (one, two, three, four) for x in point):
        raise ValueError("corners are no places")
    return one, two, three, four


def _damaged(folder: Path, error: Exception) -> OrderError:
    return OrderError(
        f"The draft of a chart in {folder} cannot be read ({error}).",
        what_to_do="Start a new chart; the files of the draft are left where they are.",
    )
