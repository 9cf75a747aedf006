"""`tintwell measure` on a painted target of published colors."""

import json
from pathlib import Path

import colour
import numpy as np
import pytest

from app.command_line import run
from colorcore._cv import cv2
from colorcore.color_difference import delta_e_2000_of

SIDE = 60
GREY = "neutral 5 (.70 D)"


def published() -> dict[str, np.ndarray]:
    """CIELAB under D65 of the 24 patches of the target (after November 2014), as published.

    The xyY values that colour-science carries are for ICC D50; Bradford takes them to D65.
    """
    target = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    d65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    white, wanted = (colour.xyY_to_XYZ([*xy, 1]) for xy in (target.illuminant, d65))
    return {
        name: np.asarray(
            colour.XYZ_to_Lab(
                colour.chromatic_adaptation(
                    colour.xyY_to_XYZ(xyy), white, wanted, method="Von Kries", transform="Bradford"
                ),
                d65,
            )
        )
        for name, xyy in target.data.items()
    }


def mean_difference(
    folder: Path, ending: str, contrast: float, capsys: pytest.CaptureFixture[str]
) -> float:
    """Paint the target as a file of one kind, measure it, and compare with the published colors."""
    colors = published()
    linear = np.array(
        [
            colour.XYZ_to_RGB(colour.Lab_to_XYZ(lab, (0.3127, 0.3290)), "sRGB")
            for lab in colors.values()
        ]
    )
    finished = np.clip(0.6 * linear, 0, 1) ** contrast
    codes = np.round(255 * colour.models.eotf_inverse_sRGB(finished)).astype(np.uint8)
    patches = codes.reshape(4, 6, 3).repeat(SIDE, axis=0).repeat(SIDE, axis=1)[..., ::-1]
    photo = folder / f"target{ending}"
    options = [cv2.IMWRITE_JPEG_QUALITY, 98] if ending == ".jpg" else []
    assert cv2.imwrite(str(photo), np.ascontiguousarray(patches), options)
    rows = ["name,x1,y1,x2,y2,x3,y3,x4,y4"]
    places = {}
    for k, name in enumerate(colors):
        x, y = SIDE * (k % 6) + 12, SIDE * (k // 6) + 12
        places[name] = f"{x},{y},36,36"
        rows.append(f"{name},{x},{y},{x + 36},{y},{x + 36},{y + 36},{x},{y + 36}")
    sheet = folder / "patches.csv"
    sheet.write_text("\n".join(rows), encoding="utf-8")
    reflectance = float(colour.Lab_to_XYZ(colors[GREY])[1])
    order = ["measure", str(photo), "--card", places[GREY], "--regions", str(sheet)]
    code = run([*order, "--card-reflectance", f"{reflectance:.4f}"])
    assert code == 0
    lines = capsys.readouterr().out.splitlines()
    seen = {line["name"]: line["lab_d65"] for line in map(json.loads, lines)}
    return float(np.mean([delta_e_2000_of(seen[name], colors[name]) for name in colors]))


@pytest.mark.parametrize(("ending", "contrast"), [(".png", 1.0), (".jpg", 1.2)])
def test_published_colors_come_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str, contrast: float
) -> None:
    """A picture is taken as its profile says; a camera's finished one without its contrast.

    Contrast 1.2: ITU-R BT.2100-2, table 5. What is left is the grey patch's own tint and what
    lies outside sRGB.
    """
    assert mean_difference(tmp_path, ending, contrast, capsys) < 1.0
