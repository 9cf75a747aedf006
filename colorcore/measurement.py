"""The color of one tube's liquid, with its scatter and what was doubtful about it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from colorcore.color_spaces import Lab
from colorcore.geometry import Box
from colorcore.reasons import Reason

Triple = tuple[float, float, float]
Covariance = tuple[Triple, Triple, Triple]
OutlineKind = Literal["found", "by_hand"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """What one tube looked like beside its grey card.

    Parameters
    ----------
    lab : Lab
        Mean CIELAB of the liquid under `white`, balanced on the card.
    covariance : 3x3 tuple
        Covariance of that mean in CIELAB: scatter inside the liquid and on the card.
    n_pixels : int
        Pixels of the decoded photo that were averaged, > 0.
    white : str
        The named white of `lab`.
    rgb : tuple
        Balanced linear RGB (BT.709 primaries), 1 = perfect white, unclipped.
    background_rgb : tuple or None
        The same of the background beside the tube, None where there is none to trust.
    card_rgb : tuple or None
        Linear RGB of the card as the camera gave it, before the balance: it tells of the light.
    clipped_share : float
        Share of the region's pixels with a burnt-out or black channel, 0 to 1.
    outline : {"found", "by_hand"}
        Who drew the region.
    box : Box
        The region that was averaged.
    card_box : Box or None
        The grey area of the card.
    sha256 : str
        Fingerprint of the photo's file.
    camera : str or None
        Make and model, as the file says.
    taken_at : datetime or None
        When the photo was taken, as the file says.
    reasons : tuple of Reason
        What is doubtful about photo, card or tube.
    """

    lab: Lab
    covariance: Covariance
    n_pixels: int
    white: str
    rgb: Triple
    background_rgb: Triple | None
    card_rgb: Triple | None
    clipped_share: float
    outline: OutlineKind
    box: Box
    card_box: Box | None
    sha256: str
    camera: str | None
    taken_at: datetime | None
    reasons: tuple[Reason, ...]

    def __post_init__(self) -> None:
        if self.n_pixels < 1:
            raise ValueError(f"n_pixels must be at least 1, got {self.n_pixels}")
        if not 0 <= self.clipped_share <= 1:
            raise ValueError(f"clipped_share must be 0 to 1, got {self.clipped_share}")
