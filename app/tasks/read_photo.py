"""Read the tubes of one photo against one or more charts."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from app.tasks.drawn_outlines import check_drawn
from app.tube_reading import KnownTube, TubeEntry, TubeReading
from calibration.chart import Chart, StandardMeasurement
from calibration.reading import Reading, read_measurement, refused
from colorcore.errors import PhotoError, TintwellError
from colorcore.geometry import Box
from colorcore.hand_outlines import HandOutlines
from colorcore.measurement import Measurement, Triple
from colorcore.photo import Photo, read_photo
from colorcore.reasons import Reason, worst
from colorcore.scene import Scene, SeenTube, look, measure_tube


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOrder:
    """Everything that a photo is read with; one order serves a whole batch.

    Parameters
    ----------
    charts : tuple of (str, Chart)
        The charts, each with the name by which a tubes sheet may call it.
    entries : mapping
        What the user said of (photo file name, tube).
    known : mapping
        Tubes of known value by photo file name.
    reflectance : tuple or None
        Reflectance of the card where it is not the chart's.
    """

    charts: tuple[tuple[str, Chart], ...]
    entries: Mapping[tuple[str, int], TubeEntry]
    known: Mapping[str, tuple[KnownTube, ...]]
    reflectance: Triple | None = None


def read_one(
    photo_path: str, order: ReadOrder, hand: HandOutlines | None = None
) -> tuple[TubeReading, ...]:
    """Read every tube of one photo, from the left; always at least one line.

    Runs in any process or thread; a file that cannot be used gives one refused line.

    Raises
    ------
    OrderError
        If something that was drawn does not lie in the photo.
    """
    try:
        photo = read_photo(Path(photo_path))
    except PhotoError as error:
        return (unreadable(photo_path, order, error),)
    if hand is not None:
        check_drawn(photo, Path(photo_path).name, hand)
    return read_scene(photo, photo_path, look(photo, hand), order)


def unreadable(photo_path: str, order: ReadOrder, error: TintwellError) -> TubeReading:
    """Return the refused line of a file that cannot be used."""
    chart = order.charts[0][1]
    reason = Reason(
        code="unreadable",
        text=error.what_happened,
        what_to_do=error.what_to_do,
        weight="refused",
    )
    return _line(photo_path, None, chart, refused(chart, (reason,)))


def read_scene(
    photo: Photo, photo_path: str, scene: Scene, order: ReadOrder
) -> tuple[TubeReading, ...]:
    """Read the tubes of a photo that was looked at; always at least one line."""
    key = str(Path(photo_path).resolve())
    chart = order.charts[0][1]
    card = None if scene.card is None else scene.card.box
    if not scene.tubes:
        reason = Reason(
            code="no_tube",
            text="No tube was found.",
            what_to_do="Stand the tube upright beside the card, all of it in the picture.",
            weight="refused",
        )
        nothing = refused(chart, (*scene.reasons, reason))
        line = _line(photo_path, None, chart, nothing, card=card, sha256=photo.sha256)
        return (replace(line, hand=scene.hand),)
    lines = []
    for number, seen in enumerate(scene.tubes, start=1):
        entry = order.entries.get((key, number), TubeEntry())
        is_known = any(known.tube == number for known in order.known.get(key, ()))
        if is_known:
            entry = replace(entry, role="in_frame")
        lines.append(_read_tube(photo, photo_path, scene, seen, number, entry, order, key))
    return tuple(lines)


def _line(
    photo: str,
    tube: int | None,
    chart: Chart | None,
    reading: Reading,
    *,
    entry: TubeEntry | None = None,
    measurement: Measurement | None = None,
    box: Box | None = None,
    card: Box | None = None,
    sha256: str | None = None,
    hand: HandOutlines | None = None,
) -> TubeReading:
    return TubeReading(
        photo=photo,
        tube=tube,
        entry=entry or TubeEntry(),
        chart=chart,
        reading=reading,
        measurement=measurement,
        box=box,
        card=card,
        sha256=sha256,
        hand=hand,
    )


def _known_measurements(
    photo: Photo,
    photo_path: str,
    scene: Scene,
    known: tuple[KnownTube, ...],
    chart: Chart,
    reflectance: Triple,
    but: int,
) -> tuple[StandardMeasurement, ...]:
    """Measure a chart's tubes of known value, without the one that is being read."""
    found = []
    for item in known:
        if item.tube == but or item.tube > len(scene.tubes):
            continue
        if not item.analyte.agrees_with(chart.analyte):
            continue  # the known tube of another test beside this one
        measurement = measure_tube(photo, scene, scene.tubes[item.tube - 1], reflectance)
        if measurement is None or worst(measurement.reasons) == "refused":
            continue
        found.append(
            StandardMeasurement(
                value=item.value,
                uncertainty=item.uncertainty,
                label=item.label,
                role="standard",
                photo=Path(photo_path).name,
                tube=item.tube,
                measurement=measurement,
            )
        )
    return tuple(found)


def _read_tube(
    photo: Photo,
    photo_path: str,
    scene: Scene,
    seen: SeenTube,
    number: int,
    entry: TubeEntry,
    order: ReadOrder,
    key: str,
) -> TubeReading:
    """Read one tube on the chart that fits: the one named for it, or the only one that can be."""
    charts = [
        chart for name, chart in order.charts if entry.chart in (None, name, chart.id, chart.name)
    ]
    tries = []
    for chart in charts:
        reflectance = order.reflectance or chart.card_reflectance
        measurement = measure_tube(photo, scene, seen, reflectance)
        if measurement is None:
            reading = refused(chart, (*scene.reasons, *seen.reasons))
        else:
            known = _known_measurements(
                photo, photo_path, scene, order.known.get(key, ()), chart, reflectance, number
            )
            reading = read_measurement(
                chart, measurement, in_frame=known, sample=entry.role == "sample"
            )
        tries.append((chart, measurement, reading))
    standing = [item for item in tries if item[2].status != "refused"]
    chart, measurement, reading = min(
        standing or tries, key=lambda item: item[2].curve_distance or float("inf")
    )
    if len(standing) > 1:
        names = " and ".join(item[0].name for item in standing)
        reason = Reason(
            code="which_chart",
            text=f"The color fits more than one chart: {names}.",
            what_to_do="Say which chart belongs to the tube: in the tubes sheet, or in the window.",
            weight="doubtful",
        )
        reading = replace(reading, status="doubtful", reasons=(*reading.reasons, reason))
    return _line(
        photo_path,
        number,
        chart,
        reading,
        entry=entry,
        measurement=measurement,
        box=seen.tube.window,
        card=None if scene.card is None else scene.card.box,
        sha256=photo.sha256,
        hand=scene.hand,
    )


def failed(photo: str, order: ReadOrder, error: Exception) -> tuple[TubeReading, ...]:
    """Return the refused line of a photo whose reading broke down."""
    chart = order.charts[0][1]
    reason = Reason(
        code="unreadable",
        text=f"Reading this photo failed ({type(error).__name__}: {error}).",
        what_to_do="Try another photo of the tube, and report this one.",
        weight="refused",
    )
    return (_line(photo, None, chart, refused(chart, (reason,))),)
