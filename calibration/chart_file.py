"""Writes a chart as one text file and reads it back; the file knows its format version.

The file is JSON, described by `chart.schema.json`. It is read as something that a stranger may have
written: every entry is checked before a `Chart` is made of it.
"""

import json
import math
import os
import re
import threading
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, cast

from calibration.chart import Chart, ChartKind, Role, StandardMeasurement, Swatch
from calibration.errors import ChartError, ChartFileError, ChartTooNewError
from calibration.indicator import Analyte, Basis, Form
from colorcore.color_spaces import WHITES, Lab
from colorcore.geometry import Box
from colorcore.measurement import Covariance, Measurement, OutlineKind, Triple
from colorcore.reasons import Reason, Weight

FORMAT = "tintwell-chart"
MAX_BYTES = 20_000_000
MAX_DEPTH = 40

JsonObject = dict[str, Any]

UPGRADES: tuple[Callable[[JsonObject], JsonObject], ...] = ()
"""Step i turns format i + 1 into format i + 2. A released step is never edited."""

_ANALYTE = ("quantity", "form", "basis", "ratio", "unit")
_FACTS = ("extractant", "indicator", "batch", "method", "light_notes")
_KNOWN = {
    *("format", "format_version", "id", "name", "kind", "white", "card_reflectance", "cameras"),
    *("created_at", "check_again_on", "software_version", "swatches", "measurements"),
    *_ANALYTE,
    *_FACTS,
}
_OPTIONAL = {"supersedes"}  # written only where it is said


class _DamagedError(Exception):
    """An entry of the file that cannot be right; says where and why."""


def format_version() -> int:
    """Return the newest format that is written and read.

    Examples
    --------
    >>> format_version()
    1
    """
    return len(UPGRADES) + 1


def save_chart(chart: Chart, path: Path, *, overwrite: bool = False) -> None:
    """Write a chart, whole or not at all.

    Parameters
    ----------
    chart : Chart
        What to write.
    path : Path
        Where; its folder must exist.
    overwrite : bool
        Whether an older state of the same chart may be replaced. Anything else that is there
        (another chart, another kind of file) never is.

    Raises
    ------
    ChartFileError
        If something stands in the way or the disk refuses.
    """
    _check_free(chart, path, overwrite=overwrite)
    data = chart_text(chart).encode("utf-8")
    if len(data) > MAX_BYTES:
        raise ChartFileError(
            f"The chart takes {len(data) / 1e6:.0f} MB; at most {MAX_BYTES // 1_000_000} are read.",
            what_to_do="Make it of fewer photos.",
        )
    try:
        _write_whole(path, data)
    except OSError as error:
        raise ChartFileError(
            f"{path} cannot be written: {error.strerror}.",
            what_to_do="Check that the folder exists, may be written to and has room.",
        ) from error


def _write_whole(path: Path, data: bytes) -> None:
    """Write beside the file, flush, then put in its place: a crash leaves the old or the new."""
    part = path.with_name(f".chart-{os.getpid()}-{threading.get_ident()}.part")
    try:
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    if os.name == "posix":  # elsewhere a folder cannot be flushed
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _check_free(chart: Chart, path: Path, *, overwrite: bool) -> None:
    """Refuse to write over anything but an older state of the same chart."""
    if not os.path.lexists(path):
        return
    other = f"Choose another name, for example {path.stem}-2{path.suffix}"
    if not overwrite:
        raise ChartFileError(
            f"There is a file {path} already.", what_to_do=f"{other}, or move the old file away."
        )
    try:
        existing = load_chart(path)
    except ChartTooNewError:
        raise
    except ChartFileError as error:
        raise ChartFileError(
            f"{path} is there already and cannot be read as a chart, so it is not replaced.",
            what_to_do=f"{other}, or move that file away.",
        ) from error
    if existing.id != chart.id:
        raise ChartFileError(
            f"{path} holds another chart, '{existing.name}', so it is not replaced.",
            what_to_do=f"{other}, or move that chart away.",
        )


