"""Writes a chart as one text file and reads it back; the file knows its format version.

The file is JSON, described by `chart.schema.json`.
"""

import json
import os
import threading
from collections.abc import Callable
from pathlib import Path

from calibration.chart import Chart, StandardMeasurement, Swatch
from calibration.chart_entries import (
    ANALYTE_KEYS,
    FACT_KEYS,
    KNOWN_KEYS,
    OPTIONAL_KEYS,
    DamagedError,
    JsonObject,
    chart_of,
    parsed_object,
    whole_number,
)
from calibration.errors import ChartError, ChartFileError, ChartTooNewError

FORMAT = "tintwell-chart"
MAX_BYTES = 20_000_000

UPGRADES: tuple[Callable[[JsonObject], JsonObject], ...] = ()
"""Step i turns format i + 1 into format i + 2. A released step is never edited."""


def format_version() -> int:
    """Return the newest format that is written and read.

    Examples
    --------
    >>> format_version()
    1
    """
    return len(UPGRADES) + 1


def save_chart(chart: Chart, path: Path, *, overwrite: bool = False) -> None:
    """Write a chart, whole or not at all.

    Parameters
    ----------
    chart : Chart
        What to write.
    path : Path
        Where; its folder must exist.
    overwrite : bool
        Whether an older state of the same chart may be replaced. Anything else that is there
        (another chart, another kind of file) never is.

    Raises
    ------
    ChartFileError
        If something stands in the way or the disk refuses.
    """
    _check_free(chart, path, overwrite=overwrite)
    data = chart_text(chart).encode("utf-8")
    if len(data) > MAX_BYTES:
        raise ChartFileError(
            f"The chart takes {len(data) / 1e6:.0f} MB; at most {MAX_BYTES // 1_000_000} are read.",
            what_to_do="Make it of fewer photos.",
        )
    try:
        _write_whole(path, data)
    except OSError as error:
        raise ChartFileError(
            f"{path} cannot be written: {error.strerror}.",
            what_to_do="Check that the folder exists, may be written to and has room.",
        ) from error


def _write_whole(path: Path, data: bytes) -> None:
    """Write beside the file, flush, then put in its place: a crash leaves the old or the new."""
    part = path.with_name(f".chart-{os.getpid()}-{threading.get_ident()}.part")
    try:
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    if os.name == "posix":  # elsewhere a folder cannot be flushed
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _check_free(chart: Chart, path: Path, *, overwrite: bool) -> None:
    """Refuse to write over anything but an older state of the same chart."""
    if not os.path.lexists(path):
        return
    other = f"Choose another name, for example {path.stem}-2{path.suffix}"
    if not overwrite:
        raise ChartFileError(
            f"There is a file {path} already.", what_to_do=f"{other}, or move the old file away."
        )
    try:
        existing = load_chart(path)
    except ChartTooNewError:
        raise
    except ChartFileError as error:
        raise ChartFileError(
            f"{path} is there already and cannot be read as a chart, so it is not replaced.",
            what_to_do=f"{other}, or move that file away.",
        ) from error
    if existing.id != chart.id:
        raise ChartFileError(
            f"{path} holds another chart, '{existing.name}', so it is not replaced.",
            what_to_do=f"{other}, or move that chart away.",
        )


