"""The chart that is being made, as plain files: what was said, and a sheet that the terminal reads.

`standards.csv` is a sheet of standards as far as it is filled in, with whole paths; `facts.json`
holds the rest.
"""

import csv
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields, replace
from pathlib import Path
from typing import cast, get_args

from app.errors import OrderError
from app.exports.readings import safe_text
from app.exports.whole_file import whole_file
from app.tasks.calibrate_chart import StandardsPhoto
from app.tasks.chart_draft import ChartDraft, DraftFacts, DraftPatch, DraftTube
from app.tasks.small_json import is_there, read_small_json
from calibration.chart import ChartKind, Role
from calibration.sheet_reader import SheetRow, read_sheet
from colorcore.geometry import Quad

SHEET, FACTS = "standards.csv", "facts.json"
COLUMNS = (
    "photo", "tube", "value", "unit", "uncertainty", "buffer", "temperature", "role", "label",
    "quantity", "form", "basis", "ratio",
)  # fmt: skip
_CORNERS = ("x1", "y1", "x2", "y2", "x3", "y3", "x4", "y4")


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
    except (LookupError, TypeError, ValueError, AttributeError, OverflowError) as error:
        raise _damaged(folder, error) from error
    if kind not in get_args(ChartKind):
        raise _damaged(folder, ValueError(kind))
    draft = ChartDraft(facts=facts, kind=kind, photos=photos, patches=patches, counted=counted)
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
        If a photo's tubes cannot be counted that way, or the disk refuses.
    """
    tubes: list[DraftTube] = []
    for path in draft.photos:
        here = [tube for tube in draft.tubes if tube.path == path]
        photo = seen.get(path)
        if photo is not None and here and path not in dict(draft.counted):
            here = _as_counted(here, photo)
        tubes.extend(here)
    _write_sheet(target, _sheet_rows(tubes, draft.facts, target.parent.resolve()))


def export_patches(draft: ChartDraft, target: Path) -> None:
    """Write the patches of a printed chart as a sheet that `calibrate --printed` reads.

    Raises
    ------
    OrderError
        If the disk refuses.
    """
    name = draft.photos[0].name if draft.photos else ""
    rows: list[Sequence[object]] = [("photo", "patch", *_CORNERS, "value", "label", "unit")]
    for number, patch in enumerate(draft.patches, start=1):
        corners = [round(x, 1) for point in patch.quad for x in point]
        rows.append((name, number, *corners, patch.value, patch.label, draft.facts.unit))
    _write_sheet(target, rows)


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
    one, two, three, four = ((float(x), float(y)) for x, y in data["quad"])  # type: ignore[attr-defined]
    quad: Quad = (one, two, three, four)
    value, label = data["value"], data["label"]
    return DraftPatch(
        quad=quad,
        value=None if value is None else float(str(value)),
        label=None if label is None else str(label),
    )


def _damaged(folder: Path, error: Exception) -> OrderError:
    return OrderError(
        f"The draft of a chart in {folder} cannot be read ({error}).",
        what_to_do="Start a new chart; the files of the draft are left where they are.",
    )
