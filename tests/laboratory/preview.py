"""Write a contact sheet of random scenes with their labels: python -m tests.laboratory.preview."""

import argparse
import time

import numpy as np

from colorcore._cv import cv2
from tests.laboratory.camera import develop_roughly
from tests.laboratory.scene import DrawnScene, draw_scene, random_palette

TINTS = np.array([(0, 0, 0), (255, 0, 255), (0, 255, 255), (0, 255, 0), (255, 128, 0)], np.float32)


def with_labels(picture: np.ndarray, scene: DrawnScene) -> np.ndarray:
    """Return the picture (RGB uint8) with the label areas tinted and the corners drawn."""
    tint = TINTS[scene.labels]
    share = np.where(scene.labels > 0, 0.45, 0.0)[..., None]
    out = np.ascontiguousarray((picture * (1 - share) + tint * share).astype(np.uint8))
    for tube in scene.tubes:
        cv2.polylines(out, [tube.outline.astype(np.int32)], True, (255, 255, 255), 1)
        if tube.clear is not None:
            cv2.polylines(out, [tube.clear.astype(np.int32)], True, (0, 0, 255), 1)
    if scene.card is not None:
        cv2.polylines(out, [scene.card.grey.astype(np.int32)], True, (255, 0, 0), 1)
    return out


def main() -> None:
    """Draw the sheet."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=24)
    parser.add_argument("--columns", type=int, default=4)
    parser.add_argument("--labels", action="store_true", help="show the labels beside each scene")
    given = parser.parse_args()
    tiles, took = [], []
    for k in range(given.count):
        rng = np.random.default_rng((given.seed, k))
        size = (512, 384) if rng.random() < 0.7 else (384, 512)
        start = time.perf_counter()
        scene = draw_scene(rng, size=size, palette=random_palette(rng))
        took.append(time.perf_counter() - start)
        picture = develop_roughly(rng, scene.image)
        parts = [picture, with_labels(picture, scene)] if given.labels else [picture]
        tile = np.zeros((512, 512 * len(parts), 3), np.uint8)
        for i, part in enumerate(parts):
            tile[: part.shape[0], i * 512 : i * 512 + part.shape[1]] = part
        tiles.append(cv2.resize(tile, None, fx=0.75, fy=0.75, interpolation=cv2.INTER_AREA))
    while len(tiles) % given.columns:
        tiles.append(np.zeros_like(tiles[0]))
    rows = [np.hstack(tiles[i : i + given.columns]) for i in range(0, len(tiles), given.columns)]
    cv2.imwrite(given.out, np.vstack(rows)[..., ::-1])
    print(f"{np.mean(took) * 1000:.1f} ms a scene (median {np.median(took) * 1000:.1f})")


if __name__ == "__main__":
    main()
