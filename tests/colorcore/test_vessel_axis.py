"""Middle lines of vessels from painted maps of their cores."""

import numpy as np
import pytest

from colorcore.parts import LIQUID, VESSEL, Parts
from colorcore.vessel_axis import Axis, axis_of, vessel_axes

SHAPE = (192, 256)


def lines_in(core: np.ndarray, wet_above: int = 0) -> list[Axis]:
    """Return the middle lines, from the left: on glass, with liquid down to a row."""
    probability = np.zeros((5, *SHAPE), np.float32)
    probability[VESSEL, wet_above:] = 1
    probability[LIQUID, :wet_above] = 1
    picture = np.zeros((2 * SHAPE[0], 2 * SHAPE[1], 3), np.uint8)
    parts = Parts(picture=picture, probability=probability, core=core, scale=4.0)
    return sorted(vessel_axes(parts), key=lambda line: line.top[0])


def bar(core: np.ndarray, x: float, top: int, bottom: int, *, lean: float = 0.0) -> None:
    """Paint the core of one vessel, eight cells wide; `lean` is its run over its rise."""
    for y in range(top, bottom):
        left = round(x + lean * (y - top)) - 4
        core[y, left : left + 8] = 0.98


def test_axis_of_a_leaning_core() -> None:
    """Ends, direction and width are those of the painted bar."""
    core = np.zeros(SHAPE, np.float32)
    bar(core, 100, 40, 140, lean=0.1)
    line = axis_of(core > 0.5)
    assert line.top == pytest.approx((100, 40), abs=2)
    assert line.bottom == pytest.approx((110, 140), abs=2)
    assert line.turn == pytest.approx(np.arctan(0.1), abs=0.02)
    assert line.width == pytest.approx(16, rel=0.06)


@pytest.mark.parametrize("bridge", [0.6, 0.97], ids=["faint", "strong"])
def test_touching_vessels_are_told_apart(bridge: float) -> None:
    """Three tubes held together near their tops are three, faintly bridged or not."""
    core = np.zeros(SHAPE, np.float32)
    core[46:50, 80:132] = bridge
    for x, bottom in ((84, 120), (106, 140), (128, 130)):
        bar(core, x, 40, bottom)
    lines = lines_in(core)
    assert [round(line.bottom[1], -1) for line in lines] == [120, 140, 130]
    for line, x in zip(lines, (84, 106, 128), strict=True):
        assert line.top[0] == pytest.approx(x, abs=4)
        assert line.width == pytest.approx(16, rel=0.25)


def test_vessels_that_cross_are_told_apart() -> None:
    """Two leaning tubes whose upper halves are one shape still are two."""
    core = np.zeros(SHAPE, np.float32)
    bar(core, 100, 30, 150, lean=-0.1)
    bar(core, 104, 30, 150, lean=0.1)
    left, right = lines_in(core)
    assert left.bottom[0] < 95
    assert right.bottom[0] > 110


def test_a_rail_does_not_cut_a_vessel_in_two() -> None:
    """What crosses a tube leaves one tube, from its upper to its lower end."""
    core = np.zeros(SHAPE, np.float32)
    bar(core, 100, 20, 50, lean=0.05)
    bar(core, 102, 64, 150, lean=0.05)
    (line,) = lines_in(core)
    assert line.top[1] == pytest.approx(20, abs=2)
    assert line.bottom[1] == pytest.approx(150, abs=2)


@pytest.mark.parametrize(("x", "top"), [(100, 100), (122, 64)], ids=["far below", "to the right"])
def test_two_vessels_are_not_joined(x: int, top: int) -> None:
    """A second tube further down or beside the first one stays a tube of its own."""
    core = np.zeros(SHAPE, np.float32)
    bar(core, 100, 20, 50)
    bar(core, x, top, top + 40)
    assert len(lines_in(core)) == 2


def test_empty_glass_below_liquid_is_another_vessel() -> None:
    """Liquid lies at the bottom, so what is empty further down does not go on from it."""
    core = np.zeros(SHAPE, np.float32)
    bar(core, 100, 20, 50)
    bar(core, 100, 64, 150)
    assert len(lines_in(core, wet_above=56)) == 2


def test_a_short_wide_vessel_is_one() -> None:
    """A jar's core, wider than high and with a torn border, is not parted."""
    core = np.zeros(SHAPE, np.float32)
    core[60:110, 60:140] = 0.97
    core[60:70, 95:105] = 0.0
    assert len(lines_in(core)) == 1
