"""Trains the network that tells whether a liquid is sound, on drawn and painted liquids.

    python -m tests.laboratory.train_liquids --photos 12000 --minutes 20 --bfloat16

Needs PyTorch and onnx, which the product does not. Photos are drawn once, small, as a campaign has
them, into a folder that later runs reuse: from each liquid what the network sees of it is kept.
Two in five liquids are painted in the plainest way instead (`painted_liquids.py`).
"""

import argparse
import copy
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import torch
from numpy.typing import NDArray
from torch import nn
from torch.nn import functional

from colorcore.color_profile import SRGB
from colorcore.liquid_state import STATES, network_input, places
from tests.laboratory.campaign import (
    draw_photo,
    metered_exposure,
    random_campaign,
    unknown_photo,
)
from tests.laboratory.device import develop
from tests.laboratory.layout import TubePlan
from tests.laboratory.painted_liquids import painted_liquid
from tests.laboratory.scene import DrawnTube
from tests.laboratory.train_parts import follow, machine_words, set_rate
from tests.laboratory.truth import narrowed

SHAPES = ((512, 384), (384, 512), (512, 288), (288, 512))
TROUBLED_PHOTOS = 0.7  # share of photos that may hold troubled liquids,
TROUBLED = 0.45  # and the share of their liquids that are
FAULTS = {"unmixed": 0.4, "unsettled": 0.38, "tube_shadow": 0.18, "off_chart": 0.04}
PHOTO_FAULTS = {None: 0.56, "second_lamp": 0.22, "card_shadow": 0.17, "card_clipped": 0.05}
PAINTED_SHARE = 0.4
CHUNK = 200  # photos a file
BATCH = 128
CHANNELS = (24, 48, 64, 96)
RATE = 2e-3
Sample = tuple[NDArray[np.float16], int]


def draw_liquids(seed: int) -> list[Sample]:
    """Draw one photo and return what is seen of its liquids, each with the place of its state."""
    rng = np.random.default_rng((78, seed))
    size = SHAPES[int(rng.integers(len(SHAPES)))]
    campaign = random_campaign(rng, "training")
    share = TROUBLED if rng.random() < TROUBLED_PHOTOS else 0.0
    planned, _ = unknown_photo(rng, campaign, 0.0)
    tubes = tuple(_with_fault(rng, tube, share) for tube in planned)
    fault = list(PHOTO_FAULTS)[int(rng.choice(len(PHOTO_FAULTS), p=list(PHOTO_FAULTS.values())))]
    drawn, lamp, _, device = draw_photo(rng, campaign, tubes, fault, False, size)
    exposure = metered_exposure(rng, drawn)
    if rng.random() < 0.05:
        exposure *= rng.uniform(1.5, 3.5)
    device = replace(  # what shrinking leaves of a camera's habits
        device,
        p3=False,
        noise=device.noise * float(rng.uniform(0.2, 0.6)),
        sharpen=device.sharpen * 0.3,
        blur=device.blur * 2,
    )
    picture = develop(rng, device, drawn.image, lamp, exposure=min(exposure, 4.0))[..., ::-1]
    if rng.random() < 0.5:
        quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(88, 98))]
        picture = cv2.imdecode(cv2.imencode(".jpg", picture, quality)[1], cv2.IMREAD_COLOR)
    assert drawn.card is not None
    inner = np.round(narrowed(drawn.card.grey, 0.7, 0.7)).astype(np.int32)
    mask = np.zeros(picture.shape[:2], np.uint8)
    cv2.fillConvexPoly(mask, inner, 1)
    if not mask.any():
        return []
    picture = np.ascontiguousarray(picture)
    card = np.median(SRGB.to_linear(picture[mask > 0][None])[0], axis=0).astype(np.float64)
    if card.min() < 0.004:
        return []
    found = []
    for tube in drawn.tubes:
        where = _places_about(rng, tube, size)
        if where is not None:
            state = tube.plan.fault if tube.plan.fault in STATES else "sound"
            seen = network_input(picture, SRGB, where, card)
            found.append((seen.astype(np.float16), STATES.index(state)))
    return found


def _with_fault(rng: np.random.Generator, tube: TubePlan, share: float) -> TubePlan:
    if rng.random() >= share:
        return tube
    return replace(tube, fault=str(rng.choice(list(FAULTS), p=list(FAULTS.values()))))


def _places_about(
    rng: np.random.Generator, tube: DrawnTube, size: tuple[int, int]
) -> NDArray[np.float32] | None:
    """Places of a liquid about as well as it is found in a photo; None where it is cut off."""
    if tube.clear is None or tube.clear.min() < 0 or (tube.clear.max(axis=0) > size).any():
        return None
    ul, ur, lr, ll = tube.clear
    axis = (ll + lr - ul - ur) / 2
    wide = float(np.hypot(*(ur - ul)))
    top = axis * rng.normal(0, 0.02) + rng.normal(0, 0.015, 2) * wide
    low = axis * rng.normal(0, 0.03) + rng.normal(0, 0.015, 2) * wide
    wider = (float(np.exp(rng.normal(0, 0.05))) - 1) / 2
    aside = ((ur - ul) + (lr - ll)) / 2 * wider
    return places(
        np.array([ul + top - aside, ur + top + aside, lr + low + aside, ll + low - aside])
    )


def draw_chunk(job: tuple[int, str]) -> None:
    """Draw a number of photos and keep what is seen of their liquids in one file."""
    first, folder = job
    target = Path(folder) / f"{first:07d}.npz"
    if target.exists():
        return
    samples = [s for seed in range(first, first + CHUNK) for s in draw_liquids(seed)]
    with target.open("wb") as file:
        np.savez(file, seen=np.stack([s[0] for s in samples]), state=[s[1] for s in samples])


