"""The bench clocks' sound: a short chord that needs no sound library.

The desktop's own beep is silent on many systems, so a sound file is handed to a program that every
desktop brings along; where there is none, the beep must do.
"""

import shutil
import sys
import wave
from pathlib import Path

from PySide6.QtCore import QProcess, QStandardPaths
from PySide6.QtWidgets import QApplication

PLAYERS = ("pw-play", "paplay", "aplay", "afplay")
"""Of PipeWire, PulseAudio, ALSA and macOS."""

RATE_HZ = 22050
SECONDS = 0.9
NOTES_HZ = (880.0, 1108.7, 1318.5)
"""A major chord on A5: high enough to be heard over a shaker, and no alarm."""


def ring() -> None:
    """Play the sound once, without waiting for its end."""
    place = QStandardPaths.StandardLocation.AppLocalDataLocation
    try:
        path = sound_file(Path(QStandardPaths.writableLocation(place)))
    except OSError:
        QApplication.beep()
        return
    if sys.platform == "win32":
        import winsound

        winsound.PlaySound(str(path), winsound.SND_FILENAME | winsound.SND_ASYNC)
        return
    player = next((found for name in PLAYERS if (found := shutil.which(name))), None)
    if player is None or not QProcess.startDetached(player, [str(path)])[0]:
        QApplication.beep()


def sound_file(folder: Path) -> Path:
    """Write the sound where it is not yet; returns its file."""
    path = folder / "clock.wav"
    if path.is_file():
        return path
    import numpy as np

    time_s = np.arange(int(SECONDS * RATE_HZ)) / RATE_HZ
    chord = sum(np.sin(2 * np.pi * note * time_s) for note in NOTES_HZ) / len(NOTES_HZ)
    swell = np.minimum(time_s / 0.01, 1) * np.exp(-4 * time_s)
    folder.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    with part.open("wb") as file, wave.open(file) as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(RATE_HZ)
        sound.writeframes((24000 * swell * chord).astype("<i2").tobytes())
    part.replace(path)
    return path
