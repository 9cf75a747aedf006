"""Trains the network that tells card, vessels, liquid and solids apart, on drawn scenes only.

    python -m tests.laboratory.train_parts --scenes 12000 --minutes 40 --out colorcore/parts.onnx

Needs PyTorch and onnx, which the product does not. The scenes are drawn once by all cores into a
folder, as JPEG pictures with their labels, and reused by later runs.
"""

import argparse
import copy
import queue
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import torch
from numpy.typing import NDArray
from torch import nn
from torch.nn import functional

from colorcore.parts import GRAIN, STRIDE
from tests.laboratory.camera import develop_roughly
from tests.laboratory.campaign import DEVICE_FAULTS, draw_photo, random_campaign, unknown_photo
from tests.laboratory.device import develop
from tests.laboratory.parts_net import WIDTHS, PartsNet, export, restore
from tests.laboratory.scene import DrawnScene, ScenePlan, TubePlan, draw_scene, random_palette

SHAPES = ((384, 512), (512, 384), (512, 512), (288, 512), (512, 288), (384, 512), (512, 384))
CROP = 256  # side of the squares learned from at first
CROPPED_SHARE = 0.35  # of the time
BATCH = 8  # whole pictures; twice as many squares
LONGEST_AVERAGE = 0.999  # kept of the running average at each step
CORE_SHARE = 0.5  # of a vessel's width
# How the scenes are shared out; what is left is drawn at random.
CLOUDY_SHARE = 0.08  # clouds without a dye, most of them before black
BENCH_SHARE = 0.06  # glass on a bench, much of it empty
CARD_SHARE = 0.13  # cards that are hard to tell from their ground or from their own patches
CAREFUL_SHARE = 0.25  # photos as a campaign has them, under lamps and through cameras
HARD_CARDS = {
    "plain": 0.27, "white border": 0.13, "black border": 0.05, "colored border": 0.15,
    "beside patches": 0.3, "between patches": 0.1,
}  # fmt: skip


def core_map(tubes, shape: tuple[int, int]) -> np.ndarray:
    """Map of the middle half of every vessel's width, shape (h, w), on the network's grid."""
    core = np.zeros(shape, np.uint8)
    for tube in tubes:
        ul, ur, lr, ll = (np.array(p) for p in tube.outline)
        inset = (1 - CORE_SHARE) / 2
        quad = [
            ul + inset * (ur - ul),
            ur - inset * (ur - ul),
            lr - inset * (lr - ll),
            ll + inset * (lr - ll),
        ]
        points = np.round(np.array(quad) / STRIDE * 16 - 8).astype(np.int32)
        cv2.fillConvexPoly(core, points, 1, cv2.LINE_8, 4)
    return core


def bench_plan(rng: np.random.Generator) -> ScenePlan:
    """Plan of vessels that stand on a bench, from all empty to all filled."""
    empty = float(rng.choice((0.2, 0.6, 1.0)))
    faults = rng.choice(("empty_tube", None), p=(empty, 1 - empty), size=int(rng.integers(1, 12)))
    return ScenePlan(
        tubes=tuple(TubePlan(fault=fault) for fault in faults),
        support="stand",
        backdrop=str(rng.choice(("bench", "room", "black", "plain"))),
        ground="dark" if rng.random() < 0.4 else None,
    )


def random_scene(
    rng: np.random.Generator, size: tuple[int, int]
) -> tuple[DrawnScene, NDArray[np.uint8]]:
    """Draw a scene in arbitrary colors and the picture of it, RGB."""
    plan, clouds, grey_ground = None, False, False
    kinds = (CLOUDY_SHARE, BENCH_SHARE, CARD_SHARE)
    kind = int(np.searchsorted(np.cumsum(kinds) / (1 - CAREFUL_SHARE), rng.random()))
    if kind == 0:
        clouds = True
        if rng.random() < 0.8:
            tidy, black = rng.random(2) < 0.6
            plan = ScenePlan(tidy=bool(tidy), ground="dark", backdrop="black" if black else None)
    elif kind == 1:
        plan = bench_plan(rng)
    elif kind == 2:
        plan = ScenePlan(card=hard_card(rng), tidy=bool(rng.random() < 0.7))
        grey_ground = rng.random() < 0.6
    palette = random_palette(rng, clouds=clouds, grey_ground=grey_ground)
    drawn = draw_scene(rng, size=size, palette=palette, plan=plan)
    return drawn, develop_roughly(rng, drawn.image)


