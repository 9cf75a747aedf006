"""Text that any table, sheet or map can take, whatever somebody typed."""

import re
from functools import lru_cache

from app.exports.readings import safe_text

LONGEST_CELL = 32_767
"""Characters that a cell of a spreadsheet holds (from memory)."""

_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_LINE_END = re.compile("\r\n?")
_LOOKS_CODED = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
_CUT = " … (cut)"


def printable(text: str) -> str:
    r"""Take out what is no text: control characters but tab and line end, halves of characters.

    Examples
    --------
    >>> printable("a\x00b\x1b[31m\r\nc")
    'ab[31m\nc'
    """
    return _UNPRINTABLE.sub("", _LINE_END.sub("\n", text))


def cell_text(text: str) -> str:
    r"""Make a text safe for a cell: printable, and never taken for a formula.

    Examples
    --------
    >>> cell_text("\x01=1+1")
    "'=1+1"
    """
    return safe_text(printable(text))


@lru_cache(maxsize=512)
def short_text(text: str) -> str:
    """Make a text safe for a cell of a workbook; one that is too long is cut and says so.

    What looks like the workbook's own way of writing a character, _x000D_, is kept from being
    taken for one.

    Examples
    --------
    >>> short_text("_x000D_")
    '_x005F_x000D_'
    """
    safe = _LOOKS_CODED.sub("_x005F_", cell_text(text))
    if len(safe.encode("utf-16-le")) <= 2 * LONGEST_CELL:
        return safe
    cut = safe.encode("utf-16-le")[: 2 * (LONGEST_CELL - len(_CUT))]
    return cut.decode("utf-16-le", "ignore") + _CUT
