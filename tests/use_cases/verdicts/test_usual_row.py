"""The rates of good seed that come with the package are those the search finds.

``python -m tests.use_cases.verdicts.test_usual_row`` writes them anew.
"""

import csv
from pathlib import Path

import pytest

from seedbank import facts
from seedbank.facts.kinds import KindFacts, kind_facts, packaged_kinds
from seedbank.facts.seeding_rates import seed_price_class, usual_spacing_cm, way_of_sowing
from seedbank.facts.tables import read_table
from seedbank.science.verdicts.row_decision import ROW_M
from seedbank.sowing.setting import usual_method
from seedbank.verdicts.usual_row import good_seed, usual_row

TABLE = Path(facts.__file__).parent / "computed" / "good_seed_rates.csv"
SOURCE = "Least expected cost of a 3 m row of good seed in beds as published"


def searched(kind: KindFacts) -> dict[str, str]:
    method, spacing = usual_method(kind), usual_spacing_cm(kind)
    usual, good = good_seed(kind, method, spacing, round(max(1.0, 100.0 * ROW_M / spacing)))
    numbers = {"low": usual.low, "high": usual.high, "most": usual.most, "good": good}
    return {
        "slug": kind.slug,
        "method": str(method),
        "spacing_cm": repr(spacing),
        "way": way_of_sowing(kind, method),
        "price": seed_price_class(kind),
        "cluster": "yes" if kind.seed_unit.value == "cluster" else "no",
        **{name: f"{value:.6g}" for name, value in numbers.items()},
        "source": SOURCE,
        "confidence": "computed",
    }


@pytest.mark.parametrize("slug", ["carrot", "beet", "pea", "leek", "squash-pepo", "dill"])
def test_the_rates_kept_are_those_searched_out(slug: str) -> None:
    row = next(row for row in read_table("good_seed_rates", "computed") if row["slug"] == slug)
    again = searched(kind_facts(slug))
    for name, text in again.items():
        if name in ("low", "high", "most", "good"):
            assert float(row[name]) == pytest.approx(float(text), rel=1e-4)
        else:
            assert row[name] == text


def test_every_packaged_kind_has_one() -> None:
    assert [row["slug"] for row in read_table("good_seed_rates", "computed")] == list(
        packaged_kinds()
    )
    assert usual_row(kind_facts("carrot")).good == pytest.approx(5.84, abs=0.01)


if __name__ == "__main__":
    rows = [searched(kind) for kind in packaged_kinds().values()]
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
