"""``seedbank towels``."""

import json
from pathlib import Path


def test_lots_to_towel_are_chosen(type_in, demo: Path) -> None:
    said = type_in("towels", "--database", demo)
    assert said.code == 0, said.err
    assert "Towel 10 seeds" in said.out
    answer = json.loads(type_in("towels", "--towels", "1", "--json", "--database", demo).out)
    assert len(answer["items"]) == 1
