"""The network that tells card, vessels, liquid and solids apart, and its way from and to ONNX.

What is shipped is ONNX with batch normalisation folded into its convolutions. `restore` turns it
back into a network that can be trained further, with more channels in its deep layers if wanted.
Run as a program, it averages a network with the one that it was trained further to:

    python -m tests.laboratory.parts_net BEFORE.onnx AFTER.onnx --share 0.5 --out MEAN.onnx
"""

import argparse
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import nn
from torch.nn import functional

WIDTHS = (16, 32, 48, 96, 160)  # channels at a half to a 32nd of the picture's size
PARTS = ("stem", "down_1", "down_2", "down_3", "down_4", "up_3", "up_2", "up_1", "up_0", "out")
LAST = 24  # channels before the outputs


def block(inside: int, outside: int, stride: int = 1) -> nn.Sequential:
    """Convolution, normalisation and rectifier."""
    return nn.Sequential(
        nn.Conv2d(inside, outside, 3, stride, 1, bias=False),
        nn.BatchNorm2d(outside),
        nn.ReLU(inplace=True),
    )


class PartsNet(nn.Module):
    """A small encoder and decoder with shortcuts (after Ronneberger et al. 2015, U-Net)."""

    def __init__(self, widths: tuple[int, ...] = WIDTHS) -> None:
        super().__init__()
        a, b, c, d, e = widths
        self.stem = block(3, a, 2)
        self.down_1 = nn.Sequential(block(a, b, 2), block(b, b))
        self.down_2 = nn.Sequential(block(b, c, 2), block(c, c))
        self.down_3 = nn.Sequential(block(c, d, 2), block(d, d))
        self.down_4 = nn.Sequential(block(d, e, 2), block(e, e), block(e, e))
        self.up_3, self.up_2 = block(e + d, d), block(d + c, c)
        self.up_1, self.up_0 = block(c + b, b), block(b + a, LAST)
        self.out = nn.Conv2d(LAST, 6, 1)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Logits of the five parts and of the core, at half the size."""
        s = self.stem(x)
        a = self.down_1(s)
        b = self.down_2(a)
        c = self.down_3(b)
        d = self.down_4(c)

        def twice(t: torch.Tensor) -> torch.Tensor:
            return functional.interpolate(t, scale_factor=2, mode="nearest")

        c = self.up_3(torch.cat([twice(d), c], 1))
        b = self.up_2(torch.cat([twice(c), b], 1))
        a = self.up_1(torch.cat([twice(b), a], 1))
        return self.out(self.up_0(torch.cat([twice(a), s], 1)))


def export(net: nn.Module, target: Path) -> None:
    """Write the network as ONNX, batch normalisation folded in."""
    net.eval()
    torch.onnx.export(
        net,
        torch.zeros(1, 3, 384, 512),
        str(target),
        opset_version=13,
        input_names=["picture"],
        output_names=["parts"],
        dynamic_axes={"picture": {2: "H", 3: "W"}, "parts": {2: "h", 3: "w"}},
        dynamo=False,
    )


def layers(net: PartsNet) -> list[tuple[nn.Conv2d, nn.BatchNorm2d | None]]:
    """List the convolutions, each with its normalisation, in the order in which they act."""
    found: list[tuple[nn.Conv2d, nn.BatchNorm2d | None]] = []
    for name in PARTS:
        inside = list(getattr(net, name).modules())
        convolutions = [m for m in inside if isinstance(m, nn.Conv2d)]
        normalisations = [m for m in inside if isinstance(m, nn.BatchNorm2d)] or [None]
        found += zip(convolutions, normalisations, strict=True)
    return found


def _sources(widths: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Widths of the layers that are stacked into the input of each convolution."""
    a, b, c, d, e = widths
    down = [(3,), (a,), (b,), (b,), (c,), (c,), (d,), (d,), (e,), (e,)]
    return [*down, (e, d), (d, c), (c, b), (b, a), (LAST,)]


def _same_start(small: tuple[int, ...], large: tuple[int, ...]) -> list[int]:
    """Places, in the wide stack, of the channels of the narrow one."""
    ends = np.cumsum((0, *large))
    return [int(at) + k for at, n in zip(ends[:-1], small, strict=True) for k in range(n)]


