"""The packaged tables: every row loads, says where it comes from, and equals what was carried."""

import os
from pathlib import Path
from typing import Any

import pytest

from seedbank.facts import loaders
from seedbank.facts.loaders import LOADERS
from seedbank.facts.sources import Confidence
from seedbank.facts.tables import TableError, convert, load_rows, read_table, span

REPO = Path(__file__).resolve().parents[2]
SHARED = Path(os.environ.get("SEEDBANK_SHARED", REPO.parent / "shared")) / "reference"
OUR_TABLES = {
    "kinds",
    "kind_aliases",
    "kind_habits",
    "first_summer_perennials",
    "kind_corrections",
    "seed_units",
    "constants_for_kind",
    "flowering",
    "crossing_pairs",
    "wild_and_field_relatives",
    "passport_descriptors",
    "passport_codes",
    "written_amounts",
    "heat_dormancy",
}


# Published since the first round, and not yet worked in (shared/reference/NEW.md): each leaves this
# list with the change that carries it into the package.
NOT_YET_CARRIED = {
    "growing_calendar",
    "more_crossing_by_distance",
    "more_dormancy",
    "more_drying",
    "more_field_loss",
    "more_germination_temperatures",
    "more_isolation_rules",
    "more_longevity",
    "more_seed_maturity",
    "more_seeds_per_gram",
    "rechecked",
    "seeding_rates",
}


@pytest.mark.parametrize("name", sorted(LOADERS))
def test_every_row_loads_with_a_source_and_a_known_confidence(name: str) -> None:
    rows: tuple[Any, ...] = LOADERS[name]()
    assert len(rows) == len(read_table(name)) > 0
    for row in rows:
        assert row.source.text.strip()
        assert row.source.confidence in Confidence


def test_every_packaged_file_has_a_loader_and_every_loader_a_file() -> None:
    files = {path.stem for path in (REPO / "seedbank/facts/tables").glob("*.csv")}
    assert files == set(LOADERS)


@pytest.mark.skipif(not SHARED.is_dir(), reason=f"the shared reference is absent: {SHARED}")
@pytest.mark.parametrize("name", sorted(set(LOADERS) - OUR_TABLES))
def test_a_packaged_table_equals_the_shared_one(name: str) -> None:
    packaged = (REPO / "seedbank/facts/tables" / f"{name}.csv").read_text(encoding="utf-8")
    assert packaged == (SHARED / f"{name}.csv").read_text(encoding="utf-8")


@pytest.mark.skipif(not SHARED.is_dir(), reason=f"the shared reference is absent: {SHARED}")
def test_no_shared_table_is_left_behind() -> None:
    shared = {path.stem for path in SHARED.glob("*.csv")}
    assert shared - NOT_YET_CARRIED == set(LOADERS) - OUR_TABLES
    assert shared >= NOT_YET_CARRIED, "named as not yet carried, but not shared (any more)"


def test_a_table_is_read_once_and_rows_are_frozen() -> None:
    assert loaders.kinds() is loaders.kinds()
    with pytest.raises(AttributeError):
        loaders.kinds()[0].slug = "other"  # type: ignore[misc]  # frozen on purpose
    with pytest.raises(TypeError):
        read_table("kinds")[0]["slug"] = "other"  # type: ignore[index]  # read-only on purpose


def test_columns_that_differ_from_the_row_type_are_named() -> None:
    from seedbank.facts.kind_rows import SeedUnitRow

    with pytest.raises(TableError, match="columns differ"):
        load_rows("kinds", SeedUnitRow)


@pytest.mark.parametrize(("text", "kind"), [("maybe", bool), ("a lot", float), ("2.5", int)])
def test_a_cell_of_the_wrong_type_is_refused(text: str, kind: type) -> None:
    with pytest.raises(ValueError, match=r"."):
        convert(text, kind)


def test_ranges_are_read_as_printed() -> None:
    lettuce = next(r for r in loaders.low_moisture_limits() if r.kind == "lettuce")
    # Ellis, Hong & Roberts 1995, Annals of Botany 76:521-534 (abstract): 2.5-3.0 % moisture
    assert lettuce.critical_moisture_pct == "2.5-3.0"
    limit = span(lettuce.critical_moisture_pct)
    assert limit is not None
    assert (limit.low, limit.high) == (2.5, 3.0)
    one = span("7")
    assert one is not None
    assert (one.low, one.high) == (7.0, 7.0)
    assert span("") is None