def hard_card(rng: np.random.Generator) -> str:
    """Choose the style of a card that is hard to find."""
    return str(rng.choice(list(HARD_CARDS), p=list(HARD_CARDS.values())))


def careful_photo(
    rng: np.random.Generator, size: tuple[int, int]
) -> tuple[DrawnScene, NDArray[np.uint8]]:
    """Draw a photo as a campaign has them, and the picture that its camera makes of it, RGB."""
    campaign = replace(random_campaign(rng, "training"), card_style=hard_card(rng))
    tubes, fault = unknown_photo(rng, campaign, 0.2)
    drawn, lamp, _, device = draw_photo(rng, campaign, tubes, fault, False, size)
    bright = float(np.percentile(drawn.image[::8, ::8, 1], 97))
    exposure = float(np.exp(rng.normal(-0.35, 0.3))) * 0.9 / max(bright, 1e-3)
    fault = fault if fault in DEVICE_FAULTS else None
    return drawn, develop(rng, device, drawn.image, lamp, exposure=exposure, fault=fault)


def draw_one(job: tuple[int, str]) -> None:
    """Draw one scene and keep its picture, labels and cores as PNG and JPEG files."""
    seed, folder = job
    target = Path(folder) / f"{seed:06d}"
    if target.with_suffix(".png").exists():
        return
    rng = np.random.default_rng(seed)
    size = SHAPES[int(rng.integers(len(SHAPES)))][::-1]
    drawn, picture = (careful_photo if rng.random() < CAREFUL_SHARE else random_scene)(rng, size)
    labels = drawn.labels[::STRIDE, ::STRIDE]
    cores = core_map(drawn.tubes, labels.shape)
    cores &= (labels == 2) | (labels == 3) | (labels == 4)
    cv2.imwrite(str(target.with_suffix(".jpg")), picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 97])
    cv2.imwrite(str(target.with_suffix(".png")), labels | (cores << 4))


def draw_all(count: int, folder: Path, first: int, workers: int) -> None:
    """Draw scenes on several cores."""
    folder.mkdir(parents=True, exist_ok=True)
    jobs = [(seed, str(folder)) for seed in range(first, first + count)]
    with ProcessPoolExecutor(workers) as pool:
        for done, _ in enumerate(pool.map(draw_one, jobs, chunksize=16)):
            if done % 1000 == 0:
                print(f"drawn {done}", flush=True)


def load(folder: Path, seeds: list[int]) -> list[tuple[np.ndarray, np.ndarray]]:
    """Load encoded pictures and labels into memory."""
    return [
        (
            np.fromfile(folder / f"{seed:06d}.jpg", np.uint8),
            np.fromfile(folder / f"{seed:06d}.png", np.uint8),
        )
        for seed in seeds
    ]


def batches(items, size: int, rng: np.random.Generator, *, vary: bool, crop: bool = False):
    """Batches of one shape each: pictures (n, 3, H, W) in 0 to 1 and labels (n, h, w).

    With `crop` a random square of `CROP` pixels is cut from each picture, of three the one with the
    most in it: three times as fast to learn from, and as large as life.
    """
    order = rng.permutation(len(items)) if vary else np.arange(len(items))
    waiting: dict[tuple[int, ...], list[tuple[np.ndarray, np.ndarray]]] = {}
    for i in order:
        picture = cv2.imdecode(items[i][0], cv2.IMREAD_COLOR)
        labels = cv2.imdecode(items[i][1], cv2.IMREAD_UNCHANGED)
        brightest = max(np.percentile(picture[::4, ::4].max(axis=2), 99) / 255, 0.08)
        if crop:
            picture, labels = busiest_crop(picture, labels, rng)
        if vary and rng.random() < 0.5:
            picture, labels = picture[:, ::-1], labels[:, ::-1]
        x = np.minimum(picture.astype(np.float32) / (255 * brightest), 1)
        if vary:
            x = x ** np.float32(np.exp(rng.normal(0, 0.1)))
            x = x * np.exp(rng.normal(0, 0.06, 3)).astype(np.float32)
        group = waiting.setdefault(x.shape, [])
        group.append((x, labels))
        if len(group) == size:
            yield stack(group)
            group.clear()
    for group in waiting.values():
        if group:
            yield stack(group)


