"""Loads the small convolutional networks that are shipped as ONNX files."""

import threading
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2

_of_thread = threading.local()


def run(name: str, planes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return what a network makes of its input, shapes as in its file.

    Each thread has a network of its own: one cannot serve two threads at a time.
    """
    loaded = _of_thread.__dict__
    if name not in loaded:
        loaded[name] = _load(name)
    loaded[name].setInput(planes)
    return np.asarray(loaded[name].forward(), dtype=np.float32)


def _load(name: str) -> Any:
    model = resources.files("colorcore").joinpath(name).read_bytes()
    # The older engine runs these networks faster, and takes a new size without a new start.
    engine = cv2.dnn.ENGINE_CLASSIC
    return cv2.dnn.readNetFromONNX(np.frombuffer(model, dtype=np.uint8), engine)
