"""The entry point: `tintwell` and `python -m app`."""

import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def main() -> int:
    """Answer `--version` before anything heavy is loaded; else the terminal decides."""
    if sys.argv[1:] == ["--version"]:
        from app.version import VERSION

        sys.stdout.write(f"tintwell {VERSION}\n")
        return 0
    # Read by NumPy when it is loaded. Our matrices are small: more threads wait for each other, and
    # the photos of a batch share the cores already.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    if getattr(sys, "frozen", False):  # a bundle starts the processes of a batch as itself
        from multiprocessing import freeze_support

        freeze_support()
    from app.command_line import run

    return run(sys.argv[1:], _open_window)


def _open_window(survey: "Path | None", demo: bool) -> int:
    """Load Qt only where a window is wanted, and can come up."""
    from app.window.screen_check import check_screen

    check_screen(os.environ)
    from app.window.open_window import open_window

    return open_window(survey, demo=demo)


if __name__ == "__main__":
    sys.exit(main())
