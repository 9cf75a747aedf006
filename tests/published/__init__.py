"""Values that somebody printed, one CSV file a source, the source in its first lines."""

import csv
from pathlib import Path


def published(name: str) -> list[dict[str, str]]:
    """Return the rows of one file of printed values, as text, by column name.

    The first line must say where the values come from.
    """
    lines = (Path(__file__).parent / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: "), f"{name} does not say where its values come from"
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
