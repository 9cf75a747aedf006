"""`tintwell demo`: the main job on the sample photos, end to end."""

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import sample_images
from app.terminal.say import say
from app.terminal.words import DONE

INTRODUCTION = (
    "An invented survey of six plots, and three photos that must be refused. Every photo is "
    "rendered by a program; the true values are in sample_images/answers.csv."
)


def demo(keep: Path | None, carry_out: Callable[[Sequence[str]], int]) -> int:
    """Calibrate two charts and read the survey, by the same commands that a user would type.

    Refused photos are part of the demonstration, so they do not make it fail.
    """
    say(INTRODUCTION)
    with tempfile.TemporaryDirectory() as scratch:
        folder = keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        samples = Path(sample_images.__file__).parent
        charts = []
        for name, title in (("ph", "pH"), ("phosphorus", "phosphorus")):
            chart = folder / f"{name}.json"
            chart.unlink(missing_ok=True)
            words = ["calibrate", str(samples / name / "standards.csv"), "-o", str(chart)]
            words += ["--card-reflectance", "0.18", "--name", f"Demo {title}"]
            words += ["--quantity", name]
            if name == "phosphorus":
                words += ["--form", "P", "--basis", "extract"]
            code = _typed(words, carry_out)
            if code > 1:
                return code
            charts += ["--chart", str(chart)]
        words = ["read", str(samples / "survey"), *charts]
        words += ["--tubes", str(samples / "tubes.csv")]
        if keep is not None:
            words += ["--overlay", str(keep / "overlay")]
        code = _typed(words, carry_out)
        if code > 1:
            return code
    say("Color tests are a screening: large amounts of lime or fertilizer, crop sale and drinking")
    say("water need a certified laboratory. Wear goggles and gloves with indicators and buffers.")
    return DONE


def _typed(words: Sequence[str], carry_out: Callable[[Sequence[str]], int]) -> int:
    say("\n$ tintwell " + " ".join(words))
    return carry_out(words)