def draw_all(photos: int, folder: Path, workers: int) -> list[Path]:
    """Draw photos on several cores and return the files."""
    folder.mkdir(parents=True, exist_ok=True)
    jobs = [(first, str(folder)) for first in range(0, photos, CHUNK)]
    with ProcessPoolExecutor(workers) as pool:
        for done, _ in enumerate(pool.map(draw_chunk, jobs)):
            print(f"drawn {CHUNK * (done + 1)}", flush=True)
    return [Path(path) / f"{first:07d}.npz" for first, path in jobs]


class LiquidNet(nn.Module):
    """A small convolutional network; means and maxima over the picture decide."""

    def __init__(self) -> None:
        super().__init__()
        layers: list[nn.Module] = []
        inside = 3
        for k, outside in enumerate(CHANNELS):
            layers += [nn.MaxPool2d(2)] if k else []
            for i in (inside, outside):
                layers += [nn.Conv2d(i, outside, 3, 1, 1, bias=False), nn.BatchNorm2d(outside)]
                layers.append(nn.ReLU(inplace=True))
            inside = outside
        self.features = nn.Sequential(*layers)
        self.drop = nn.Dropout(0.3)
        self.out = nn.Linear(2 * inside, len(STATES))

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Logits of the states."""
        h = self.features(x)
        return self.out(self.drop(torch.cat([h.mean((2, 3)), h.amax((2, 3))], 1)))


def varied(x: torch.Tensor) -> torch.Tensor:
    """Other cards, cameras and sides: gains, contrast, grain, left for right."""
    n = len(x)
    x = x + torch.randn(n, 3, 1, 1) * torch.tensor([0.12, 0.05, 0.12]).view(1, 3, 1, 1)
    x = x + torch.randn(n, 1, 1, 1) * 0.2
    turned = torch.rand(n) < 0.5
    x[turned] = x[turned].flip(3)
    x = x * torch.exp(torch.randn(n, 1, 1, 1) * 0.1)
    return x + torch.randn_like(x) * (torch.rand(n, 1, 1, 1) * 0.02)


def validate(net: nn.Module, x: torch.Tensor, y: NDArray[np.int64]) -> str:
    """Share of each trouble that is told where 1, 2 and 5 % of the sound ones are doubted."""
    net.eval()
    with torch.no_grad():
        shares = torch.cat([net(part.float()).softmax(1) for part in x.split(512)]).numpy()
    trouble = 1 - shares[:, 0]
    lines = [f"cross entropy {-np.log(shares[np.arange(len(y)), y] + 1e-9).mean():.3f}"]
    for cost in (0.01, 0.02, 0.05):
        limit = np.quantile(trouble[y == 0], 1 - cost)
        told = [(trouble[y == k] > limit).mean() for k in range(1, len(STATES))]
        lines.append(f"{100 * cost:.0f} %: " + " ".join(f"{share:.3f}" for share in told))
    return ", ".join(lines)


def train(x: torch.Tensor, y: NDArray[np.int64], held: int, order: argparse.Namespace) -> nn.Module:
    """Train for the given time on all but the first `held` samples; return the running average."""
    rng = np.random.default_rng(0)
    net = LiquidNet().to(memory_format=torch.channels_last)
    average = copy.deepcopy(net)
    optimizer = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=2e-3)
    wanted = torch.from_numpy(y)
    begin, step, share = time.time(), 0, 0.0
    while share < 1:
        for pick in np.array_split(rng.permutation(np.arange(held, len(y))), len(y) // BATCH):
            share = min((time.time() - begin) / (60 * order.minutes), 1)
            if share >= 1:
                break
            set_rate(optimizer, RATE, step, share)
            net.train()
            seen = varied(x[pick].float()).contiguous(memory_format=torch.channels_last)
            with torch.autocast("cpu", dtype=torch.bfloat16, enabled=order.bfloat16):
                out = net(seen)
            loss = functional.cross_entropy(out.float(), wanted[pick], label_smoothing=0.02)
            optimizer.zero_grad()
            loss.backward()
            optimizer.step()
            step += 1
            follow(average, net, step)
        print(f"{time.time() - begin:.0f} s {validate(average, x[:held], y[:held])}", flush=True)
    return average


def main() -> None:
    """Draw, train, validate, export."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--photos", type=int, default=12000)
    words.add_argument("--minutes", type=float, default=20)
    words.add_argument("--folder", type=Path, default=Path("build/liquids"))
    words.add_argument("--out", type=Path, default=Path("colorcore/liquid.onnx"))
    machine_words(words)
    order = words.parse_args()
    files = [np.load(path) for path in draw_all(order.photos, order.folder, order.workers)]
    rng = np.random.default_rng(5)
    drawn = np.concatenate([file["seen"] for file in files])
    painted = [
        painted_liquid(rng) for _ in range(int(len(drawn) * PAINTED_SHARE / (1 - PAINTED_SHARE)))
    ]
    held = len(drawn) // 20  # of the drawn ones, whole photos but for one
    x = np.concatenate([drawn, np.stack([p[0] for p in painted]).astype(np.float16)])
    y = np.concatenate([*(file["state"] for file in files), [p[1] for p in painted]])
    print("states", np.bincount(y), "held back", held, flush=True)
    torch.manual_seed(0)
    torch.set_num_threads(order.workers)
    net = train(torch.from_numpy(x), y.astype(np.int64), held, order).eval()
    torch.onnx.export(
        net, torch.zeros(1, *x.shape[1:]), str(order.out), opset_version=13,
        input_names=["places"], output_names=["states"], dynamo=False,
    )  # fmt: skip


if __name__ == "__main__":
    main()
