"""Finds tubes and vials, and in each the clear liquid with a margin to everything else."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.color_spaces import rgb_to_lab
from colorcore.column import steady_stretch
from colorcore.geometry import Box, Quad, box_of
from colorcore.parts import LIQUID, SOLID, VESSEL, Parts
from colorcore.photo import Photo
from colorcore.places import sample
from colorcore.small_arrays import median
from colorcore.vessel_axis import Axis, vessel_axes, vessel_sureness

FloatArray = NDArray[np.float64]
Contents = Literal["liquid", "solid", "nothing"]

MAX_TUBES = 12
SURE = 0.8  # median probability of a vessel below which there is none
SURE_IF_SMALL = 0.95  # the same for one much smaller than the surest
SMALL = 0.2  # share of the largest vessel's area
STUBBY = 1.3  # widths: what is shorter and holds nothing is a rim or a piece of something else
STATIONS = 96  # places looked at along a vessel
LEAST_LIQUID = 2.5  # cells from top to bottom
HARDLY = 0.5  # mean probability of liquid up to which none is read
INSIDE = 0.94  # of a vessel's width, within its walls
WINDOW_WIDTH = 0.5  # share of the vessel's width that is read, where the tilt allows
WINDOW_WIDEST = 0.72


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """One vessel in a photo.

    Parameters
    ----------
    outline_px : Quad
        Corners of the vessel (upper left, upper right, lower right, lower left).
    liquid_px : Quad or None
        Corners of the column of liquid inside the walls, without margins.
    window : Box or None
        The upright box inside the clear liquid that is read.
    contents : {"liquid", "solid", "nothing"}
        What the vessel mainly holds.
    sureness : float
        Mean probability of what was found in it, 0 to 1.
    """

    outline_px: Quad
    liquid_px: Quad | None
    window: Box | None
    contents: Contents
    sureness: float

    @property
    def box(self) -> Box:
        """The upright box round the vessel."""
        return box_of(self.outline_px)


def profile(parts: Parts, axis: Axis) -> NDArray[np.float32]:
    """Mean probability of each part along a vessel's middle, shape (5, STATIONS)."""
    share = (np.arange(STATIONS) + 0.5) / STATIONS
    x, y = np.moveaxis(axis.grid(share, np.linspace(-0.4, 0.4, 5)) - 0.5, -1, 0)
    return np.stack(
        [
            np.asarray(
                cv2.remap(
                    part,
                    x.astype(np.float32),
                    y.astype(np.float32),
                    cv2.INTER_LINEAR,
                    borderMode=cv2.BORDER_REPLICATE,
                )
            ).mean(axis=1)
            for part in parts.probability
        ]
    )


def longest_run(wanted: NDArray[np.bool_], bridge: int) -> tuple[int, int] | None:
    """First and past-the-last index of the longest run of True; short gaps are bridged.

    Examples
    --------
    >>> import numpy as np
    >>> longest_run(np.array([1, 0, 1, 1, 0, 0, 0, 1], dtype=bool), bridge=1)
    (0, 4)
    """
    places = np.flatnonzero(wanted)
    if not places.size:
        return None
    breaks = np.flatnonzero(np.diff(places) > bridge + 1)
    starts = np.concatenate([[0], breaks + 1])
    ends = np.concatenate([breaks, [places.size - 1]])
    lengths = places[ends] - places[starts]
    best = int(np.argmax(lengths))
    return int(places[starts[best]]), int(places[ends[best]]) + 1


