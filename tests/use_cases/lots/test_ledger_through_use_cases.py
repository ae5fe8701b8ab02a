"""A lot through use cases in any order, beside plain arithmetic: sown, tested, given, counted, and
each of them taken back. ``test_ledger_stateful.py`` does the same one layer below."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import count

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from sqlmodel import SQLModel

from seedbank.common.errors import Conflict, NotEnoughSeed
from seedbank.database.engine import open_engine, session_factory
from seedbank.database.queries import Paging
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.kinds.edit_kinds import add_packaged_kinds
from seedbank.lots.forms import MovementCreate, StockTakeCreate
from seedbank.lots.move_seed import (
    list_movements,
    record_movement,
    record_stock_take,
    undo_movement,
)
from seedbank.lots.show_lots import show_lot
from seedbank.sowing.forms import SowingCreate
from seedbank.sowing.record_sowing import delete_sowing, delete_test, record_sowing
from tests.sizes import sized
from tests.use_cases.conftest import Garden

TODAY = date(2027, 3, 1)
SEEDS = st.integers(1, 120)


@dataclass
class Entry:
    """A movement as the model knows it."""

    seeds: int
    counted: bool = False
    stands: bool = True
    kept_by: str = ""  # the test or sowing it belongs to, taken back as a whole only
    number: int = 0


class LotLife(RuleBasedStateMachine):
    """One lot and a list of what happened to it."""

    @initialize(seeds=SEEDS)
    def take_in(self, seeds: int) -> None:
        self.engine = open_engine("sqlite://")
        SQLModel.metadata.create_all(self.engine)
        self.session = session_factory(self.engine)()
        add_packaged_kinds(self.session)
        self.garden = Garden(self.session, TODAY, datetime(2027, 3, 1, 9, 30, tzinfo=UTC), count(1))
        self.code = self.garden.lot(seeds).code
        self.entries = [Entry(seeds)]

    def teardown(self) -> None:
        if hasattr(self, "session"):
            self.session.close()
            self.engine.dispose()

    @property
    def held(self) -> int:
        return sum(entry.seeds for entry in self.entries)

    def _takes(self, seeds: int, act: Callable[[], int], kept_by: str = "") -> None:
        """``act`` takes seed and tells its number, or is refused just when there is too little."""
        try:
            number = act()
        except NotEnoughSeed:
            assert seeds > self.held
        else:
            assert seeds <= self.held
            self.entries.append(Entry(-seeds, kept_by=kept_by, number=number))

    @rule(seeds=SEEDS)
    def comes_in(self, seeds: int) -> None:
        form = MovementCreate.model_validate({"reason": "acquired", "amount": {"seeds": seeds}})
        record_movement(self.session, self.code, form, **self.garden.when)
        self.entries.append(Entry(seeds))

    @rule(seeds=SEEDS)
    def given(self, seeds: int) -> None:
        form = MovementCreate.model_validate({"reason": "given", "amount": {"seeds": seeds}})
        self._takes(
            seeds,
            lambda: record_movement(self.session, self.code, form, **self.garden.when).serial,
        )

    @rule(seeds=SEEDS)
    def sown(self, seeds: int) -> None:
        form = SowingCreate.model_validate(
            {"lot": self.code, "method": "row", "seeds_sown": seeds, "row_m": 2.0}
        )
        self._takes(
            seeds, lambda: record_sowing(self.session, form, **self.garden.when).id, "sowing"
        )

    @rule(seeds=SEEDS)
    def tested(self, seeds: int) -> None:
        form = TestRecord.model_validate(
            {
                "lot": self.code,
                "started_on": "2027-02-01",
                "finished_on": "2027-02-15",
                "replicates": [{"seeds_set": seeds, "normal": seeds // 2}],
            }
        )
        self._takes(seeds, lambda: record_test(self.session, form, **self.garden.when).id, "test")

    @rule(seeds=st.integers(0, 150))
    def counted(self, seeds: int) -> None:
        record_stock_take(self.session, self.code, StockTakeCreate(seeds=seeds), **self.garden.when)
        self.entries.append(Entry(seeds - self.held, counted=True))

    @rule(pick=st.integers(0, 1000))
    def undone(self, pick: int) -> None:
        at = pick % len(self.entries)
        entry = self.entries[at]
        free = entry.stands and not entry.kept_by and not self._counted_since(at)
        try:
            undo_movement(self.session, self.code, at + 1, **self.garden.when)
        except NotEnoughSeed:
            assert free
            assert entry.seeds > self.held
        except Conflict:
            assert not free
        else:
            assert free
            entry.stands = False
            self.entries.append(Entry(-entry.seeds, stands=False))

    @rule(pick=st.integers(0, 1000))
    def taken_back(self, pick: int) -> None:
        whole = [(at, entry) for at, entry in enumerate(self.entries) if entry.kept_by]
        if not whole:
            return
        at, entry = whole[pick % len(whole)]
        take_back = delete_test if entry.kept_by == "test" else delete_sowing
        take_back(self.session, entry.number, expected=None, **self.garden.when)
        entry.kept_by = ""
        if not self._counted_since(at):
            entry.stands = False
            self.entries.append(Entry(-entry.seeds, stands=False))

    def _counted_since(self, at: int) -> bool:
        return any(later.counted and later.stands for later in self.entries[at + 1 :])

    @invariant()
    def the_lot_holds_what_the_model_says_and_its_movements_say_why(self) -> None:
        if not hasattr(self, "entries"):
            return
        assert show_lot(self.session, self.code, today=TODAY).amount.seeds == self.held >= 0
        booked = list_movements(self.session, self.code, None, Paging(200)).items
        assert [one.seeds for one in booked] == [entry.seeds for entry in self.entries]


LotLife.TestCase.settings = settings(
    max_examples=sized(10, 25), stateful_step_count=20, deadline=None
)
TestLotLife = LotLife.TestCase
