"""The desk between two days: photos, what was said of them, charts and clocks, in one file.

Readings are not in it: they are read anew. Charts lie beside it in their own files.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from app.bench_clock import BenchClock
from app.desk import Desk, DeskChart, DeskPhoto, PhotoEdits
from app.survey.method import Method
from app.tasks.small_json import is_there, read_small_json
from app.tube_reading import KnownTube, TubeEntry
from calibration.chart_file import load_chart, save_chart
from calibration.indicator import Analyte
from colorcore.errors import TintwellError
from colorcore.geometry import Quad
from colorcore.hand_outlines import HandOutlines, HandTube

FORMAT = 1
NAME = "desk.json"

JsonObject = Mapping[str, Any]
_NOT_RIGHT = (OSError, LookupError, TypeError, ValueError, AttributeError, OverflowError)


class DeskFileError(TintwellError):
    """The remembered desk cannot be used."""


def save_desk(desk: Desk, folder: Path) -> None:
    """Remember a desk in a folder of the program's own; the file is written whole or not at all.

    Raises
    ------
    OSError, TintwellError
        If it cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for item in desk.charts:
        path = folder / f"{item.chart.id}.json"
        if not path.exists():
            save_chart(item.chart, path)
    part = folder / f".{NAME}.part"
    part.write_text(json.dumps(_desk_data(desk), indent=1), encoding="utf-8")
    part.replace(folder / NAME)
    kept = {f"{item.chart.id}.json" for item in desk.charts} | {NAME}
    for path in folder.glob("*.json"):
        if path.name not in kept:
            path.unlink(missing_ok=True)


def load_desk(folder: Path) -> tuple[Desk, Path | None] | None:
    """Return the remembered desk and the survey that was open; None where there is none.

    Photos and charts that are gone are left out.

    Raises
    ------
    DeskFileError
        If the file is damaged.
    """
    path = folder / NAME
    if not path.is_file():
        return None
    try:
        data = read_small_json(path)
        if data["format"] != FORMAT:
            raise ValueError(f"format {data['format']}")
        return _desk(data, folder)
    except _NOT_RIGHT as error:
        raise DeskFileError(
            f"The remembered desk cannot be read ({error}).",
            what_to_do="Nothing that was kept is lost; add the photos again.",
        ) from error


def _desk_data(desk: Desk) -> JsonObject:
    return {
        "format": FORMAT,
        "survey": None if desk.survey is None else str(desk.survey.folder.resolve()),
        "chosen": None if desk.chosen is None else str(desk.chosen),
        "card_reflectance": desk.card_reflectance,
        "charts": [
            {
                "id": item.chart.id,
                "path": None if item.path is None else str(item.path),
                "in_use": item.in_use,
            }
            for item in desk.charts
        ],
        "photos": [
            {"path": str(photo.path), "edits": _edits_data(photo.edits)} for photo in desk.photos
        ],
        "clocks": [_clock_data(clock) for clock in desk.clocks],
        "offsets": {camera: ahead.total_seconds() for camera, ahead in desk.offsets},
    }


def _edits_data(edits: PhotoEdits) -> JsonObject:
    tubes = edits.hand.tubes
    return {
        "entries": [
            [tube, entry.sample, entry.replicate, entry.chart, entry.role]
            for tube, entry in edits.entries
        ],
        "known": [
            {
                "tube": item.tube,
                "value": item.value,
                "label": item.label,
                "uncertainty": item.uncertainty,
                "analyte": _analyte_data(item.analyte),
            }
            for item in edits.known
        ],
        "card": edits.hand.card,
        "tubes": None if tubes is None else [[place.found, place.region] for place in tubes],
    }


def _analyte_data(analyte: Analyte) -> JsonObject:
    names = ("quantity", "form", "basis", "ratio", "unit")
    return {name: getattr(analyte, name) for name in names}


def _clock_data(clock: BenchClock) -> JsonObject:
    minutes = ("settling_from_min", "settling_to_min", "color_from_min", "color_to_min")
    return {
        "id": clock.id,
        "samples": clock.samples,
        "method": {"name": clock.method.name}
        | {name: getattr(clock.method, name) for name in minutes},
        "shaken_at": _moment_text(clock.shaken_at),
        "indicator_added_at": _moment_text(clock.indicator_added_at),
    }


def _moment_text(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def _desk(data: JsonObject, folder: Path) -> tuple[Desk, Path | None]:
    charts = []
    for item in data["charts"]:
        path = folder / f"{item['id']}.json"
        if not (path.parent == folder and is_there(path)):
            continue
        source = None if item["path"] is None else Path(item["path"])
        charts.append(DeskChart(chart=load_chart(path), path=source, in_use=bool(item["in_use"])))
    photos = tuple(
        DeskPhoto(path=Path(item["path"]), edits=_edits(item["edits"]))
        for item in data["photos"]
        if is_there(Path(item["path"]))
    )
    paths = {photo.path for photo in photos}
    chosen = None if data["chosen"] is None else Path(data["chosen"])
    reflectance = data["card_reflectance"]
    desk = Desk(
        photos=photos,
        chosen=chosen if chosen in paths else next(iter(photo.path for photo in photos), None),
        charts=tuple(charts),
        card_reflectance=None if reflectance is None else _triple(reflectance),
        clocks=tuple(_clock(item) for item in data["clocks"]),
        offsets=tuple((str(c), timedelta(seconds=float(s))) for c, s in data["offsets"].items()),
    )
    survey = None if data["survey"] is None else Path(data["survey"])
    return desk, survey


def _triple(numbers: Sequence[float]) -> tuple[float, float, float]:
    red, green, blue = (float(number) for number in numbers)
    return red, green, blue


def _edits(data: JsonObject) -> PhotoEdits:
    entries = tuple(
        (int(tube), TubeEntry(sample=sample, replicate=replicate, chart=chart, role=str(role)))
        for tube, sample, replicate, chart, role in data["entries"]
    )
    known = tuple(
        KnownTube(
            tube=int(item["tube"]),
            value=item["value"],
            label=item["label"],
            uncertainty=item["uncertainty"],
            analyte=Analyte(**item["analyte"]),
        )
        for item in data["known"]
    )
    tubes = data["tubes"]
    hand = HandOutlines(
        card=_quad(data["card"]),
        tubes=None
        if tubes is None
        else tuple(HandTube(found=found, region=_quad(region)) for found, region in tubes),
    )
    return replace(PhotoEdits(), entries=entries, known=known, hand=hand)


def _quad(corners: Sequence[Sequence[float]] | None) -> Quad | None:
    if corners is None:
        return None
    a, b, c, d = ((float(x), float(y)) for x, y in corners)
    return a, b, c, d


def _clock(data: JsonObject) -> BenchClock:
    return BenchClock(
        id=str(data["id"]),
        samples=tuple(map(str, data["samples"])),
        method=Method(**data["method"]),
        shaken_at=_moment(data["shaken_at"]),
        indicator_added_at=_moment(data["indicator_added_at"]),
    )


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
