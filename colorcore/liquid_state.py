"""Tells whether a liquid is sound: one color, clear, and in the light of the photo.

A second small network, trained on drawn and painted liquids (tests/laboratory/train_liquids.py),
looks at each liquid with the glass above it and the background to both sides, as logs of camera
channels over the card. What it says is a doubt and never a color.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.color_profile import ColorProfile
from colorcore.geometry import Quad
from colorcore.network import run
from colorcore.parts import LONG_SIDE, Parts
from colorcore.photo import Photo
from colorcore.reasons import LOOKS
from colorcore.white_balance import CAMERA_CHANNELS

NETWORK = "liquid.onnx"
STATES = ("sound", *LOOKS)
ALONG, ACROSS = 64, 40  # places looked at
REACH = (-0.25, 1.15)  # from above the surface to below the bottom, in lengths of the liquid
BESIDE = 1.5  # widths to each side of the axis
DARKEST = 0.03  # of the card's light: what is darker looks alike
MIDDLE = -0.7  # usual log of light over the card, which the network sees as 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidState:
    """What a liquid may be.

    Parameters
    ----------
    likeliest : str
        The likeliest of what may be wrong with it, one of `LOOKS`.
    trouble : float
        Probability that anything is, 0 to 1, if it is so in a third of all tubes.
    """

    likeliest: str
    trouble: float


def places(liquid: Quad | NDArray[np.float64]) -> NDArray[np.float32]:
    """Places looked at for the column of a liquid, in its pixels, shape (ALONG, ACROSS, 2)."""
    ul, ur, lr, ll = np.asarray(liquid, dtype=np.float64)
    top, bottom = (ul + ur) / 2, (ll + lr) / 2
    across = ((ur - ul) + (lr - ll)) / 2
    along = np.linspace(*REACH, ALONG)[:, None, None]
    aside = np.linspace(-BESIDE, BESIDE, ACROSS)[None, :, None]
    return np.asarray(top + along * (bottom - top) + aside * across, dtype=np.float32)


def network_input(
    picture: NDArray[np.uint8],
    profile: ColorProfile,
    where: NDArray[np.float32],
    card: NDArray[np.float64],
) -> NDArray[np.float32]:
    """Turn places of a small BGR picture into what the network takes, shape (3, ALONG, ACROSS).

    `card` is the linear RGB of the card, as the camera gave it.
    """
    x, y = where[..., 0] - 0.5, where[..., 1] - 0.5
    codes = cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = profile.to_linear(np.asarray(codes, dtype=np.uint8))
    channels = light @ CAMERA_CHANNELS.T / (CAMERA_CHANNELS @ card)
    planes = np.log(np.maximum(channels, DARKEST)) + MIDDLE
    return np.ascontiguousarray(planes.transpose(2, 0, 1), dtype=np.float32)


def liquid_state(
    photo: Photo, parts: Parts, liquid: Quad, card: tuple[float, float, float]
) -> LiquidState:
    """Say what a liquid may be; `card` is the linear RGB of the grey card in the photo."""
    shrink = LONG_SIDE / max(photo.width, photo.height)
    where = places(np.array(liquid) * shrink)
    return state_of(network_input(parts.picture, photo.profile, where, np.array(card)))


def state_of(planes: NDArray[np.float32]) -> LiquidState:
    """Say what a liquid may be from what the network takes of it."""
    logits = run(NETWORK, planes[None])[0].astype(np.float64)
    share = np.exp(logits - logits.max())
    share /= share.sum()
    return LiquidState(likeliest=LOOKS[int(np.argmax(share[1:]))], trouble=float(1 - share[0]))
