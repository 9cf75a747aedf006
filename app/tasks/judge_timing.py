"""Holds the photos on the desk against the bench's clocks."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from app.bench_clock import photo_moment, timing_reasons
from app.desk import Desk
from app.tube_reading import PhotoLook, TubeReading
from calibration.reading import status_of

CODES = ("settling_time", "time_not_known", "read_too_early", "read_too_late")


def timed(look: PhotoLook, desk: Desk) -> PhotoLook:
    """Return what was seen in a photo with what the clocks say of each tube."""
    offsets: Mapping[str, timedelta] = dict(desk.offsets)
    moment = photo_moment(look.taken_at, look.camera, offsets)

    def line_of(line: TubeReading) -> TubeReading:
        reading = line.reading
        others = tuple(reason for reason in reading.reasons if reason.code not in CODES)
        said = timing_reasons(desk.clock_of(line.entry.sample), moment)
        if others + said == reading.reasons:
            return line
        reasons = others + said
        changed = replace(reading, reasons=reasons, status=status_of(reasons))
        return replace(line, reading=changed)

    return replace(look, lines=tuple(line_of(line) for line in look.lines))
