"""A collection with the packaged kinds in it, and short ways to put things there."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, SQLModel, select

from seedbank.database.engine import open_engine, session_factory
from seedbank.kinds.edit_kinds import add_packaged_kinds
from seedbank.kinds.edit_varieties import add_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.lots.answers import LotAnswer
from seedbank.lots.forms import LotCreate
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_lots import take_in_lot
from seedbank.upkeep.open_collection import open_collection
from seedbank.viability.forecast_viability import KEPT_LOTS
from tests.arrivals import came_on
from tests.benchmarks.large import NOW, fill_large

DEMO_NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)
DEMO_TODAY = DEMO_NOW.date()


@dataclass
class Garden:
    """A session with the days it works on."""

    session: Session
    today: date
    now: datetime
    _names: Iterator[int]

    @property
    def when(self) -> dict[str, Any]:
        return {"today": self.today, "now": self.now}

    def variety(self, kind: str = "carrot", **more: Any) -> int:
        form = VarietyCreate(kind=kind, name=f"Invented {next(self._names)}", **more)
        return add_variety(self.session, form).id

    def lot(self, seeds: int | None = 250, *, kind: str = "carrot", **more: Any) -> LotAnswer:
        body = {
            "variety_id": more.pop("variety_id", None) or self.variety(kind),
            "origin": "bought",
            "amount": None if seeds is None else {"seeds": seeds},
            "acquired_on": came_on(self.today, **more),
            **more,
        }
        return take_in_lot(self.session, LotCreate.model_validate(body), **self.when)

    def balance(self, code: str) -> int:
        return show_lot(self.session, code, today=self.today).amount.seeds

    def dump(self) -> dict[str, list[tuple[Any, ...]]]:
        """Every row of every table, as the database holds it."""
        self.session.expire_all()
        return {
            table.name: sorted((tuple(r) for r in self.session.execute(select(table))), key=repr)
            for table in SQLModel.metadata.sorted_tables
        }


@pytest.fixture(scope="session")
def _kinds_file(_tables_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = shutil.copy(_tables_file, tmp_path_factory.mktemp("kinds"))
    engine = open_engine(f"sqlite:///{file}")
    with session_factory(engine)() as session:
        add_packaged_kinds(session)
    engine.dispose()
    return file


@pytest.fixture
def kinds_in(engine: Engine, _kinds_file: Path) -> None:
    """The packaged kinds are in the database, which nobody has looked into yet."""
    if engine.dialect.name == "sqlite":
        shutil.copy(_kinds_file, str(engine.url.database))


@pytest.fixture
def garden(kinds_in: None, session: Session, today: date, now: datetime) -> Garden:  # noqa: ARG001
    return Garden(session, today, now, count(1))


@pytest.fixture(scope="module")
def large_stock(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Session]:
    """More lots than are kept fitted, made once a module; tests only read it."""
    engine = open_collection(f"sqlite:///{tmp_path_factory.mktemp('large') / 'large.db'}", now=NOW)
    fill_large(engine, KEPT_LOTS + 452)
    with session_factory(engine)() as session:
        yield session
    engine.dispose()
