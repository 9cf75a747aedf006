"""How names are written: the same name typed on two machines is the same text."""

import re
import unicodedata
from dataclasses import fields
from typing import Any

HALF_CHARACTER = re.compile("[\ud800-\udfff]")


def tidy_text(text: str) -> str:
    r"""Replace halves of characters, which no file can hold, by U+FFFD.

    Examples
    --------
    >>> tidy_text("plot \udce9") == "plot \ufffd"
    True
    """
    return HALF_CHARACTER.sub("\ufffd", text)


def tidy_name(text: str) -> str:
    r"""Return a name in Unicode's composed form (NFC) without blanks at its ends.

    Examples
    --------
    >>> tidy_name("  Cafe\u0301 field ") == "Caf\u00e9 field"
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
        if isinstance(text, str) and HALF_CHARACTER.search(text):
            raise ValueError(f"{field.name} holds half a character")
