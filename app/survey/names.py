"""How names are written: the same name typed on two machines is the same text."""

import unicodedata
from dataclasses import fields
from typing import Any


def tidy_text(text: str) -> str:
    """Replace halves of characters, which no file can hold, by U+FFFD.

    Examples
    --------
    >>> tidy_text("plot \\udce9") == "plot \\ufffd"
    True
    """
    return text.encode("utf-8", "replace").decode("utf-8") if _is_broken(text) else text


def _is_broken(text: str) -> bool:
    return any("\ud800" <= c <= "\udfff" for c in text)


def tidy_name(text: str) -> str:
    """Return a name in Unicode's composed form (NFC) without blanks at its ends.

    Examples
    --------
    >>> tidy_name("  Cafe\\u0301 field ") == "Caf\\u00e9 field"
    True
    """
    return unicodedata.normalize("NFC", tidy_text(text)).strip()


def check_name(field: str, name: str) -> None:
    """Refuse a name that is empty or not tidy."""
    if not name or name != tidy_name(name):
        raise ValueError(f"{field} must be a name without blanks at its ends, got {name!r}")


def check_texts(value: Any) -> None:
    """Refuse a value object that holds half a character in any of its texts."""
    for field in fields(value):
        text = getattr(value, field.name)
        if isinstance(text, str) and _is_broken(text):
            raise ValueError(f"{field.name} holds half a character")
