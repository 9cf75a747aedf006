"""What the bundled program runs."""

import os
import sys

from app.__main__ import main

for name in ("stdout", "stderr"):  # a program without a terminal has none on Windows
    if getattr(sys, name) is None:
        setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: PTH123, SIM115

sys.exit(main())
