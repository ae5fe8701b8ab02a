"""The ledger against a few lines of arithmetic, through whatever sequence hypothesis thinks of."""

import math
from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sqlalchemy import func, select
from sqlmodel import SQLModel, col

from seedbank.common.errors import CannotReverse, Overdrawn
from seedbank.database.engine import open_engine, session_factory
from seedbank.lots.tables.ledger import (
    Balance,
    Movement,
    MovementReason,
    balances,
    book,
)
from seedbank.lots.tables.reversing import reverse
from seedbank.overview.undo_obstacles import obstacles
from seedbank.upkeep.checks.rows import check_ledger
from tests.sizes import sized
from tests.tables.conftest import Garden

DAY = date(2027, 2, 1)
NOW = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)
INCOMING = st.sampled_from([MovementReason.ACQUIRED, MovementReason.HARVESTED])
OUTGOING = st.sampled_from(
    [
        MovementReason.TESTED,
        MovementReason.SOWN,
        MovementReason.GIVEN,
        MovementReason.DISCARDED,
    ]
)
LOTS = st.integers(0, 2)
ERRORS = st.floats(0, 50)


class Ledger(RuleBasedStateMachine):
    """Each lot's ledger beside a plain list of (change, squared error, counted?, stands?).

    A change of None is seed that came in uncounted, or its undoing.
    """

    @initialize()
    def open(self) -> None:
        self.engine = open_engine("sqlite://")
        SQLModel.metadata.create_all(self.engine)
        self.session = session_factory(self.engine)()
        garden = Garden(self.session)
        self.lots = [garden.lot().id or 0 for _ in range(3)]
        self.model: dict[int, list[dict[str, Any]]] = {lot: [] for lot in self.lots}

    def teardown(self) -> None:
        if hasattr(self, "session"):
            assert all(one.faults == () for one in check_ledger(self.session.connection()))
            self._obstacles_are_what_the_ledger_refuses()
            self.session.close()
            self.engine.dispose()

    def _obstacles_are_what_the_ledger_refuses(self) -> None:
        movements = self.session.execute(select(Movement)).scalars().all()
        told = obstacles(self.session, movements)
        for movement in movements:
            rows = self.model[movement.lot_id]
            at = next(i for i, row in enumerate(rows) if row["id"] == movement.id)
            since = any(later["counted"] and later["stands"] for later in rows[at + 1 :])
            left = self._held(movement.lot_id) - (rows[at]["seeds"] or 0)
            short = not self._unknown(movement.lot_id, at) and left < 0
            assert (movement.id in told) == (not rows[at]["stands"] or since or short)

    def _held(self, lot: int) -> int:
        return sum(row["seeds"] or 0 for row in self.model[lot])

    def _unknown(self, lot: int, without: int = -1) -> bool:
        """Uncounted seed is there and no stock-take since, the row at ``without`` left aside."""
        unknown = False
        for at, row in enumerate(self.model[lot]):
            if row["stands"] and at != without:
                unknown = row["seeds"] is None or (unknown and not row["counted"])
        return unknown

    def _note(self, movement: Movement, square: float, *, counted: bool = False) -> None:
        self.model[movement.lot_id].append(
            {
                "id": movement.id,
                "seeds": movement.seeds,
                "square": square,
                "counted": counted,
                "stands": True,
            }
        )

    @rule(lot=LOTS, reason=INCOMING, seeds=st.integers(1, 500), se=ERRORS)
    def comes_in(self, lot: int, reason: MovementReason, seeds: int, se: float) -> None:
        movement = book(
            self.session,
            Movement(
                lot_id=self.lots[lot],
                on_date=DAY,
                reason=reason,
                seeds=seeds,
                seeds_se=se,
                recorded_at=NOW,
            ),
        )
        self._note(movement, se * se)

    @rule(lot=LOTS, reason=INCOMING)
    def comes_in_uncounted(self, lot: int, reason: MovementReason) -> None:
        movement = book(
            self.session,
            Movement(
                lot_id=self.lots[lot], on_date=DAY, reason=reason, seeds=None, recorded_at=NOW
            ),
        )
        assert movement.balance_seeds is None
        self._note(movement, 0.0)

    @rule(lot=LOTS, reason=OUTGOING, seeds=st.integers(1, 500), se=ERRORS)
    def goes_out(self, lot: int, reason: MovementReason, seeds: int, se: float) -> None:
        lot_id = self.lots[lot]

        def take() -> Movement:
            return book(
                self.session,
                Movement(
                    lot_id=lot_id,
                    on_date=DAY,
                    reason=reason,
                    seeds=-seeds,
                    seeds_se=se,
                    recorded_at=NOW,
                ),
            )

        if not self._unknown(lot_id) and seeds > self._held(lot_id):
            with pytest.raises(Overdrawn):
                take()
        else:
            self._note(take(), se * se)

    @rule(lot=LOTS, counted=st.integers(0, 600), se=ERRORS)
    def counted(self, lot: int, counted: int, se: float) -> None:
        movement = book(
            self.session,
            Movement(
                lot_id=self.lots[lot],
                reason=MovementReason.STOCK_TAKE,
                on_date=DAY,
                seeds=counted,
                seeds_se=se,
                recorded_at=NOW,
            ),
        )
        self._note(movement, se * se, counted=True)
        assert self._held(self.lots[lot]) == counted == movement.balance_seeds

    @rule(lot=LOTS, pick=st.integers(0, 10_000))
    def undone(self, lot: int, pick: int) -> None:
        rows = self.model[self.lots[lot]]
        if not rows:
            return
        at = pick % len(rows)
        row = rows[at]
        counted_since = any(later["counted"] and later["stands"] for later in rows[at + 1 :])

        def undo() -> Movement:
            return reverse(self.session, row["id"], on=DAY, now=NOW)

        if not row["stands"] or counted_since:
            with pytest.raises(CannotReverse):
                undo()
        elif not self._unknown(self.lots[lot], at) and (
            (row["seeds"] or 0) > self._held(self.lots[lot])
        ):
            with pytest.raises(Overdrawn):
                undo()
        else:
            self._note(undo(), 0.0)
            row["stands"] = rows[-1]["stands"] = False

    @rule()
    def commits(self) -> None:
        self.session.commit()

    @invariant()
    def every_balance_is_the_sum_and_none_is_negative(self) -> None:
        if not hasattr(self, "model"):
            return
        found = balances(self.session, self.lots)
        for lot, rows in self.model.items():
            if self._unknown(lot):
                assert found[lot] == Balance(None, 0.0)
                continue
            assert found[lot].seeds == self._held(lot) >= 0
            since = max(
                (i for i, row in enumerate(rows) if row["counted"] and row["stands"]), default=0
            )
            variance = sum(row["square"] for row in rows[since:] if row["stands"])
            assert math.isclose(found[lot].seeds_se, math.sqrt(variance), abs_tol=1e-9)

    @invariant()
    def every_running_balance_is_the_sum_so_far(self) -> None:
        if not hasattr(self, "model"):
            return
        running = func.coalesce(
            func.sum(Movement.seeds).over(
                partition_by=col(Movement.lot_id), order_by=col(Movement.serial)
            ),
            0,
        )
        for said, summed in self.session.execute(select(col(Movement.balance_seeds), running)):
            assert said is None or said == summed >= 0


Ledger.TestCase.settings = settings(
    max_examples=sized(25, 60), stateful_step_count=30, deadline=None
)
TestLedger = Ledger.TestCase
