"""A frozen picture of what lies open: photos, charts, survey, and what is chosen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.tube_reading import TubeEntry
from colorcore.hand_outlines import HandOutlines
from colorcore.reasons import worst

if TYPE_CHECKING:  # the first window comes up without numpy
    from collections.abc import Callable, Iterable, Sequence
    from datetime import timedelta
    from pathlib import Path

    from app.bench_clock import BenchClock
    from app.survey.survey import Survey
    from app.tube_reading import KnownTube, PhotoLook, TubeReading
    from calibration.chart import Chart
    from colorcore.measurement import Triple

AS_FOUND = HandOutlines()

Standing = str
"""Where a photo stands: waiting, found (no chart is in use), accepted, doubtful or refused."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoEdits:
    """What the user said of a photo; changed, undone and redone as a whole.

    Parameters
    ----------
    entries : tuple of (int, TubeEntry)
        Sample, replicate and chart of tubes, by their place from the left.
    known : tuple of KnownTube
        Tubes of known value.
    hand : HandOutlines
        Outlines drawn by hand.
    """

    entries: tuple[tuple[int, TubeEntry], ...] = ()
    known: tuple[KnownTube, ...] = ()
    hand: HandOutlines = AS_FOUND

    def entry(self, tube: int) -> TubeEntry:
        """Return what was said of one tube."""
        return dict(self.entries).get(tube, TubeEntry())

    def with_entry(self, tube: int, entry: TubeEntry) -> PhotoEdits:
        """Return the same with another word on one tube."""
        others = {place: said for place, said in self.entries if place != tube}
        if entry != TubeEntry():
            others[tube] = entry
        return replace(self, entries=tuple(sorted(others.items())))


