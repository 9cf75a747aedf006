"""Give sites without a position the place where the kept photos of their samples were taken."""

from app.records.record_book import RecordBook
from app.survey.photo_matching import PhotoMatch, sites_by_photos
from app.survey.site import Site
from app.tasks.step import Step, Task
from colorcore.errors import PhotoError
from colorcore.photo import read_photo


def place_by_photos(book: RecordBook) -> Task[tuple[Site, ...]]:
    """Return the sites that get a position so, a photo a step; nothing is written.

    Only for photos taken in the field, and only where the user asks for it. A photo that cannot be
    read, or does not say where it was taken, tells nothing.
    """
    survey = book.survey()
    lost = {site.name for site in survey.sites if site.latitude_deg is None}
    labels = {sample.label for sample in survey.samples if sample.site in lost}
    shown = {
        (kept.line.sha256, kept.line.entry.sample)
        for kept in book.each_reading()
        if kept.line.entry.sample in labels
    }
    matches = [PhotoMatch(photo=sha256, sample=sample) for sha256, sample in shown if sha256]
    positions: dict[str, tuple[float, float]] = {}
    photos = sorted({match.photo for match in matches})
    for done, sha256 in enumerate(photos, start=1):
        path = book.photo_path(sha256)
        try:
            place = None if path is None else read_photo(path).position
        except PhotoError:
            place = None
        if place is not None:
            positions[sha256] = place.latitude_deg, place.longitude_deg
        yield Step(done=done, total=len(photos), note="where photos were taken")
    return sites_by_photos(survey.sites, survey.samples, matches, positions)