def upright_window(quad: Quad, width_share: float) -> Box | None:
    """Largest useful upright box inside a tilted column.

    The column is taken narrower by `width_share`; within it the box with the most area that is not
    wider than `WINDOW_WIDTH` of the column (`WINDOW_WIDEST` where it leans) is looked for: its
    corners touch the tilted sides. None where the column is too thin.
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = quad
    top, bottom = ((ax + bx) / 2, (ay + by) / 2), ((dx + cx) / 2, (dy + cy) / 2)
    length = float(np.hypot(bottom[0] - top[0], bottom[1] - top[1]))
    full = float(np.hypot(bx - ax, by - ay))
    if length < 2 or full < 2:
        return None
    along = (bottom[0] - top[0]) / length, (bottom[1] - top[1]) / length
    width = full * width_share
    sine, cosine = abs(along[0]), max(abs(along[1]), 1e-6)
    middle = ((top[0] + bottom[0]) / 2, (top[1] + bottom[1]) / 2)
    if sine < cosine:  # standing: w cos + h sin <= width and h cos + w sin <= length
        best = None
        for share in np.linspace(0.35, 1.0, 27):
            wide = min(width / cosine, full * WINDOW_WIDEST) * share
            tall = (length - wide * sine) / cosine
            if sine > 1e-6:
                tall = min(tall, (width - wide * cosine) / sine)
            if wide > full * WINDOW_WIDTH * 1.001 and sine < 0.1:
                continue
            area = wide * tall
            if tall > 0 and (best is None or area > best[0]):
                best = (area, wide, tall)
        if best is None:
            return None
        _, w, h = best
    else:  # lying
        h = min(full * WINDOW_WIDTH, width / (2 * sine))
        w = (length - h * cosine) / sine
        if cosine > 1e-6:
            w = min(w, (width - h * sine) / cosine)
    if w < 2 or h < 2:
        return None
    return Box(middle[0] - w / 2, middle[1] - h / 2, w, h)


def _quad(axis: Axis, top: float, bottom: float, scale: float, width: float = 1.0) -> Quad:
    places = ((top, width), (top, -width), (bottom, -width), (bottom, width))
    a, b, c, d = (axis.along(share, across) for share, across in places)
    corners = sorted((a, b)), sorted((d, c))
    (ul, ur), (ll, lr) = corners if abs(a[1] - b[1]) <= abs(a[0] - b[0]) else ((a, b), (d, c))
    return tuple((x * scale, y * scale) for x, y in (ul, ur, lr, ll))  # type: ignore[return-value]


def colors_along(photo: Photo, axis: Axis, stations: tuple[int, int], scale: float) -> FloatArray:
    """CIELAB before the balance along the middle of a vessel, shape (n, 3).

    The median over the middle third of the width: highlights and graduation lines go.
    """
    share = (np.arange(*stations) + 0.5) / STATIONS
    rgb = sample(photo, axis.grid(share, np.linspace(-0.33, 0.33, 9)) * scale)
    return rgb_to_lab(median(rgb.astype(np.float64), axis=1))


def tube_at(photo: Photo, parts: Parts, axis: Axis) -> Tube:
    """Say what one vessel holds and where its liquid may be read."""
    seen = profile(parts, axis)
    glass = seen[[VESSEL, LIQUID, SOLID]].sum(axis=0)
    wet = longest_run((seen[LIQUID] > 0.5 * glass) & (glass > 0.5), bridge=STATIONS // 24)
    if wet is not None and (wet[1] - wet[0]) / STATIONS * axis.length >= LEAST_LIQUID:
        first, past, lower_margin = _clear_part(photo, axis, wet, parts.scale)
        window = _window(axis, first / STATIONS, past / STATIONS, lower_margin, parts.scale)
        sureness = float(seen[LIQUID, first:past].mean())
        if window is not None and sureness > HARDLY:
            return Tube(
                outline_px=_quad(axis, 0.0, 1.0, parts.scale),
                liquid_px=_quad(
                    axis, wet[0] / STATIONS, wet[1] / STATIONS, parts.scale, width=INSIDE
                ),
                window=window,
                contents="liquid",
                sureness=sureness,
            )
    return Tube(
        outline_px=_quad(axis, 0.0, 1.0, parts.scale),
        liquid_px=None,
        window=None,
        contents="solid" if (seen[SOLID] > 0.5).mean() > 0.1 else "nothing",
        sureness=float(seen[[VESSEL, SOLID]].sum(axis=0).mean()),
    )


def _clear_part(
    photo: Photo, axis: Axis, wet: tuple[int, int], scale: float
) -> tuple[int, int, float]:
    """First and past-the-last station of the clear liquid, and the margin that it wants below.

    The margin, a share of its length, keeps off the sediment's haze or the rounded bottom.
    """
    colors = colors_along(photo, axis, wet, scale)
    first, past = steady_stretch(colors)
    return wet[0] + first, wet[0] + past, 0.09 if past < len(colors) else 0.15


def _window(axis: Axis, top: float, bottom: float, lower: float, scale: float) -> Box | None:
    """Return the box to be read between two shares of a vessel's length."""
    cell = 1.2 / axis.length
    first = top + max(0.10 * (bottom - top), cell)  # the meniscus
    last = bottom - max(lower * (bottom - top), cell)
    if first >= last:
        return None
    return upright_window(_quad(axis, first, last, scale, width=INSIDE), 0.80)


def find_tubes(photo: Photo, parts: Parts) -> tuple[Tube, ...]:
    """Find the vessels of a photo, from the left; at most twelve, the surest.

    One much smaller than the largest must be surer than that.
    """
    sure = {axis: vessel_sureness(parts, axis) for axis in vessel_axes(parts)}
    largest = max((axis.area for axis, share in sure.items() if share >= SURE), default=0.0)
    ranked = sorted(sure.items(), key=lambda item: -item[1])
    found = []
    for axis, share in ranked:
        if share < (SURE_IF_SMALL if axis.area < SMALL * largest else SURE):
            continue
        tube = tube_at(photo, parts, axis)
        if tube.contents != "nothing" or axis.length > STUBBY * axis.width:
            found.append(tube)
    return tuple(sorted(found[:MAX_TUBES], key=lambda tube: tube.box.center[0]))
