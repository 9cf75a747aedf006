"""Frames of a camera, or of a video file that stands in for one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from colorcore.errors import TintwellError

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

BURNT = 250  # code from which on a channel counts as burnt out


class FrameSource:
    """One open camera or video file; used by one thread at a time.

    Raises
    ------
    TintwellError
        If there is no camera of that number, or no such video.
    """

    def __init__(self, source: int | Path) -> None:
        from colorcore._cv import cv2

        self._capture = cv2.VideoCapture(source if isinstance(source, int) else str(source))
        if not self._capture.isOpened():
            self._capture.release()
            raise TintwellError(
                "No camera was found on this machine."
                if isinstance(source, int)
                else f"The video {source.name} cannot be opened.",
                what_to_do="Connect a camera and try again, or photograph with the phone and watch "
                "its folder.",
            )

    def next_frame(self) -> NDArray[np.uint8] | None:
        """Return the next frame, BGR codes (H, W, 3); None where there are no more."""
        there, frame = self._capture.read()
        return np.asarray(frame, np.uint8) if there else None

    def close(self) -> None:
        """Let go of the camera."""
        self._capture.release()


def burnt_out(frame: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Tell where a frame is over-exposed, shape (H, W): no color is known there.

    Examples
    --------
    >>> burnt_out(np.array([[[10, 20, 251], [10, 20, 30]]], np.uint8)).tolist()
    [[True, False]]
    """
    return np.asarray((frame >= BURNT).any(axis=2))
