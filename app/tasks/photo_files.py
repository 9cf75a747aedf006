"""Which files are photos, and the photos of a folder."""

from collections.abc import Sequence
from pathlib import Path

from app.errors import OrderError

PHOTO_ENDINGS = frozenset(
    (
        *(".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif"),
        *(".dng", ".cr2", ".cr3", ".nef", ".arw", ".raf", ".orf", ".rw2"),
    )
)


def expand(named: Sequence[str]) -> tuple[str, ...]:
    """Replace folders by the photos in them, in the order of their names.

    Raises
    ------
    OrderError
        If a folder holds no photo.
    """
    found: list[str] = []
    for name in named:
        folder = Path(name)
        if not folder.is_dir():
            found.append(name)
            continue
        inside = sorted(p for p in folder.iterdir() if p.suffix.lower() in PHOTO_ENDINGS)
        if not inside:
            raise OrderError(
                f"The folder {name} holds no photo.", what_to_do="Name another folder."
            )
        found.extend(str(p) for p in inside)
    return tuple(found)
