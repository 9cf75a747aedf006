"""The quick medians and sums over channels give what NumPy's own give."""

import numpy as np
import pytest

from colorcore.small_arrays import highest_channel, mean_of_channels, median


@pytest.mark.parametrize("shape", [(1,), (2,), (7,), (40, 3), (5, 4, 6)])
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_medians_are_numpys(shape: tuple[int, ...], kind: type[np.floating]) -> None:
    """To the last bit, over each axis and over all numbers, in the same kind of number."""
    values = np.random.default_rng(3).normal(size=shape).astype(kind)
    for axis in (None, *range(len(shape))):
        found = median(values, axis=axis)
        assert found.dtype == kind
        assert np.array_equal(found, np.median(values, axis=axis))


@pytest.mark.parametrize("kind", [np.uint8, np.float32, np.float64])
def test_channels_are_taken_together_as_numpy_does(kind: type[np.number]) -> None:
    """To the last bit; the mean is of light, never of codes."""
    pixels = (255 * np.random.default_rng(4).random((9, 8, 3))).astype(kind)
    assert np.array_equal(highest_channel(pixels), pixels.max(axis=-1))
    if kind is not np.uint8:
        assert np.array_equal(mean_of_channels(pixels), pixels.mean(axis=-1))
