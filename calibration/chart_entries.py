"""Reads the entries of a chart's file as something that a stranger may have written.

Every entry is checked before a `Chart` is made of it.
"""

import json
import math
import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, cast

from calibration.chart import Chart, ChartKind, Role, StandardMeasurement, Swatch
from calibration.indicator import Analyte, Basis, Form
from colorcore.color_spaces import WHITES, Lab
from colorcore.geometry import Box
from colorcore.measurement import Covariance, Measurement, OutlineKind, Triple
from colorcore.reasons import Reason, Weight

MAX_DEPTH = 40

JsonObject = dict[str, Any]

ANALYTE_KEYS = ("quantity", "form", "basis", "ratio", "unit")
FACT_KEYS = ("extractant", "indicator", "batch", "method", "light_notes")
KNOWN_KEYS = {
    *("format", "format_version", "id", "name", "kind", "white", "card_reflectance", "cameras"),
    *("created_at", "check_again_on", "software_version", "swatches", "measurements"),
    *ANALYTE_KEYS,
    *FACT_KEYS,
}
OPTIONAL_KEYS = {"supersedes"}  # written only where it is said


class DamagedError(Exception):
    """An entry of the file that cannot be right; says where and why."""


def parsed_object(text: str) -> JsonObject:
    """Parse JSON that may be hostile: no NaN, no doubled entries, no bottomless nesting."""
    try:
        data = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_doubles)
    except json.JSONDecodeError as error:
        raise DamagedError(f"line {error.lineno}: {error.msg}") from error
    except RecursionError as error:
        raise DamagedError("it is nested too deeply") from error
    if not isinstance(data, dict):
        raise DamagedError("it is no JSON object")
    level: list[object] = [data]
    for _ in range(MAX_DEPTH):
        level = [inner for outer in level for inner in _checked_inside(outer)]
        if not level:
            return data
    raise DamagedError("it is nested too deeply")


def _checked_inside(value: object) -> list[object]:
    """Check one value by itself and return the values inside it."""
    if isinstance(value, dict):
        return [*value.keys(), *value.values()]
    if isinstance(value, list):
        return value
    if isinstance(value, float) and not math.isfinite(value):
        raise DamagedError("a number is too large")
    if isinstance(value, int) and abs(value) > 2**53:
        raise DamagedError("a number is too large")
    if isinstance(value, str) and re.search("[\ud800-\udfff]", value):
        raise DamagedError("a text holds half a character")
    return []


def _no_constant(word: str) -> None:
    raise DamagedError(f"it holds {word}, which is no number")


def _no_doubles(pairs: list[tuple[str, object]]) -> JsonObject:
    entries = dict(pairs)
    if len(entries) < len(pairs):
        raise DamagedError("an entry stands there twice")
    return entries


def chart_of(data: JsonObject) -> Chart:
    """Make a chart of what its file holds.

    Raises
    ------
    DamagedError
        If an entry is missing or cannot be right.
    """
    missing = sorted(KNOWN_KEYS - data.keys())
    if missing:
        raise DamagedError(f"the entry {missing[0]} is missing")
    return Chart(
        id=_text(data["id"], "id"),
        name=_text(data["name"], "name"),
        analyte=_analyte(data),
        **{key: _text_or_none(data[key], key) for key in FACT_KEYS},
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
            for key in sorted(data.keys() - KNOWN_KEYS - OPTIONAL_KEYS)
        ),
        supersedes=_text_or_none(data.get("supersedes"), "supersedes"),
    )


def _analyte(data: JsonObject) -> Analyte:
    said = {key: _text_or_none(data[key], key) for key in ANALYTE_KEYS}
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
        n=whole_number(entry["n"], f"{where}.n", least=1),
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
        tube=whole_number(entry["tube"], f"{where}.tube", least=1),
        measurement=_measurement(entry["measurement"], f"{where}.measurement"),
    )


def _measurement(value: object, where: str) -> Measurement:
    entry = _entry(value, where, tuple(Measurement.__dataclass_fields__))
    sha256, outline = _text(entry["sha256"], where), _text(entry["outline"], where)
    if re.fullmatch(r"[0-9a-f]{64}", sha256) is None:
        raise DamagedError(f"{where}.sha256 is no fingerprint")
    if outline not in ("found", "by_hand"):
        raise DamagedError(f"{where}.outline is not known")
    background, card, box = entry["background_rgb"], entry["card_rgb"], entry["card_box"]
    taken_at = entry["taken_at"]
    return Measurement(
        lab=Lab(*_triple(entry["lab"], f"{where}.lab")),
        covariance=_covariance(entry["covariance"], f"{where}.covariance"),
        n_pixels=whole_number(entry["n_pixels"], f"{where}.n_pixels", least=1),
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
        raise DamagedError(f"{where} is no object")
    odd = sorted(value.keys() ^ set(keys))
    if odd:
        what = "is not known" if odd[0] in value else "is missing"
        raise DamagedError(f"the entry {where}.{odd[0]} {what}")
    return value


def _list(value: object, where: str) -> list[object]:
    if not isinstance(value, list):
        raise DamagedError(f"{where} is no list")
    return value


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise DamagedError(f"{where} is no text")
    return value


def _text_or_none(value: object, where: str) -> str | None:
    return None if value is None else _text(value, where)


def _number(value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise DamagedError(f"{where} is no number")
    return float(value)


def _number_or_none(value: object, where: str) -> float | None:
    return None if value is None else _number(value, where)


def whole_number(value: object, where: str, *, least: int) -> int:
    """Return a whole number that is large enough."""
    if isinstance(value, bool) or not isinstance(value, int) or value < least:
        raise DamagedError(f"{where} is no whole number from {least}")
    return value


def _numbers(value: object, where: str, count: int) -> tuple[float, ...]:
    items = _list(value, where)
    if len(items) != count:
        raise DamagedError(f"{where} does not have {count} numbers")
    return tuple(_number(item, where) for item in items)


def _triple(value: object, where: str) -> Triple:
    one, two, three = _numbers(value, where, 3)
    return one, two, three


def _covariance(value: object, where: str) -> Covariance:
    rows = _list(value, where)
    if len(rows) != 3:
        raise DamagedError(f"{where} does not have 3 rows")
    return _triple(rows[0], where), _triple(rows[1], where), _triple(rows[2], where)


def _box(value: object, where: str) -> Box:
    return Box(*_numbers(value, where, 4))


def _white(value: object, where: str) -> str:
    white = _text(value, where)
    if white not in WHITES:
        raise DamagedError(f"{where} is none of {', '.join(WHITES)}")
    return white


def _time(value: object, where: str) -> datetime:
    try:
        return datetime.fromisoformat(_text(value, where))
    except ValueError as error:
        raise DamagedError(f"{where} is no date and time") from error


def _day(value: object) -> date | None:
    try:
        return None if value is None else date.fromisoformat(_text(value, "check_again_on"))
    except ValueError as error:
        raise DamagedError("check_again_on is no date") from error
