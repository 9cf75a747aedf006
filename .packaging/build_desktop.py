"""Builds the program as a folder that needs no Python, and starts what came out.

    python -m pip install -e ".[bundle]" && python .packaging/build_desktop.py [--out DIR]

Linux: run. Windows, macOS: not run. A bundle runs on the system it was built on, and newer ones.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STAYS_OPEN_S = 6


def build(out: Path) -> Path:
    """Run PyInstaller; return the folder of the program."""
    with tempfile.TemporaryDirectory() as scratch:
        words = ["--noconfirm", "--log-level", "WARN", "--distpath", str(out)]
        words += ["--workpath", scratch, str(ROOT / ".packaging" / "tintwell.spec")]
        subprocess.run([sys.executable, "-m", "PyInstaller", *words], check=True, cwd=scratch)
    folder = out / "tintwell"
    if sys.platform == "linux":
        shutil.copy(ROOT / ".packaging" / "tintwell.desktop", folder)
        shutil.copy(ROOT / "app" / "window" / "icons" / "tintwell.png", folder)
    return folder


def check(folder: Path) -> None:
    """Start the program: its version, the demo, and the window, without a screen."""
    program = folder / ("tintwell.exe" if sys.platform == "win32" else "tintwell")
    home = tempfile.mkdtemp()  # nothing of the user's is read or written
    outside = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV"))}
    outside |= {"HOME": home, "XDG_DATA_HOME": home, "XDG_CONFIG_HOME": home}
    try:
        subprocess.run([program, "--version"], check=True, env=outside, cwd=home)
        start = time.perf_counter()
        subprocess.run([program, "demo"], check=True, env=outside, cwd=home, capture_output=True)
        print(f"demo: {time.perf_counter() - start:.1f} s")
        report = ["report", "season", "-o", "season.pdf"]
        subprocess.run([program, "new", "season"], check=True, env=outside, cwd=home)
        offscreen = outside | {"QT_QPA_PLATFORM": "offscreen"}
        subprocess.run([program, *report], check=True, env=offscreen, cwd=home)
        window = subprocess.Popen([program, "demo", "--window"], env=offscreen, cwd=home)
        try:
            window.wait(STAYS_OPEN_S)
            raise SystemExit("the window closed by itself")
        except subprocess.TimeoutExpired:
            window.kill()
            window.wait()
        logs = [path for path in Path(home).rglob("window.log") if path.stat().st_size]
        if logs:
            raise SystemExit(f"the window logged a fault:\n{logs[0].read_text()}")
        print(f"window: open for {STAYS_OPEN_S} s without a fault")
    finally:
        shutil.rmtree(home, ignore_errors=True)


def main() -> None:
    """Build, check, and say how large it is."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--out", type=Path, default=ROOT / "dist", help="default: dist")
    out = words.parse_args().out.resolve()
    start = time.perf_counter()
    folder = build(out)
    files = [path for path in folder.rglob("*") if path.is_file() and not path.is_symlink()]
    size = sum(path.stat().st_size for path in files)
    print(f"{folder}: {size / 1e6:.0f} MB, built in {time.perf_counter() - start:.0f} s")
    check(folder)


if __name__ == "__main__":
    main()