def restore(model: Path, pictures: Iterable[torch.Tensor], widths: tuple[int, ...]) -> PartsNet:
    """Return a network that computes what an ONNX file computes and can be trained further.

    Parameters
    ----------
    model : Path
        A file that `export` wrote.
    pictures : iterable of Tensor
        Batches (n, 3, H, W) like those of the training, to restore the normalisations with.
    widths : tuple of int
        Channels of the layers, none narrower than in the file. Further channels start at random and
        are not listened to yet (after Chen, Goodfellow & Shlens 2016, Net2Net).
    """
    graph = onnx.load(str(model)).graph
    kept = {entry.name: numpy_helper.to_array(entry) for entry in graph.initializer}
    weights = [
        [torch.tensor(kept[name]) for name in node.input[1:]]
        for node in graph.node
        if node.op_type == "Conv"
    ]
    outs = [int(w.shape[0]) for w, _ in weights]
    narrow = (outs[0], outs[1], outs[3], outs[5], outs[7])
    net = PartsNet(widths)
    for (convolution, normalisation), (w, bias), small, large in zip(
        layers(net), weights, _sources(narrow), _sources(widths), strict=True
    ):
        n = w.shape[0]
        with torch.no_grad():
            convolution.weight[:n] = 0
            convolution.weight[:n, _same_start(small, large)] = w
            if normalisation is None:
                convolution.bias[:n] = bias
            else:
                normalisation.bias[:n] = bias
                normalisation.running_var[:] = 1 - normalisation.eps
    measure_normalisation(net, pictures)
    return net


def measure_normalisation(net: PartsNet, pictures: Iterable[torch.Tensor]) -> None:
    """Tell each normalisation the mean and spread of what reaches it; outputs stay as they are."""
    pairs = [(c, n) for c, n in layers(net) if n is not None]
    sums = [[torch.zeros(c.out_channels, dtype=torch.double) for _ in range(2)] for c, _ in pairs]
    counts = [0] * len(pairs)

    def listen(k: int):
        def hear(_module, _given, out: torch.Tensor) -> None:
            sums[k][0] += out.double().sum((0, 2, 3))
            sums[k][1] += out.double().square().sum((0, 2, 3))
            counts[k] += out.numel() // out.shape[1]

        return hear

    hooks = [c.register_forward_hook(listen(k)) for k, (c, _) in enumerate(pairs)]
    net.eval()
    with torch.no_grad():
        for x in pictures:
            net(x)
        for hook in hooks:
            hook.remove()
        for (_, norm), (total, squares), count in zip(pairs, sums, counts, strict=True):
            mean = total / count
            variance = (squares / count - mean.square()).clamp(min=1e-6)
            slope = norm.weight.double() / torch.sqrt(norm.running_var.double() + norm.eps)
            offset = norm.bias.double() - slope * norm.running_mean.double()
            norm.running_mean.copy_(mean)
            norm.running_var.copy_(variance)
            norm.weight.copy_(slope * torch.sqrt(variance + norm.eps))
            norm.bias.copy_(offset + slope * mean)


def average(before: Path, after: Path, share: float, out: Path) -> None:
    """Write a network whose weights lie that share of the way from one to another of its shape.

    What the further training was not about is forgotten less (after Wortsman et al. 2022).
    """
    start, model = onnx.load(str(before)), onnx.load(str(after))
    first = {entry.name: numpy_helper.to_array(entry) for entry in start.graph.initializer}
    for entry in model.graph.initializer:
        last = numpy_helper.to_array(entry)
        if last.dtype == np.float32:
            mixed = (1 - share) * first[entry.name] + share * last
            entry.CopyFrom(numpy_helper.from_array(mixed.astype(np.float32), entry.name))
    onnx.save(model, str(out))


def main() -> None:
    """Average two networks."""
    words = argparse.ArgumentParser(description=average.__doc__)
    words.add_argument("before", type=Path)
    words.add_argument("after", type=Path)
    words.add_argument("--share", type=float, default=0.5, help="of the second, 0 to 1")
    words.add_argument("--out", type=Path, required=True)
    order = words.parse_args()
    average(order.before, order.after, order.share, order.out)


if __name__ == "__main__":
    main()