def busiest_crop(
    picture: np.ndarray, labels: np.ndarray, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Of three random squares the one with the most labelled places."""
    side = CROP // STRIDE
    best = (-1, 0, 0)
    for _ in range(3):
        top = int(rng.integers(0, labels.shape[0] - side + 1))
        left = int(rng.integers(0, labels.shape[1] - side + 1))
        filled = int((labels[top : top + side, left : left + side] > 0).sum())
        best = max(best, (filled, top, left))
    _, top, left = best
    rows, columns = (
        slice(STRIDE * top, STRIDE * top + CROP),
        slice(STRIDE * left, STRIDE * left + CROP),
    )
    return picture[rows, columns], labels[top : top + side, left : left + side]


def ahead(source):
    """Make the next batches on a thread of their own while one is trained on."""
    made: queue.Queue = queue.Queue(maxsize=4)

    def fill() -> None:
        for item in source:
            made.put(item)
        made.put(None)

    threading.Thread(target=fill, daemon=True).start()
    while (item := made.get()) is not None:
        yield item


def stack(group) -> tuple[torch.Tensor, torch.Tensor]:
    """One batch as tensors."""
    x = np.stack([g[0] for g in group]).transpose(0, 3, 1, 2)
    y = np.stack([g[1] for g in group])
    assert x.shape[2] % GRAIN == 0
    return torch.from_numpy(np.ascontiguousarray(x, np.float32)), torch.from_numpy(
        y.astype(np.int64)
    )


def loss_of(out: torch.Tensor, y: torch.Tensor) -> torch.Tensor:
    """Cross entropy of parts and cores, plus the overlap (Dice) of each part."""
    labels, core = y & 15, (y >> 4).float()
    weight = torch.tensor([1.0, 2.0, 2.0, 2.0, 3.0])
    parts = functional.cross_entropy(out[:, :5], labels, weight=weight)
    cores = functional.binary_cross_entropy_with_logits(
        out[:, 5], core, pos_weight=torch.tensor(2.0)
    )
    share = out[:, :5].softmax(1)
    wanted = functional.one_hot(labels, 5).permute(0, 3, 1, 2).float()
    both = (share * wanted).sum((0, 2, 3))[1:]
    dice = 1 - (2 * both + 50) / ((share + wanted).sum((0, 2, 3))[1:] + 50)
    return parts + cores + 0.5 * dice.mean()


def validate(net: nn.Module, items) -> str:
    """Overlap over union of each part and of the cores."""
    net.eval()
    hit, all_ = np.zeros(6), np.zeros(6)
    with torch.no_grad():
        for x, y in batches(items, 8, np.random.default_rng(0), vary=False):
            out = net(x)
            got, want = out[:, :5].argmax(1).numpy(), (y & 15).numpy()
            for k in range(5):
                hit[k] += ((got == k) & (want == k)).sum()
                all_[k] += ((got == k) | (want == k)).sum()
            got, want = (out[:, 5] > 0).numpy(), (y >> 4).numpy() > 0
            hit[5] += (got & want).sum()
            all_[5] += (got | want).sum()
    return " ".join(f"{v:.3f}" for v in hit / all_)


def pictures_of(items) -> Iterator[torch.Tensor]:
    """Batches of pictures alone."""
    for x, _ in batches(items, BATCH, np.random.default_rng(0), vary=True):
        yield x


def first_net(start: Path | None, items) -> PartsNet:
    """Return a new network, or one that goes on from an ONNX file."""
    net = PartsNet(WIDTHS) if start is None else restore(start, pictures_of(items), WIDTHS)
    return net.to(memory_format=torch.channels_last)


def set_rate(optimizer: torch.optim.Optimizer, rate: float, step: int, share: float) -> None:
    """Set the rate of learning: rising at first, then falling with the share of the time spent."""
    warm = min(1.0, (step + 1) / 200)
    for group in optimizer.param_groups:
        group["lr"] = rate * warm * (0.5 + 0.5 * np.cos(np.pi * share)) + 5e-6


def follow(average: nn.Module, net: nn.Module, step: int) -> None:
    """Move the running average of a network towards it; it reads better than its last state."""
    share = 1 - min(LONGEST_AVERAGE, (1 + step) / (10 + step))
    with torch.no_grad():
        for kept, new in zip(average.state_dict().values(), net.state_dict().values(), strict=True):
            if kept.dtype.is_floating_point:
                kept.lerp_(new, share)
            else:
                kept.copy_(new)


def train(net: PartsNet, items, unseen, order: argparse.Namespace) -> None:
    """Train for the given time; its running average is validated and written now and then."""
    rng = np.random.default_rng(order.first)
    average = copy.deepcopy(net)
    optimizer = torch.optim.AdamW(net.parameters(), lr=order.rate, weight_decay=1e-4)
    begin, step, seconds = time.time(), 0, order.minutes * 60
    share = 0.0
    while share < 1:
        crop = share < CROPPED_SHARE
        for x, y in ahead(batches(items, 2 * BATCH if crop else BATCH, rng, vary=True, crop=crop)):
            share = min((time.time() - begin) / seconds, 1)
            if share >= 1 or (crop and share > CROPPED_SHARE):
                break
            set_rate(optimizer, order.rate, step, share)
            net.train()
            with torch.autocast("cpu", dtype=torch.bfloat16, enabled=order.bfloat16):
                out = net(x.contiguous(memory_format=torch.channels_last))
            loss = loss_of(out.float(), y)
            optimizer.zero_grad()
            loss.backward()
            nn.utils.clip_grad_norm_(net.parameters(), 5.0)
            optimizer.step()
            step += 1
            follow(average, net, step)
            if step % 200 == 0:
                print(f"{time.time() - begin:6.0f} s step {step} {loss.item():.3f}", flush=True)
            if step % 2000 == 0:
                print("overlap", validate(average, unseen), flush=True)
                export(average, order.out)
    print("overlap", validate(average, unseen), flush=True)
    export(average, order.out)


def machine_words(words: argparse.ArgumentParser) -> None:
    """Add the options that depend on the machine."""
    words.add_argument("--workers", type=int, default=2)
    words.add_argument(
        "--bfloat16",
        action="store_true",
        help="faster where the processor has units for it, eight times slower where it has none",
    )


def main() -> None:
    """Draw, train, validate, export."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--scenes", type=int, default=12000)
    words.add_argument("--first", type=int, default=0)
    words.add_argument("--minutes", type=float, default=40)
    words.add_argument("--folder", type=Path, default=Path("build/scenes"))
    words.add_argument("--start", type=Path, help="ONNX file of an earlier training to go on from")
    words.add_argument("--rate", type=float, default=2e-3)
    words.add_argument("--out", type=Path, default=Path("colorcore/parts.onnx"))
    machine_words(words)
    order = words.parse_args()
    draw_all(order.scenes, order.folder, order.first, order.workers)
    torch.manual_seed(1)
    torch.set_num_threads(order.workers)
    seeds = list(range(order.first, order.first + order.scenes))
    held = max(100, order.scenes // 50)
    items, unseen = load(order.folder, seeds[held:]), load(order.folder, seeds[:held])
    net = first_net(order.start, unseen)
    print("overlap", validate(net, unseen), flush=True)
    train(net, items, unseen, order)


if __name__ == "__main__":
    main()
