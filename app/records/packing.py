"""Parts of a reading as JSON text and back, without loss."""

import json
import math
from datetime import datetime
from typing import Any

from app.tube_reading import KnownTube
from calibration.indicator import Analyte
from calibration.reading import Alternative
from colorcore.color_spaces import Lab
from colorcore.geometry import Box, Quad
from colorcore.hand_outlines import HandOutlines, HandTube
from colorcore.measurement import Measurement
from colorcore.reasons import Reason


def pack(value: object) -> str:
    """Write a part as JSON: value objects become objects, tuples become lists.

    Raises
    ------
    ValueError
        If it holds an infinite number or half a character.
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, default=_plain)
    text.encode("utf-8")
    return text


def _plain(value: Any) -> object:
    if isinstance(value, datetime):
        return value.isoformat()
    if hasattr(value, "__dataclass_fields__"):
        return {name: getattr(value, name) for name in value.__dataclass_fields__}
    return value.item()  # a number of NumPy's


def pack_or_none(value: object) -> str | None:
    """Write a part as JSON; nothing stays nothing."""
    return None if value is None else pack(value)


def _tuples(value: Any) -> Any:
    return tuple(_tuples(item) for item in value) if isinstance(value, list) else value


def unpack_measurement(text: str | None) -> Measurement | None:
    """Read a measurement."""
    if text is None:
        return None
    data: dict[str, Any] = json.loads(text)
    values = {key: _tuples(value) for key, value in data.items()}
    values["lab"] = Lab(*_finite(data["lab"]))
    values["box"] = Box(*_finite(data["box"]))
    values["card_box"] = None if data["card_box"] is None else Box(*_finite(data["card_box"]))
    for name in ("rgb", "background_rgb", "card_rgb"):
        given = data.get(name)
        values[name] = None if given is None else tuple(_finite(given))
    taken_at = data["taken_at"]
    values["taken_at"] = None if taken_at is None else datetime.fromisoformat(taken_at)
    values["reasons"] = tuple(Reason(**item) for item in data["reasons"])
    return Measurement(**values)


def unpack_box(text: str | None) -> Box | None:
    """Read a box."""
    return None if text is None else Box(*_finite(json.loads(text)))


def _finite(numbers: Any) -> list[float]:
    """Read numbers that somebody may have written there by hand."""
    found = [float(number) for number in numbers]
    if not all(math.isfinite(number) for number in found):
        raise ValueError(f"numbers must be finite, got {found}")
    return found


def unpack_hand(text: str | None) -> HandOutlines | None:
    """Read what was drawn over a photo."""
    if text is None:
        return None
    data: dict[str, Any] = json.loads(text)
    tubes = data["tubes"]
    return HandOutlines(
        card=_quad(data["card"]),
        tubes=None
        if tubes is None
        else tuple(HandTube(found=item["found"], region=_quad(item["region"])) for item in tubes),
    )


def _quad(corners: Any) -> Quad | None:
    if corners is None:
        return None
    a, b, c, d = ((float(x), float(y)) for x, y in corners)
    return a, b, c, d


def unpack_reasons(text: str) -> tuple[Reason, ...]:
    """Read reasons."""
    return tuple(Reason(**item) for item in json.loads(text))


def unpack_alternatives(text: str) -> tuple[Alternative, ...]:
    """Read alternatives."""
    return tuple(Alternative(**item) for item in json.loads(text))


def unpack_known(text: str) -> tuple[KnownTube, ...]:
    """Read tubes of known value; what an older book did not say of them stays unknown."""
    return tuple(
        KnownTube(**{**item, "analyte": Analyte(**item.get("analyte", {}))})
        for item in json.loads(text)
    )


def unpack_numbers(text: str | None) -> Any:
    """Read a tuple of numbers, or nothing."""
    return None if text is None else _tuples(json.loads(text))
