"""The one place that imports OpenCV, with its limits set before the import."""

import os

# OpenCV reads this limit once, at import; without it a small file can ask for gigabytes.
os.environ.setdefault("OPENCV_IO_MAX_IMAGE_PIXELS", "120000000")

import cv2

# Our errors say what is wrong; the library's own lines on the terminal say it twice.
cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)

# The wheel points Qt at its own plugin folder; child processes and error texts are cleaner without.
for _name in ("QT_QPA_PLATFORM_PLUGIN_PATH", "QT_QPA_FONTDIR"):
    os.environ.pop(_name, None)

__all__ = ["cv2"]