NOTHING_SAID = PhotoEdits()


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskPhoto:
    """A photo that lies open.

    Parameters
    ----------
    path : Path
        Its file.
    edits : PhotoEdits
        What the user said of it.
    look : PhotoLook or None
        What was seen and read; None until it has been looked at.
    kept : tuple of (int, int)
        Tubes whose reading was kept, each with the reading's number in the survey.
    """

    path: Path
    edits: PhotoEdits = NOTHING_SAID
    look: PhotoLook | None = None
    kept: tuple[tuple[int, int], ...] = ()

    @property
    def standing(self) -> Standing:
        """Where the photo stands: by its worst tube."""
        if self.look is None:
            return "waiting"
        statuses = [line.reading.status for line in self.look.lines]
        if not statuses:
            heaviest = worst(self.look.reasons)
            return "refused" if heaviest == "refused" or not self.look.tubes else "found"
        ranked = ("refused", "doubtful", "accepted")
        return next(status for status in ranked if status in statuses)

    def line(self, tube: int | None) -> TubeReading | None:
        """Return the reading of one tube."""
        lines = () if self.look is None else self.look.lines
        return next((line for line in lines if line.tube == tube), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskChart:
    """A chart that lies open.

    Parameters
    ----------
    chart : Chart
        The chart.
    path : Path or None
        Its file; None for one that only the survey keeps.
    in_use : bool
        Whether photos are read against it.
    """

    chart: Chart
    path: Path | None = None
    in_use: bool = True

    @property
    def name(self) -> str:
        """The name by which a tube may ask for it."""
        return self.chart.name


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenSurvey:
    """The survey that is open.

    Parameters
    ----------
    folder : Path
        Where it lies.
    survey : Survey
        Everything but its readings.
    read_only_because : str or None
        Why nothing can be written; None where it can.
    count : int
        Readings that stand in it.
    """

    folder: Path
    survey: Survey
    read_only_because: str | None
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Everything that is open and chosen.

    Parameters
    ----------
    photos : tuple of DeskPhoto
        In the order in which they came.
    chosen : Path or None
        The photo that is shown large.
    tube : int or None
        The tube whose reading is shown.
    charts : tuple of DeskChart
        Open charts.
    survey : OpenSurvey or None
        The open survey.
    card_reflectance : tuple or None
        Of the card in the photos, where it is not the chart's.
    person : str
        Code of the person at the desk.
    clocks : tuple of BenchClock
        Batches that settle or develop.
    offsets : tuple of (str, timedelta)
        Cameras whose clock is known, each with how far it is ahead.
    """

    photos: tuple[DeskPhoto, ...] = ()
    chosen: Path | None = None
    tube: int | None = None
    charts: tuple[DeskChart, ...] = ()
    survey: OpenSurvey | None = None
    card_reflectance: Triple | None = None
    person: str = "me"
    clocks: tuple[BenchClock, ...] = ()
    offsets: tuple[tuple[str, timedelta], ...] = ()

    @property
    def chosen_photo(self) -> DeskPhoto | None:
        """The photo that is shown large."""
        return None if self.chosen is None else self.photo(self.chosen)

    @property
    def chosen_line(self) -> TubeReading | None:
        """The reading that is shown."""
        photo = self.chosen_photo
        return None if photo is None else photo.line(self.tube)

    @property
    def charts_in_use(self) -> tuple[DeskChart, ...]:
        """The charts that photos are read against."""
        return tuple(chart for chart in self.charts if chart.in_use)

    def photo(self, path: Path) -> DeskPhoto | None:
        """Return the photo of a file, None where it does not lie open."""
        return next((photo for photo in self.photos if photo.path == path), None)

    def with_photos(self, paths: Iterable[Path]) -> Desk:
        """Lay photos open behind those that are there; one that is there stays where it is."""
        there = {photo.path for photo in self.photos}
        new = tuple(DeskPhoto(path=path) for path in dict.fromkeys(paths) if path not in there)
        photos = (*self.photos, *new)
        chosen = self.chosen if self.chosen is not None or not photos else photos[0].path
        return replace(self, photos=photos, chosen=chosen)

    def without_photos(self, paths: Iterable[Path]) -> Desk:
        """Take photos off the desk; the next one becomes the chosen one."""
        gone = set(paths)
        photos = tuple(photo for photo in self.photos if photo.path not in gone)
        desk = replace(self, photos=photos)
        if self.chosen not in gone:
            return desk
        place = next(i for i, photo in enumerate(self.photos) if photo.path == self.chosen)
        before = sum(photo.path not in gone for photo in self.photos[:place])
        chosen = photos[min(before, len(photos) - 1)].path if photos else None
        return replace(desk, chosen=chosen, tube=None)

    def with_photo(self, path: Path, change: Callable[[DeskPhoto], DeskPhoto]) -> Desk:
        """Change one photo."""
        photos = tuple(change(photo) if photo.path == path else photo for photo in self.photos)
        return replace(self, photos=photos)

    def with_changed(self, changed: Iterable[DeskPhoto]) -> Desk:
        """Put changed photos in the place of those of the same file."""
        new = {photo.path: photo for photo in changed}
        return replace(self, photos=tuple(new.get(photo.path, photo) for photo in self.photos))

    def with_chart(self, new: DeskChart) -> Desk:
        """Lay a chart open; one with the same id takes the place of the older."""
        others = tuple(chart for chart in self.charts if chart.chart.id != new.chart.id)
        return replace(self, charts=(*others, new))

    def without_chart(self, chart_id: str) -> Desk:
        """Take a chart off the desk."""
        kept = tuple(chart for chart in self.charts if chart.chart.id != chart_id)
        return replace(self, charts=kept)

    def using_charts(self, chart_ids: Sequence[str]) -> Desk:
        """Read against these charts and no others."""
        charts = tuple(replace(c, in_use=c.chart.id in chart_ids) for c in self.charts)
        return replace(self, charts=charts)

    def clock_of(self, sample: str | None) -> BenchClock | None:
        """Return the newest clock of a sample, None where it has none."""
        mine = [clock for clock in self.clocks if sample in clock.samples]
        return mine[-1] if mine else None
