"""The entry point: `tintwell` and `python -m app`."""

import sys


def main() -> int:
    """Answer `--version` before anything heavy is loaded, else hand over to the terminal."""
    if sys.argv[1:] == ["--version"]:
        from app.version import VERSION

        sys.stdout.write(f"tintwell {VERSION}\n")
        return 0
    from app.command_line import run

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
