"""Taking a collection in against putting the same rows in bare: executemany, or COPY.

The import reads files, checks every cell and books every amount through the ledger; the bare way
is handed rows that are right already. On PostgreSQL where SEEDBANK_TEST_DATABASE_URL names one.
"""

import csv
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, Table, func, select
from sqlmodel import SQLModel

from seedbank.database.engine import session_factory
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.open_collection import open_collection
from tests.benchmarks.bulk import insert_rows
from tests.benchmarks.simulated import KINDS, NOW

pytestmark = pytest.mark.benchmark

LOTS = 2000
TABLES = ("place", "variety", "lot", "stay", "movement")


def _write(folder: Path, name: str, header: str, rows: Iterable[tuple[Any, ...]]) -> None:
    with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(header.split())
        writer.writerows(rows)


def _folder(folder: Path) -> Path:
    """``LOTS`` lots of a third as many varieties, each with a stay and four movements."""
    some = range(LOTS // 3 + 1)
    kind = [KINDS[n % len(KINDS)] for n in some]
    of = [n % len(some) for n in range(LOTS)]
    _write(folder, "places", "place winter_temperature_c", [("cellar", 8)])
    _write(folder, "varieties", "kind variety", [(kind[n], f"Sort {n}") for n in some])
    _write(
        folder,
        "lots",
        "label kind variety origin harvest_year notes",
        [(f"L{n}", kind[v], f"Sort {v}", "self-saved", 2024, "kept") for n, v in enumerate(of)],
    )
    _write(
        folder,
        "stays",
        "lot place from_date",
        [(f"L{n}", "cellar", "2024-11-01") for n in range(LOTS)],
    )
    _write(
        folder,
        "movements",
        "lot date reason seeds",
        [
            (f"L{n}", *rest)
            for n in range(LOTS)
            for rest in (
                ("2024-11-01", "harvested", 400),
                ("2025-04-01", "sown", 50),
                ("2025-09-01", "given", 20),
                ("2026-01-10", "stock-take", 320),
            )
        ],
    )
    return folder


def _taken_in(engine: Engine, folder: Path) -> float:
    with session_factory(engine)() as session:
        start = time.perf_counter()
        import_collection(session, folder, NOW)
        return time.perf_counter() - start


def _bare(source: Engine, target: Engine) -> tuple[float, int]:
    """Seconds to put the rows of ``source`` into ``target`` in one transaction, and how many."""
    tables: list[Table] = [SQLModel.metadata.tables[name] for name in TABLES]
    rows: dict[str, list[Any]] = {}
    with source.connect() as connection:
        cursor = connection.connection.driver_connection.cursor()  # type: ignore[union-attr]
        for table in tables:
            cursor.execute(f"SELECT {', '.join(table.c.keys())} FROM {table.name}")
            rows[table.name] = cursor.fetchall()
    with target.begin() as connection:
        start = time.perf_counter()
        for table in tables:
            insert_rows(connection, table, table.c.keys(), rows[table.name])
    return time.perf_counter() - start, sum(map(len, rows.values()))


@pytest.mark.parametrize("two_databases", ["sqlite", "postgresql"], indirect=True)
def test_import_against_the_same_rows_put_in_bare(
    two_databases: tuple[str, str], tmp_path: Path
) -> None:
    engine, other = (open_collection(url, now=NOW) for url in two_databases)
    whole = _taken_in(engine, _folder(tmp_path))
    bare, rows = _bare(engine, other)
    name = "COPY" if engine.dialect.name == "postgresql" else "executemany"
    print(
        f"\n{engine.dialect.name}: {LOTS:,} lots, {rows:,} rows imported in {whole:.2f} s "
        f"({1e6 * whole / rows:.0f} us a row), bare {name} {bare:.2f} s, {whole / bare:.0f} x"
    )
    for one in (engine, other):
        assert check_collection(one).holds
        with one.connect() as connection:
            lot = SQLModel.metadata.tables["lot"]
            assert connection.execute(select(func.count()).select_from(lot)).scalar() == LOTS
        one.dispose()