def load_chart(path: Path) -> Chart:
    """Read a chart's file.

    Raises
    ------
    ChartTooNewError
        If a newer version of the program wrote it.
    ChartFileError
        If the file cannot be read, is too large, or is no chart; the entry is named.
    """
    try:
        if not path.is_file():
            raise ChartFileError(
                f"There is no chart file {path}.", what_to_do="Check the name and the folder."
            )
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise ChartFileError(
            f"{path} cannot be read: {error.strerror}.", what_to_do="Check the name and the folder."
        ) from error
    if len(data) > MAX_BYTES:
        raise ChartFileError(
            f"{path.name} is larger than {MAX_BYTES // 1_000_000} MB: it is no chart.",
            what_to_do="Choose the file that `calibrate` wrote.",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ChartFileError(
            f"{path.name} is no chart: it is not UTF-8 text.",
            what_to_do="Choose the file that `calibrate` wrote.",
        ) from error
    return parse_chart(text, path.name)


def chart_text(chart: Chart) -> str:
    """Return a chart as the text of its file.

    Raises
    ------
    ValueError
        If the chart holds something that the file cannot, such as an infinite number.
    """
    extra = {key: json.loads(text) for key, text in chart.extra}
    misplaced = sorted((KNOWN_KEYS | OPTIONAL_KEYS) & extra.keys())
    if misplaced:
        raise ValueError(f"extra entries {misplaced} have a place of their own")
    data: JsonObject = {
        "format": FORMAT,
        "format_version": format_version(),
        "id": chart.id,
        "name": chart.name,
        **{key: getattr(chart.analyte, key) for key in ANALYTE_KEYS},
        **{key: getattr(chart, key) for key in FACT_KEYS},
        "kind": chart.kind,
        "white": chart.white,
        "card_reflectance": chart.card_reflectance,
        "cameras": chart.cameras,
        "created_at": chart.created_at.isoformat(),
        "check_again_on": chart.check_again_on and chart.check_again_on.isoformat(),
        "software_version": chart.software_version,
        "swatches": [_swatch_data(swatch) for swatch in chart.swatches],
        "measurements": [_standard_data(item) for item in chart.measurements],
        **({} if chart.supersedes is None else {"supersedes": chart.supersedes}),
        **extra,
    }
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
    try:
        same = parse_chart(text, "chart") == chart
    except ChartFileError as error:
        raise ValueError(f"the chart cannot be kept in a file: {error.what_happened}") from error
    if not same:
        raise ValueError("the chart would not come back from its file as it is")
    return text


def _swatch_data(swatch: Swatch) -> JsonObject:
    return {
        "value": swatch.value,
        "label": swatch.label,
        "lab": swatch.lab,
        "covariance": swatch.covariance,
        "n": swatch.n,
        "standard_uncertainty": swatch.standard_uncertainty,
    }


def _standard_data(item: StandardMeasurement) -> JsonObject:
    seen = item.measurement
    return {
        "value": item.value,
        "uncertainty": item.uncertainty,
        "label": item.label,
        "role": item.role,
        "photo": item.photo,
        "tube": item.tube,
        "measurement": {
            "lab": seen.lab,
            "covariance": seen.covariance,
            "n_pixels": seen.n_pixels,
            "white": seen.white,
            "rgb": seen.rgb,
            "background_rgb": seen.background_rgb,
            "card_rgb": seen.card_rgb,
            "clipped_share": seen.clipped_share,
            "outline": seen.outline,
            "box": seen.box,
            "card_box": seen.card_box,
            "sha256": seen.sha256,
            "camera": seen.camera,
            "taken_at": seen.taken_at and seen.taken_at.isoformat(),
            "reasons": [
                {
                    "code": reason.code,
                    "text": reason.text,
                    "what_to_do": reason.what_to_do,
                    "weight": reason.weight,
                }
                for reason in seen.reasons
            ],
        },
    }


def parse_chart(text: str, name: str) -> Chart:
    """Make a chart of the text of its file.

    Parameters
    ----------
    text : str
        JSON.
    name : str
        The file's name, for messages.

    Raises
    ------
    ChartTooNewError
        If a newer version of the program wrote it.
    ChartFileError
        If it is no chart, or damaged; the entry is named.
    """
    try:
        return chart_of(_upgraded(parsed_object(text), name))
    except (DamagedError, ChartError, ValueError) as error:
        detail = error.what_happened if isinstance(error, ChartError) else str(error)
        raise ChartFileError(
            f"{name} is no chart, or is damaged: {detail.rstrip('.')}.",
            what_to_do="Choose the file that `calibrate` wrote, or make the chart again.",
        ) from error


def _upgraded(data: JsonObject, name: str) -> JsonObject:
    """Bring an older format to the newest, step by step."""
    if data.get("format") != FORMAT:
        raise DamagedError(f"its format is not {FORMAT}")
    version = whole_number(data.get("format_version"), "format_version", least=1)
    if version > format_version():
        raise ChartTooNewError(
            f"{name} was written by a newer version (chart format {version}; this one reads up "
            f"to {format_version()}).",
            what_to_do="Update the program, or use a chart made by this version.",
        )
    for upgrade in UPGRADES[version - 1 :]:
        data = upgrade(data)
    return data
