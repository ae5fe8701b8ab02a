"""A garden to test on, built row by row."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from itertools import count
from typing import Any

import pytest
from sqlalchemy import event
from sqlmodel import Session

from seedbank.emergence.tables import Sowing, SowingMethod
from seedbank.germination.tables import GerminationTest, Substratum
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lots import Lot, Origin, next_codes
from seedbank.lots.tables.places import Place
from seedbank.plan.tables import PlanPin
from seedbank.saving.tables import Flowering, SeedCrop, Site
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.crossing.crossing_stands import StandIs

NOW = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)


@dataclass
class Garden:
    """Adds rows with sensible values where the test doesn't care, and gives their ids."""

    session: Session
    _numbers: Any = field(default_factory=lambda: count(1))

    def _put(self, row: Any) -> Any:
        self.session.add(row)
        self.session.flush()
        return row

    def kind(self, **values: Any) -> Kind:
        n = next(self._numbers)
        return self._put(Kind(**({"slug": f"kind-{n}", "name": f"Kind {n}"} | values)))

    def variety(self, **values: Any) -> Variety:
        if "kind_id" not in values:
            values["kind_id"] = self.kind().id
        return self._put(Variety(**({"name": f"Variety {next(self._numbers)}"} | values)))

    def lot(self, seeds: int = 0, **values: Any) -> Lot:
        if "variety_id" not in values:
            values["variety_id"] = self.variety().id
        defaults = {"origin": Origin.SELF_SAVED, "created_at": NOW}
        if "code" not in values:
            defaults["code"] = next_codes(self.session, 1)[0]
        lot = self._put(Lot(**(defaults | values)))
        if seeds:
            book(
                self.session,
                Movement(
                    lot_id=lot.id,
                    on_date=date(2026, 9, 1),
                    reason=MovementReason.HARVESTED,
                    seeds=seeds,
                    recorded_at=NOW,
                ),
            )
        return lot

    def place(self, **values: Any) -> Place:
        return self._put(Place(**({"name": f"Place {next(self._numbers)}"} | values)))

    def test(self, **values: Any) -> GerminationTest:
        if "lot_id" not in values:
            values["lot_id"] = self.lot().id
        defaults = {
            "substratum": Substratum.PAPER_TOWEL,
            "started_on": date(2027, 1, 10),
            "created_at": NOW,
        }
        return self._put(GerminationTest(**(defaults | values)))

    def sowing(self, **values: Any) -> Sowing:
        if "lot_id" not in values:
            values["lot_id"] = self.lot().id
        defaults = {
            "method": SowingMethod.ROW,
            "sown_on": date(2026, 4, 1),
            "seeds_sown": 50,
            "created_at": NOW,
        }
        return self._put(Sowing(**(defaults | values)))

    def site(self, **values: Any) -> Site:
        return self._put(Site(**({"name": f"Site {next(self._numbers)}"} | values)))

    def flowering(self, **values: Any) -> Flowering:
        if "site_id" not in values:
            values["site_id"] = self.site().id
        if "kind_id" not in values:
            values["kind_id"] = self.kind().id
        defaults = {"year": 2027, "what": StandIs.SELF_SOWN}
        return self._put(Flowering(**(defaults | values)))

    def seed_crop(self, **values: Any) -> SeedCrop:
        if "variety_id" not in values:
            values["variety_id"] = self.variety().id
        if "site_id" not in values:
            values["site_id"] = self.site().id
        defaults = {
            "flower_year": 2027,
            "purpose": Purpose.KEEP,
            "planned_on": NOW.date(),
            "created_at": NOW,
        }
        return self._put(SeedCrop(**(defaults | values)))

    def pin(self, **values: Any) -> PlanPin:
        if "variety_id" not in values:
            values["variety_id"] = self.variety().id
        return self._put(PlanPin(**({"year": 2027} | values)))


@pytest.fixture
def garden(session: Session) -> Garden:
    return Garden(session)


@pytest.fixture
def plan_of(session: Session) -> Callable[[Callable[[], object]], str]:
    """How SQLite goes about the queries that a call makes, one step a line."""

    def explain(ask: Callable[[], object]) -> str:
        bind = session.get_bind()
        if bind.dialect.name != "sqlite":
            pytest.skip("query plans are checked on SQLite")
        statements: list[Any] = []

        def catch(state: Any) -> None:
            given = state.parameters
            statements.append(state.statement.params(given) if given else state.statement)

        event.listen(session, "do_orm_execute", catch)
        ask()
        event.remove(session, "do_orm_execute", catch)
        steps = []
        for statement in statements:
            compiled = statement.compile(bind, compile_kwargs={"literal_binds": True})
            rows = session.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {compiled}")
            steps += [row[3] for row in rows]
        return "\n".join(steps)

    return explain
