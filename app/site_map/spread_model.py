"""How what was spilled thins out on its way: shares of the source's strength at other places."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray, Kind
from app.site_map.flow import Flow

SingleArray = NDArray[np.float32]

COORDINATES = 7
"""Numbers that say how it spreads."""

PLUME_SD, PATH_SD, DISTANCE_SD, WATER_DISTANCE_SD = 0.30, 0.25, 0.30, 0.60
"""How far a site's excess strays from the model, powers of ten (judgement). Where water flows an
unknown way its distance alone says least."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """Drawn ways of spreading, one a draw.

    Parameters
    ----------
    azimuth_deg : array, shape (draws,), or None
        Where the water goes; None where that is unknown and distance alone counts.
    reach_m : array, shape (draws,)
        Distance over which the excess falls to 1/e on its way, metres.
    along_m, across_m, width_m : array, shape (draws,)
        Dispersivity along and across the flow and half-width of the source, metres (plume alone).
    uphill, sideways : array, shape (draws,)
        How much farther a metre against and across the flow counts (path alone).
    is_plume : bool
        Whether it spreads in flowing water.
    """

    azimuth_deg: FloatArray | None
    reach_m: FloatArray
    along_m: FloatArray
    across_m: FloatArray
    width_m: FloatArray
    uphill: FloatArray
    sideways: FloatArray
    is_plume: bool

    @property
    def model_sd(self) -> float:
        """Standard deviation of a site's log10 excess around the model."""
        if self.azimuth_deg is None:
            return WATER_DISTANCE_SD if self.is_plume else DISTANCE_SD
        return PLUME_SD if self.is_plume else PATH_SD

    def log_share(self, sources: FloatArray, places: FloatArray, aside: FloatArray) -> SingleArray:
        """Log10 of the share of the source's excess that is left at each place.

        Parameters
        ----------
        sources, places : array, shape (sources, 2) and (places, 2)
            Metres.
        aside : array, shape (draws, 2)
            How far aside of those places the sources lie in each draw, metres.

        Returns
        -------
        array, shape (draws, sources, places)
            Single precision: there may be millions of them.
        """
        way = (places[None, :, :] - sources[:, None, :]).astype(np.float32)
        way = way[None] - aside.astype(np.float32)[:, None, None, :]
        columns = {name: numbers[:, None, None] for name, numbers in self._numbers().items()}
        return _log_share(way, columns, is_plume=self.is_plume)

    def log_share_each(
        self, draws: NDArray[np.int64], sources: FloatArray, places: FloatArray
    ) -> SingleArray:
        """Return the same where each of some draws has its own source, shape (draws, places)."""
        way = (places[None, :, :] - sources[:, None, :]).astype(np.float32)
        columns = {name: numbers[draws, None] for name, numbers in self._numbers().items()}
        return _log_share(way, columns, is_plume=self.is_plume)

    def _numbers(self) -> dict[str, SingleArray]:
        arrays = {field.name: getattr(self, field.name) for field in fields(self)}
        return {n: a.astype(np.float32) for n, a in arrays.items() if isinstance(a, np.ndarray)}


def _log_share(way: SingleArray, ways: Mapping[str, SingleArray], *, is_plume: bool) -> SingleArray:
    """Log10 of what is left on a way east and north (last axis) from the source.

    Notes
    -----
    Water: steady advection, dispersion and decay along the flow,
    exp{x / (2 aL) [1 - sqrt(1 + 4 k aL / v)]} with v / k the reach (Bear; Domenico; from
    memory), its counterpart against the flow with the other root, and a bell across whose
    variance grows by 2 aT x. Otherwise exp(-d / reach): a monotone decline with distance, the
    path down the slope counting less than across or against it where the direction is known.
    """
    east, north = way[..., 0], way[..., 1]
    reach = ways["reach_m"]
    if "azimuth_deg" not in ways:
        return np.asarray(-np.hypot(east, north) / reach / math.log(10))
    turn = np.radians(ways["azimuth_deg"])
    along = east * np.sin(turn) + north * np.cos(turn)
    across = east * np.cos(turn) - north * np.sin(turn)
    down, up = np.maximum(along, 0), np.maximum(-along, 0)
    if not is_plume:
        far = np.sqrt(down**2 + (ways["uphill"] * up) ** 2 + (ways["sideways"] * across) ** 2)
        return np.asarray(-far / reach / math.log(10))
    root = np.sqrt(1 + 4 * ways["along_m"] / reach)
    variance = ways["width_m"] ** 2 + 2 * ways["across_m"] * down
    log = (down * (1 - root) - up * (1 + root)) / (2 * ways["along_m"])
    log += 0.5 * np.log(ways["width_m"] ** 2 / variance) - across**2 / (2 * variance)
    return np.asarray(log / math.log(10))


def ways_of(flow: Flow, kind: Kind, size_m: float, normals: FloatArray) -> Ways:
    """Turn standard normal numbers into ways of spreading, as they are thought before any reading.

    Every length is a share of the plan's diagonal, for nothing else is known (judgement; the
    dispersivity about a tenth of the way, as is common practice).

    Parameters
    ----------
    flow : Flow
        Where the water goes.
    kind : {"water", "soil"}
        What was sampled.
    size_m : float
        Diagonal of the plan.
    normals : array, shape (draws, COORDINATES)
        One draw a row.
    """
    is_plume = kind == "water"
    shortest, longest = (0.3, 10.0) if is_plume and flow.azimuth_deg is not None else (0.05, 1.0)
    turn, reach, along, across, width, uphill, sideways = normals.T
    along_m = size_m * between(0.02, 0.2, along)
    return Ways(
        azimuth_deg=None if flow.azimuth_deg is None else flow.azimuth_deg + flow.sd_deg * turn,
        reach_m=size_m * between(shortest, longest, reach),
        along_m=along_m,
        across_m=along_m * between(0.05, 0.4, across),
        width_m=size_m * between(0.02, 0.1, width),
        uphill=between(2.0, 6.0, uphill),
        sideways=between(1.5, 4.0, sideways),
        is_plume=is_plume,
    )


def between(low: float, high: float, normals: FloatArray) -> FloatArray:
    """Turn standard normal numbers into ones whose logarithms are evenly spread over a range."""
    from scipy.special import ndtr

    return np.asarray(low * (high / low) ** ndtr(normals))
