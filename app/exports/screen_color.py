"""Colors on a screen, for orientation only."""

from functools import lru_cache

import numpy as np

from colorcore.color_spaces import Lab, lab_to_rgb

STEP = 2.5
"""CIELAB steps that colors are rounded to: a spreadsheet takes 64,000 different fills (from memory)
and 100,000 readings may have as many colors."""


def screen_color(lab: Lab) -> str:
    """Return six hexadecimal digits of sRGB for a color, cut to the screen's gamut.

    Examples
    --------
    >>> screen_color(Lab(100, 0, 0)), screen_color(Lab(0, 0, 0))
    ('FFFFFF', '000000')
    """
    rounded = (STEP * round(value / STEP) for value in lab)
    return _digits(*rounded)


@lru_cache(maxsize=65536)
def _digits(lightness: float, a: float, b: float) -> str:
    linear = np.clip(lab_to_rgb((min(lightness, 100.0), a, b)), 0, 1)
    codes = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return "".join(f"{round(255 * float(code)):02X}" for code in codes)


def ink_on(color: str) -> str:
    """Return black or white, whichever is easier to read on a color.

    Examples
    --------
    >>> ink_on("FFFF00"), ink_on("000080")
    ('000000', 'FFFFFF')
    """
    red, green, blue = (int(color[i : i + 2], 16) for i in (0, 2, 4))
    return "000000" if 0.299 * red + 0.587 * green + 0.114 * blue > 128 else "FFFFFF"
