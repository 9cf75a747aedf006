"""Whether a window can come up at all: Qt ends the program where it cannot, without a word of use.

Imports no Qt.
"""

import ctypes
import sys
from collections.abc import Callable, Mapping

from app.errors import OrderError

LIBRARIES = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
}
"""What Qt's way to an X11 screen loads, and the Debian package of each."""


def check_screen(
    environment: Mapping[str, str],
    *,
    platform: str = sys.platform,
    load: Callable[[str], object] = ctypes.CDLL,
) -> None:
    """Refuse to open a window where Qt would break off.

    Raises
    ------
    OrderError
        If there is no screen, or a library of the system that draws on it is missing.
    """
    if platform != "linux" or environment.get("QT_QPA_PLATFORM"):
        return
    if environment.get("WAYLAND_DISPLAY"):
        return
    if not environment.get("DISPLAY"):
        raise OrderError(
            "There is no screen here, so no window can be opened.",
            what_to_do="Use the commands (tintwell --help), or start it on a desktop.",
        )
    missing = []
    for library, package in LIBRARIES.items():
        try:
            load(library)
        except OSError:
            missing.append(package)
    if missing:
        raise OrderError(
            "Parts of the system that draw the window are missing.",
            what_to_do=f"On Debian or Ubuntu: apt install {' '.join(missing)}",
        )
