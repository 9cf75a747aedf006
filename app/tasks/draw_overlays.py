"""Pictures of what was found, for many photos, a photo a step."""

from collections.abc import Sequence
from pathlib import Path

from app.tasks.overlay import write_overlay
from app.tasks.step import Step, Task
from app.tube_reading import TubeReading


def draw_overlays(
    photos: Sequence[tuple[Path, tuple[TubeReading, ...]]], folder: Path
) -> Task[tuple[Path, ...]]:
    """Write a picture of each photo that can be shown into a folder; returns the files."""
    written = []
    for done, (path, lines) in enumerate(photos):
        yield Step(done=done, total=len(photos), note=path.name)
        file = write_overlay(path, lines, folder)
        if file is not None:
            written.append(file)
    return tuple(written)