def load_chart(path: Path) -> Chart:
    """Read a chart's file.

    Raises
    ------
    ChartTooNewError
        If a newer version of the program wrote it.
    ChartFileError
        If the file cannot be read, is too large, or is no chart; the entry is named.
    """
    try:
        if not path.is_file():
            raise ChartFileError(
                f"There is no chart file {path}.", what_to_do="Check the name and the folder."
            )
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise ChartFileError(
            f"{path} cannot be read: {error.strerror}.", what_to_do="Check the name and the folder."
        ) from error
    if len(data) > MAX_BYTES:
        raise ChartFileError(
            f"{path.name} is larger than {MAX_BYTES // 1_000_000} MB: it is no chart.",
            what_to_do="Choose the file that `calibrate` wrote.",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ChartFileError(
            f"{path.name} is no chart: it is not UTF-8 text.",
            what_to_do="Choose the file that `calibrate` wrote.",
        ) from error
    return parse_chart(text, path.name)


def chart_text(chart: Chart) -> str:
    """Return a chart as the text of its file.

    Raises
    ------
    ValueError
        If the chart holds something that the file cannot, such as an infinite number.
    """
    extra = {key: json.loads(text) for key, text in chart.extra}
    misplaced = sorted((_KNOWN | _OPTIONAL) & extra.keys())
    if misplaced:
        raise ValueError(f"extra entries {misplaced} have a place of their own")
    data: JsonObject = {
        "format": FORMAT,
        "format_version": format_version(),
        "id": chart.id,
        "name": chart.name,
        **{key: getattr(chart.analyte, key) for key in _ANALYTE},
        **{key: getattr(chart, key) for key in _FACTS},
        "kind": chart.kind,
        "white": chart.white,
        "card_reflectance": chart.card_reflectance,
        "cameras": chart.cameras,
        "created_at": chart.created_at.isoformat(),
        "check_again_on": chart.check_again_on and chart.check_again_on.isoformat(),
        "software_version": chart.software_version,
        "swatches": [_swatch_data(swatch) for swatch in chart.swatches],
        "measurements": [_standard_data(item) for item in chart.measurements],
        **({} if chart.supersedes is None else {"supersedes": chart.supersedes}),
        **extra,
    }
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
    try:
        same = parse_chart(text, "chart") == chart
    except ChartFileError as error:
        raise ValueError(f"the chart cannot be kept in a file: {error.what_happened}") from error
    if not same:
        raise ValueError("the chart would not come back from its file as it is")
    return text


def _swatch_data(swatch: Swatch) -> JsonObject:
    return {
        "value": swatch.value,
        "label": swatch.label,
        "lab": swatch.lab,
        "covariance": swatch.covariance,
        "n": swatch.n,
        "standard_uncertainty": swatch.standard_uncertainty,
    }


def _standard_data(item: StandardMeasurement) -> JsonObject:
    seen = item.measurement
    return {
        "value": item.value,
        "uncertainty": item.uncertainty,
        "label": item.label,
        "role": item.role,
        "photo": item.photo,
        "tube": item.tube,
        "measurement": {
            "lab": seen.lab,
            "covariance": seen.covariance,
            "n_pixels": seen.n_pixels,
            "white": seen.white,
            "rgb": seen.rgb,
            "background_rgb": seen.background_rgb,
            "card_rgb": seen.card_rgb,
            "clipped_share": seen.clipped_share,
            "outline": seen.outline,
            "box": seen.box,
            "card_box": seen.card_box,
            "sha256": seen.sha256,
            "camera": seen.camera,
            "taken_at": seen.taken_at and seen.taken_at.isoformat(),
            "reasons": [
                {
                    "code": reason.code,
                    "text": reason.text,
                    "what_to_do": reason.what_to_do,
                    "weight": reason.weight,
                }
                for reason in seen.reasons
            ],
        },
    }


def parse_chart(text: str, name: str) -> Chart:
    """Make a chart of the text of its file.

    Parameters
    ----------
    text : str
        JSON.
    name : str
        The file's name, for messages.

    Raises
    ------
    ChartTooNewError
        If a newer version of the program wrote it.
    ChartFileError
        If it is no chart, or damaged; the entry is named.
    """
    try:
        return _chart(_upgraded(_parsed(text), name))
    except (_DamagedError, ChartError, ValueError) as error:
        detail = error.what_happened if isinstance(error, ChartError) else str(error)
        raise ChartFileError(
            f"{name} is no chart, or is damaged: {detail.rstrip('.')}.",
            what_to_do="Choose the file that `calibrate` wrote, or make the chart again.",
        ) from error


def _parsed(text: str) -> JsonObject:
    """Parse JSON that may be hostile: no NaN, no doubled entries, no bottomless nesting."""
    try:
        data = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_doubles)
    except json.JSONDecodeError as error:
        raise _DamagedError(f"line {error.lineno}: {error.msg}") from error
    except RecursionError as error:
        raise _DamagedError("it is nested too deeply") from error
    if not isinstance(data, dict):
        raise _DamagedError("it is no JSON object")
    level: list[object] = [data]
    for _ in range(MAX_DEPTH):
        level = [inner for outer in level for inner in _checked_inside(outer)]
        if not level:
            return data
    raise _DamagedError("it is nested too deeply")


