"""The outside libraries do their share of the work, and only when it is there to do."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
HEAVY = ("colour", "skimage.color", "scipy", "cv2", "numpy", "openpyxl", "PySide6", "PIL")


def loaded_after(code: str) -> set[str]:
    """Run code in a fresh interpreter and return which heavy modules it has loaded."""
    program = f"import sys\n{code}\nprint('loaded', *(m for m in {HEAVY!r} if m in sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(done.stdout.splitlines()[-1].split()[1:])


def test_looking_at_a_photo_waits_for_no_slow_library() -> None:
    """Card and tubes are found with OpenCV and NumPy alone, which load in a tenth of a second."""
    photo = ROOT / "sample_images" / "survey" / "plot-a-morning.jpg"
    code = (
        "from colorcore.photo import read_photo\nfrom colorcore.scene import look\n"
        f"assert look(read_photo({str(photo)!r})).tubes"
    )
    assert loaded_after(code) == {"PIL", "cv2", "numpy"}


def test_differences_use_scikit_image_and_whites_colour_science() -> None:
    """CIEDE2000 and the adaptation from white to white are computed by outside libraries."""
    difference = (
        "from colorcore.color_difference import delta_e_2000 as d\nd((50, 0, 0), (60, 0, 0))"
    )
    assert {"skimage.color", "colour"} & loaded_after(difference) == {"skimage.color"}
    white = "from colorcore.color_spaces import lab_under as u\nu((50, 9, 9), 'D65', 'D50')"
    assert "colour" in loaded_after(white)


def test_a_picture_is_read_without_what_it_does_not_need() -> None:
    """Neither colour-science nor a spreadsheet nor Qt is loaded to decode a photo."""
    photo = ROOT / "sample_images" / "survey" / "plot-a-morning.jpg"
    code = f"from colorcore.photo import read_photo\nread_photo({str(photo)!r})"
    assert not {"colour", "openpyxl", "PySide6", "scipy"} & loaded_after(code)


def test_version_is_answered_before_anything_is_loaded() -> None:
    """`--version` costs no library."""
    code = "sys.argv = ['tintwell', '--version']\nfrom app.__main__ import main\nassert main() == 0"
    assert loaded_after(code) == set()
