"""The truth about a drawn photo: places, faults, and what perfect readers would have seen."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.light import Camera, FloatArray, Lamp, bell, fit_matrix, lab
from tests.laboratory.scene import DrawnScene
from tests.laboratory.spectral import random_reflectance

COLUMNS = (
    "photo", "role", "tube", "value", "fault", "poly", "tube_poly", "card_x", "card_y", "card_w",
    "card_h", "card_poly", "light", "light_class", "light2", "light2_share",
    "oracle_L", "oracle_a", "oracle_b", "known_L", "known_a", "known_b",
)  # fmt: skip


@cache
def general_samples() -> FloatArray:
    """Return spectra (n, 81) to fit camera matrices on: surfaces and coloured solutions."""
    rng = np.random.default_rng(24)
    kinds = ("wall", "clutter", "wood", "skin", "soil", "grey", "cloth", "plastic")
    surfaces = [random_reflectance(rng, kinds[k % len(kinds)]) for k in range(160)]
    solutions = []
    for _ in range(160):
        dye = rng.uniform(0.1, 2.0) * bell(
            rng.uniform(410, 650), rng.uniform(22, 50), rng.uniform(22, 50)
        )
        solutions.append(rng.uniform(0.4, 0.9) * np.exp(-dye))
    return np.stack([*surfaces, *solutions])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judge:
    """Readers that see the light without noise and know the outlines."""

    camera: Camera
    matrix: FloatArray  # the one matrix of the reader that does not know the light
    level: float  # reflectance of the card

    def seen(self, scene: DrawnScene, quad: NDArray[np.float64]) -> FloatArray:
        """Return the tube's colour (3,), balanced on the card: a perfect white is (1, 1, 1)."""
        assert scene.card is not None
        upper = quad.copy()  # the upper part stands clear of racks and tables
        upper[2:] = quad[[1, 0]] + 0.6 * (quad[2:] - quad[[1, 0]])
        tube = _median(scene, narrowed(upper, 0.45, 0.75), 3)
        card = _median(scene, narrowed(scene.card.grey, 0.7, 0.7), 1)
        return tube / card * self.level


def narrowed(quad: NDArray[np.float64], across: float, down: float) -> NDArray[np.float64]:
    """Return a quadrilateral shrunk about its middle."""
    middle = quad.mean(0)
    along = ((quad[1] - quad[0]) + (quad[2] - quad[3])) / 4 * across
    low = ((quad[3] - quad[0]) + (quad[2] - quad[1])) / 4 * down
    return np.array(
        [middle - along - low, middle + along - low, middle + along + low, middle - along + low]
    )


def _median(scene: DrawnScene, quad: NDArray[np.float64], label: int) -> FloatArray:
    """Return the median linear RGB inside a quadrilateral where the label holds."""
    mask = np.zeros(scene.labels.shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(quad).astype(np.int32), 1)
    inside = (mask > 0) & (scene.labels == label)
    if not inside.any():
        inside = mask > 0
    return np.asarray(np.median(scene.image[inside], axis=0), np.float64)


def share_of_label(scene: DrawnScene, quad: NDArray[np.float64], label: int) -> float:
    """Return the share of a quadrilateral's middle that carries a label."""
    mask = np.zeros(scene.labels.shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(narrowed(quad, 0.9, 0.9)).astype(np.int32), 1)
    inside = scene.labels[mask > 0]
    return float((inside == label).mean()) if inside.size else 0.0


def _corners(quad: NDArray[np.float64] | None, zoom: float) -> str:
    return "" if quad is None else " ".join(f"{x * zoom:.1f},{y * zoom:.1f}" for x, y in quad)


def truth_rows(
    judge: Judge, scene: DrawnScene, photo: str, fault: str | None, standard: bool, zoom: float, *,
    first: Lamp, second: Lamp | None, share: float, seen: Lamp,
) -> list[dict[str, str]]:  # fmt: skip
    """Return one row a tube, or one for a photo without tubes; pixels of the saved photo."""
    common = dict.fromkeys(COLUMNS, "")
    common.update(
        photo=photo, role="standard" if standard else "test", fault=fault or "", light=first.name
    )
    common["light_class"] = first.light_class
    if second is not None:
        common.update(light2=second.name, light2_share=f"{share:.3f}")
        if second.light_class != first.light_class and share >= 0.05:
            common["light_class"] = "mixed"
    if scene.card is not None:
        grey = scene.card.grey * zoom
        (x, y), (right, bottom) = grey.min(0), grey.max(0)
        common.update(
            card_x=f"{x:.1f}",
            card_y=f"{y:.1f}",
            card_w=f"{right - x:.1f}",
            card_h=f"{bottom - y:.1f}",
        )
        common["card_poly"] = _corners(scene.card.grey, zoom)
    if not scene.tubes:
        return [common]
    known = fit_matrix(judge.camera, seen, general_samples())
    rows = []
    for k, tube in enumerate(scene.tubes):
        row = dict(
            common,
            tube=str(k + 1),
            tube_poly=_corners(tube.outline, zoom),
            poly=_corners(tube.clear, zoom),
        )
        own = fault or tube.plan.fault
        row["fault"] = own or ""
        if tube.plan.role == "in_frame":
            row["role"] = "in_frame"
        if tube.plan.value is not None and own not in ("empty_tube", "dry_soil", "off_chart"):
            row["value"] = f"{tube.plan.value:g}"
        if tube.clear is not None and scene.card is not None:
            rgb = judge.seen(scene, tube.clear)
            for name, matrix in (("oracle", judge.matrix), ("known", known)):
                for axis, value in zip("Lab", lab(matrix @ rgb), strict=True):
                    row[f"{name}_{axis}"] = f"{value:.4f}"
        rows.append(row)
    return rows


def in_tube(row: dict[str, str], place: tuple[float, float]) -> bool:
    """Whether a place, in pixels, lies in the tube of a row of the truth."""
    corners = np.array([[float(v) for v in pair.split(",")] for pair in row["tube_poly"].split()])
    return cv2.pointPolygonTest(corners.astype(np.float32), place, False) >= 0
