"""Where no window can come up it is said in words, before Qt breaks off."""

import pytest

from app.errors import OrderError
from app.window.screen_check import check_screen


def broken(library: str) -> object:
    """Stand for a system that lacks one library."""
    if "cursor" in library:
        raise OSError(library)
    return library


def test_no_screen_is_said() -> None:
    """Without a screen the commands are pointed out."""
    with pytest.raises(OrderError, match="no screen"):
        check_screen({}, platform="linux")


def test_a_missing_library_is_named_with_its_package() -> None:
    """The command that installs it is said."""
    with pytest.raises(OrderError, match="apt install libxcb-cursor0"):
        check_screen({"DISPLAY": ":0"}, platform="linux", load=broken)


@pytest.mark.parametrize(
    ("environment", "platform"),
    [
        ({"QT_QPA_PLATFORM": "offscreen"}, "linux"),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux"),
        ({}, "win32"),
        ({}, "darwin"),
    ],
)
def test_all_else_is_left_to_qt(environment: dict[str, str], platform: str) -> None:
    """Where Qt is told what to draw on, or the system has its own way, nothing is checked."""
    check_screen(environment, platform=platform, load=broken)
