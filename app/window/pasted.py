"""What the clipboard or a drag brings: files, or a picture that has no file yet."""

from pathlib import Path
from tempfile import gettempdir
from uuid import uuid4

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QImage


def pasted_photos(data: QMimeData) -> tuple[Path, ...]:
    """Return the files of a clipboard or drag; a bare picture is saved as PNG first.

    A pasted picture has lost its file's facts (camera, time), so its time is not known.
    """
    if data.hasUrls():
        return tuple(Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile())
    if data.hasImage():
        picture = data.imageData()
        if isinstance(picture, QImage) and not picture.isNull():
            folder = Path(gettempdir()) / "tintwell-pasted"
            folder.mkdir(exist_ok=True)
            path = folder / f"pasted-{uuid4().hex[:8]}.png"
            if picture.save(str(path)):
                return (path,)
    return ()
