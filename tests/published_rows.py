"""Published tables the program does not ask, kept to test it against."""

import csv
from pathlib import Path


def published(name: str) -> list[dict[str, str]]:
    """Every row of ``tests/published/<name>.csv``, as printed."""
    path = Path(__file__).parent / "published" / f"{name}.csv"
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