def _checked_inside(value: object) -> list[object]:
    """Check one value by itself and return the values inside it."""
    if isinstance(value, dict):
        return [*value.keys(), *value.values()]
    if isinstance(value, list):
        return value
    if isinstance(value, float) and not math.isfinite(value):
        raise _DamagedError("a number is too large")
    if isinstance(value, int) and abs(value) > 2**53:
        raise _DamagedError("a number is too large")
    if isinstance(value, str) and re.search("[\ud800-\udfff]", value):
        raise _DamagedError("a text holds half a character")
    return []


def _no_constant(word: str) -> None:
    raise _DamagedError(f"it holds {word}, which is no number")


def _no_doubles(pairs: list[tuple[str, object]]) -> JsonObject:
    entries = dict(pairs)
    if len(entries) < len(pairs):
        raise _DamagedError("an entry stands there twice")
    return entries


def _upgraded(data: JsonObject, name: str) -> JsonObject:
    """Bring an older format to the newest, step by step."""
    if data.get("format") != FORMAT:
        raise _DamagedError(f"its format is not {FORMAT}")
    version = _integer(data.get("format_version"), "format_version", least=1)
    if version > format_version():
        raise ChartTooNewError(
            f"{name} was written by a newer version (chart format {version}; this one reads up "
            f"to {format_version()}).",
            what_to_do="Update the program, or use a chart made by this version.",
        )
    for upgrade in UPGRADES[version - 1 :]:
        data = upgrade(data)
    return data


def _chart(data: JsonObject) -> Chart:
    missing = sorted(_KNOWN - data.keys())
    if missing:
        raise _DamagedError(f"the entry {missing[0]} is missing")
    return Chart(
        id=_text(data["id"], "id"),
        name=_text(data["name"], "name"),
        analyte=_analyte(data),
        **{key: _text_or_none(data[key], key) for key in _FACTS},
        kind=cast(ChartKind, _text(data["kind"], "kind")),
        swatches=tuple(
            _swatch(entry, f"swatches[{i}]")
            for i, entry in enumerate(_list(data["swatches"], "swatches"))
        ),
        measurements=tuple(
            _standard(entry, f"measurements[{i}]")
            for i, entry in enumerate(_list(data["measurements"], "measurements"))
        ),
        white=_white(data["white"], "white"),
        card_reflectance=_triple(data["card_reflectance"], "card_reflectance"),
        cameras=tuple(_text(item, "cameras") for item in _list(data["cameras"], "cameras")),
        created_at=_time(data["created_at"], "created_at"),
        check_again_on=_day(data["check_again_on"]),
        software_version=_text(data["software_version"], "software_version"),
        extra=tuple(
            (key, json.dumps(data[key], ensure_ascii=False))
            for key in sorted(data.keys() - _KNOWN - _OPTIONAL)
        ),
        supersedes=_text_or_none(data.get("supersedes"), "supersedes"),
    )


def _analyte(data: JsonObject) -> Analyte:
    said = {key: _text_or_none(data[key], key) for key in _ANALYTE}
    return Analyte(
        quantity=said["quantity"],
        form=cast(Form | None, said["form"]),
        basis=cast(Basis | None, said["basis"]),
        ratio=said["ratio"],
        unit=said["unit"],
    )


def _swatch(value: object, where: str) -> Swatch:
    entry = _entry(
        value, where, ("value", "label", "lab", "covariance", "n", "standard_uncertainty")
    )
    return Swatch(
        value=_number_or_none(entry["value"], f"{where}.value"),
        label=_text_or_none(entry["label"], f"{where}.label"),
        lab=Lab(*_triple(entry["lab"], f"{where}.lab")),
        covariance=_covariance(entry["covariance"], f"{where}.covariance"),
        n=_integer(entry["n"], f"{where}.n", least=1),
        standard_uncertainty=_number_or_none(
            entry["standard_uncertainty"], f"{where}.standard_uncertainty"
        ),
    )


def _standard(value: object, where: str) -> StandardMeasurement:
    entry = _entry(
        value, where, ("value", "uncertainty", "label", "role", "photo", "tube", "measurement")
    )
    return StandardMeasurement(
        value=_number_or_none(entry["value"], f"{where}.value"),
        uncertainty=_number_or_none(entry["uncertainty"], f"{where}.uncertainty"),
        label=_text_or_none(entry["label"], f"{where}.label"),
        role=cast(Role, _text(entry["role"], f"{where}.role")),
        photo=_text(entry["photo"], f"{where}.photo"),
        tube=_integer(entry["tube"], f"{where}.tube", least=1),
        measurement=_measurement(entry["measurement"], f"{where}.measurement"),
    )


