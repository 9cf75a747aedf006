"""Names for many tubes at once: a pasted list fills tubes from the left, photo after photo."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.survey.names import tidy_name

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from app.desk import DeskPhoto, PhotoEdits
    from app.tube_reading import TubeEntry

COUNT = re.compile(r"(?:\t|[,;]\s*|\s+[x×*]\s*)(\d{1,2})\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedCount:
    """A sample and in how many tubes it stands.

    Parameters
    ----------
    sample : str
        Its name.
    count : int
        Replicates, >= 1.
    """

    sample: str
    count: int

    def __post_init__(self) -> None:
        if not self.sample or self.count < 1:
            raise ValueError(f"a name and a count of at least 1 are needed, got {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedTube:
    """What one tube is going to be called.

    Parameters
    ----------
    path : Path
        Its photo.
    tube : int
        Its place from the left, from 1.
    sample : str or None
        None where the list is too short.
    replicate : str or None
        Its number among the tubes of the sample, where there are several.
    was : str or None
        The sample that it had been given before.
    """

    path: Path
    tube: int
    sample: str | None
    replicate: str | None
    was: str | None


def read_names(text: str, *, replicates: int = 1) -> tuple[NamedCount, ...]:
    r"""Read a list of names, one a line; "Oak Bed x3" (or a tab, comma and 3) stands in 3 tubes.

    Parameters
    ----------
    text : str
        As it was pasted.
    replicates : int
        Tubes of a name that says no count.

    Examples
    --------
    >>> [(n.sample, n.count) for n in read_names("Oak Bed x3\n\nPlot 7\nFern End\t2")]
    [('Oak Bed', 3), ('Plot 7', 1), ('Fern End', 2)]
    """
    found = []
    for line in text.splitlines():
        name, count = line, replicates
        said = COUNT.search(line)
        if said is not None and int(said[1]) > 0:
            name, count = line[: said.start()], int(said[1])
        if tidy_name(name):
            found.append(NamedCount(sample=tidy_name(name), count=count))
    return tuple(found)


def fill_names(
    names: Sequence[NamedCount],
    photos: Sequence[DeskPhoto],
    *,
    whole_photos: bool = False,
    keep_named: bool = False,
) -> tuple[tuple[NamedTube, ...], int]:
    """Give names to tubes from the left, photo after photo.

    Parameters
    ----------
    names : sequence of NamedCount
        In order.
    photos : sequence of DeskPhoto
        In order; those without tubes, and tubes of known value and blanks, are passed over.
    whole_photos : bool
        Whether all tubes of a photo hold one sample (different tests side by side); a count is
        then a number of photos.
    keep_named : bool
        Whether tubes that have a name keep it and are passed over.

    Returns
    -------
    tuple
        What each tube is going to be called, and how many tubes of the list found no place.
    """
    places = [(name.sample, number, name.count) for name in names for number in range(name.count)]
    queue = iter(places)
    used = 0
    tubes: list[NamedTube] = []
    for photo in photos:
        given: tuple[str, int, int] | None = None
        for number in tubes_of(photo):
            was = said_of(photo, number).sample
            if keep_named and was:
                continue
            if given is None or not whole_photos:
                given = next(queue, None)
                used += given is not None
            replicate = str(given[1] + 1) if given is not None and given[2] > 1 else None
            tubes.append(
                NamedTube(
                    path=photo.path,
                    tube=number,
                    sample=None if given is None else given[0],
                    replicate=replicate,
                    was=was,
                )
            )
    return tuple(tubes), len(places) - used


def tubes_of(photo: DeskPhoto) -> tuple[int, ...]:
    """Return the places of a photo's tubes that hold samples."""
    count = 0 if photo.look is None else len(photo.look.tubes)
    known = {item.tube for item in photo.edits.known}
    roles = {place: entry.role for place, entry in photo.edits.entries}
    return tuple(
        number
        for number in range(1, count + 1)
        if number not in known and roles.get(number, "sample") == "sample"
    )


def said_of(photo: DeskPhoto, tube: int) -> TubeEntry:
    """Return what is said of a tube, by the user or else by a label in the photo."""
    said = dict(photo.edits.entries).get(tube)
    if said is not None:
        return said
    line = photo.line(tube)
    return photo.edits.entry(tube) if line is None else replace(line.entry, role="sample")


def naming(tubes: Sequence[NamedTube], photos: Mapping[Path, DeskPhoto]) -> dict[Path, PhotoEdits]:
    """Return the photos' edits with the names that were given; other words on the tubes stay."""
    edits: dict[Path, PhotoEdits] = {}
    for tube in tubes:
        if tube.sample is None:
            continue
        before = edits.get(tube.path, photos[tube.path].edits)
        entry = replace(
            before.entry(tube.tube), sample=tube.sample, replicate=tube.replicate, role="sample"
        )
        edits[tube.path] = before.with_entry(tube.tube, entry)
    return edits


def same_tests(example: DeskPhoto, photos: Sequence[DeskPhoto]) -> dict[Path, PhotoEdits]:
    """Give tubes of other photos the chart and the role that the same place has in an example.

    Photos with another number of tubes are left alone: a place there may be another test.
    """
    count = 0 if example.look is None else len(example.look.tubes)
    edits = {}
    for photo in photos:
        if photo.path == example.path or photo.look is None or len(photo.look.tubes) != count:
            continue
        new = photo.edits
        for tube in range(1, count + 1):
            said = said_of(example, tube)
            entry = replace(said_of(photo, tube), chart=said.chart, role=said.role)
            new = new.with_entry(tube, entry)
        if new != photo.edits:
            edits[photo.path] = new
    return edits