def _measurement(value: object, where: str) -> Measurement:
    entry = _entry(value, where, tuple(Measurement.__dataclass_fields__))
    sha256, outline = _text(entry["sha256"], where), _text(entry["outline"], where)
    if re.fullmatch(r"[0-9a-f]{64}", sha256) is None:
        raise _DamagedError(f"{where}.sha256 is no fingerprint")
    if outline not in ("found", "by_hand"):
        raise _DamagedError(f"{where}.outline is not known")
    background, card, box = entry["background_rgb"], entry["card_rgb"], entry["card_box"]
    taken_at = entry["taken_at"]
    return Measurement(
        lab=Lab(*_triple(entry["lab"], f"{where}.lab")),
        covariance=_covariance(entry["covariance"], f"{where}.covariance"),
        n_pixels=_integer(entry["n_pixels"], f"{where}.n_pixels", least=1),
        white=_white(entry["white"], f"{where}.white"),
        rgb=_triple(entry["rgb"], f"{where}.rgb"),
        background_rgb=None
        if background is None
        else _triple(background, f"{where}.background_rgb"),
        card_rgb=None if card is None else _triple(card, f"{where}.card_rgb"),
        clipped_share=_number(entry["clipped_share"], f"{where}.clipped_share"),
        outline=cast(OutlineKind, outline),
        box=_box(entry["box"], f"{where}.box"),
        card_box=None if box is None else _box(box, f"{where}.card_box"),
        sha256=sha256,
        camera=_text_or_none(entry["camera"], f"{where}.camera"),
        taken_at=None if taken_at is None else _time(taken_at, f"{where}.taken_at"),
        reasons=tuple(_reason(item, f"{where}.reasons") for item in _list(entry["reasons"], where)),
    )


def _reason(value: object, where: str) -> Reason:
    entry = _entry(value, where, ("code", "text", "what_to_do", "weight"))
    return Reason(
        code=_text(entry["code"], where),
        text=_text(entry["text"], where),
        what_to_do=_text(entry["what_to_do"], where),
        weight=cast(Weight, _text(entry["weight"], where)),
    )


def _entry(value: object, where: str, keys: Sequence[str]) -> Mapping[str, object]:
    """Return an object that has exactly these entries, so that nothing is lost on the way."""
    if not isinstance(value, dict):
        raise _DamagedError(f"{where} is no object")
    odd = sorted(value.keys() ^ set(keys))
    if odd:
        what = "is not known" if odd[0] in value else "is missing"
        raise _DamagedError(f"the entry {where}.{odd[0]} {what}")
    return value


def _list(value: object, where: str) -> list[object]:
    if not isinstance(value, list):
        raise _DamagedError(f"{where} is no list")
    return value


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise _DamagedError(f"{where} is no text")
    return value


def _text_or_none(value: object, where: str) -> str | None:
    return None if value is None else _text(value, where)


def _number(value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _DamagedError(f"{where} is no number")
    return float(value)


def _number_or_none(value: object, where: str) -> float | None:
    return None if value is None else _number(value, where)


def _integer(value: object, where: str, *, least: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        raise _DamagedError(f"{where} is no whole number from {least}")
    return value


def _numbers(value: object, where: str, count: int) -> tuple[float, ...]:
    items = _list(value, where)
    if len(items) != count:
        raise _DamagedError(f"{where} does not have {count} numbers")
    return tuple(_number(item, where) for item in items)


def _triple(value: object, where: str) -> Triple:
    one, two, three = _numbers(value, where, 3)
    return one, two, three


def _covariance(value: object, where: str) -> Covariance:
    rows = _list(value, where)
    if len(rows) != 3:
        raise _DamagedError(f"{where} does not have 3 rows")
    return _triple(rows[0], where), _triple(rows[1], where), _triple(rows[2], where)


def _box(value: object, where: str) -> Box:
    return Box(*_numbers(value, where, 4))


def _white(value: object, where: str) -> str:
    white = _text(value, where)
    if white not in WHITES:
        raise _DamagedError(f"{where} is none of {', '.join(WHITES)}")
    return white


def _time(value: object, where: str) -> datetime:
    try:
        return datetime.fromisoformat(_text(value, where))
    except ValueError as error:
        raise _DamagedError(f"{where} is no date and time") from error


def _day(value: object) -> date | None:
    try:
        return None if value is None else date.fromisoformat(_text(value, "check_again_on"))
    except ValueError as error:
        raise _DamagedError("check_again_on is no date") from error
